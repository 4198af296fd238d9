"""
Doubles: how right the probabilities are on simulated seasons with known truth, and how long the search takes.

Run: python tests/benchmarks/bench_doubles.py [quality|speed] (both by default). Everything here is invented. Quality:
200 seasons for each of seven worlds from a seed that no convention was set on, intervals of shares from 2,000 draws of
whole seasons (pairs of one season are not independent), of bins by Wilson. Speed asked: 1,000,000 records in about 15 s
on one core, growing no faster than n log n.
"""

import resource
import sys
import time
from itertools import pairwise
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.stats import binomtest

sys.path.insert(0, str(Path(__file__).parents[1]))

from simulators.carcasses import Season, World, simulate

from roadwatch.records.doubles import Doubles, propose_doubles
from roadwatch.records.sightings import DEAD

SEED, SEASONS, REDRAWS = 20261127, 200, 2000
WORLDS = {
    "usual": World(),
    "a third exported again": World(exported_again=True),
    "busy culverts (90 % at 3)": World(at_culverts=0.9, culverts=3),
    "carcasses gone in a day": World(median_days=1.0),
    "carcasses that last": World(median_days=6.0),
    "many deaths": World(deaths=1200),
    "few doubles, many deaths": World(
        found_by_chance=0.01, searchers=2, recorded_again=0.0, deaths=1500, at_culverts=0.7
    ),
}
KINDS = ("two records of one day", "a carcass on several days", "a file exported again")
BINS = (0.01, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.95, 0.99, 1.0001)


def say(line: str) -> None:
    """Print a line."""
    print(line)  # noqa: T201  # a benchmark talks to its reader


def one_season(world: World, seed: np.random.SeedSequence) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """
    What one season gives.

    Returns
    -------
    Probability and truth of each pair; (4, 3) true, merged and rightly merged pairs of each kind and of all; records,
    animals and animals counted.
    """
    season = simulate(np.random.default_rng(seed), world)
    found = propose_doubles(season.records, season.x_m, season.y_m, edge=season.edge, offset_m=season.x_m)
    a, b = found.pairs["a"].to_numpy(), found.pairs["b"].to_numpy()
    is_true, is_merged = season.animal[a] == season.animal[b], found.animal[a] == found.animal[b]
    proposed = kinds(season, found, a, b, is_true=is_true, is_copy=found.pairs["is_copy"].to_numpy())
    every = np.array(sorted(season.true_pairs), dtype=int).reshape(-1, 2)
    true = kinds(season, found, *every.T, is_true=np.ones(len(every), dtype=bool), is_copy=np.zeros(len(every)))
    of_kind = [[(true == k).sum(), *((is_merged & (proposed == k) & t).sum() for t in (True, is_true))] for k in KINDS]
    counts = np.array([*of_kind, np.sum(of_kind, axis=0)], dtype=float)
    sizes = np.array([len(season.animal), len(np.unique(season.animal)), len(np.unique(found.animal))], dtype=float)
    return np.column_stack([found.pairs["p"], is_true]), counts, sizes


def kinds(
    season: Season, found: Doubles, a: np.ndarray, b: np.ndarray, *, is_true: np.ndarray, is_copy: np.ndarray
) -> np.ndarray:
    """Kind of each pair: a copy by its truth, a wrong pair by what it was taken for; else by days."""
    copied = np.where(is_true, season.telling[a] == season.telling[b], is_copy).astype(bool)
    apart = (found.seen.day[a] != found.seen.day[b]) & (found.seen.state[a] == DEAD)
    return np.where(copied, KINDS[2], np.where(apart, KINDS[1], KINDS[0]))


def shares(counts: np.ndarray) -> np.ndarray:
    """(..., 2) precision and recall; nan where there is nothing to be right about."""
    true, merged, right = np.moveaxis(counts, -1, 0)
    with np.errstate(invalid="ignore"):
        return np.stack([right / merged, right / true], axis=-1)


def told(counts: np.ndarray, rng: np.random.Generator) -> str:
    """Precision and recall of (seasons, 3) counts, each with the interval of redrawn seasons."""
    redrawn = shares(counts[rng.integers(0, len(counts), (REDRAWS, len(counts)))].sum(axis=1))
    low, high = np.nanpercentile(redrawn, [2.5, 97.5], axis=0)
    rows = zip(shares(counts.sum(axis=0)), low, high, strict=True)
    return " | ".join(f"{share:.3f} ({lo:.3f}-{hi:.3f})" for share, lo, hi in rows)


def quality() -> None:
    """Print a table of precision and recall, by kind, and one of calibration over all worlds."""
    say("| world | kind of double | true pairs | merged pairs right | true pairs merged |")
    say("|---|---|---|---|---|")
    pairs, left = [], ["\n| world | records a season | counted again before | after |\n|---|---|---|---|"]
    for number, (name, world) in enumerate(WORLDS.items()):
        seasons = [one_season(world, seed) for seed in np.random.SeedSequence([SEED, number]).spawn(SEASONS)]
        pairs += [pair for pair, _, _ in seasons]
        counts = np.array([count for _, count, _ in seasons])
        for k, kind in enumerate((*KINDS, "all")):
            if n := int(counts[:, k, 0].sum()):
                say(f"| {name} | {kind} | {n:,} | {told(counts[:, k], np.random.default_rng([SEED, number, k]))} |")
        records, animals, counted = np.sum([sizes for _, _, sizes in seasons], axis=0)
        again = f"{(records - animals) / records:.3f} | {(counted - animals) / records:.3f}"
        left.append(f"| {name} | {records / SEASONS:.0f} | {again} |")
    say("\n".join(left))
    calibration(np.concatenate(pairs))


def calibration(pairs: np.ndarray) -> None:
    """Print the share of true pairs against the probability said, with Wilson's interval."""
    say("\n| probability said | pairs | mean said | truly one animal (95 % Wilson) |\n|---|---|---|---|")
    p, is_true = pairs.T
    for low, high in pairwise(BINS):
        inside = (p >= low) & (p < high)
        n, right = int(inside.sum()), int(is_true[inside].sum())
        interval = binomtest(right, n).proportion_ci(method="wilson")
        say(
            f"| {low:.2f}-{min(high, 1):.2f} | {n:,} | {p[inside].mean():.3f} | "
            f"{right / n:.3f} ({interval.low:.3f}-{interval.high:.3f}) |"
        )


def county(n: int, rng: np.random.Generator) -> tuple[pd.DataFrame, np.ndarray, np.ndarray]:
    """Records of four years, 20 a kilometre of road, one in eleven a second record of the same carcass."""
    once = n * 10 // 11
    roads = max(once // 200, 1)
    road, along = rng.integers(0, roads, once), rng.uniform(0, 10_000, once)
    side = int(np.ceil(np.sqrt(roads)))
    day = np.datetime64("2022-03-01") + rng.integers(0, 210, once) + 365 * rng.integers(0, 4, once)

    def words(*choices: str | None) -> np.ndarray:
        return rng.choice(np.array(choices, dtype=object), once)

    table = pd.DataFrame(
        {
            "observed_at": day.astype(str).astype(object),
            "condition": words("dead", "dead", "alive"),
            "taxon": words("Trachemys scripta", "Pseudemys", "Chelydra serpentina", "Terrapene carolina", "Testudines"),
            "id_confidence": rng.choice([0.5, 0.8, 0.95, np.nan], once),
            "position_error_m": rng.choice([5, 10, 20, 30, np.nan, 100], once),
            "observer": words(*(f"P{k}" for k in range(200))),
            "action": words("left", "carcass_removed", None),
            "carcass_age": words("fresh", "recent", "old", None),
            "carapace_mm": np.where(rng.random(once) < 0.5, rng.integers(60, 400, once), np.nan),
            "search_id": None,
            "notes": np.array([f"note {k}" for k in range(once)], dtype=object),
        }
    )
    again = rng.choice(once, n - once, replace=False)
    x_m = along + (road % side) * 11_000
    y_m = (road // side) * 500.0 + rng.normal(0, 5, once)
    both = pd.concat([table, table.iloc[again].assign(observer="Q", notes=None)], ignore_index=True)
    return (
        both,
        np.r_[x_m, x_m[again] + rng.normal(0, 5, n - once)],
        np.r_[y_m, y_m[again] + rng.normal(0, 5, n - once)],
    )


def speed() -> None:
    """Print the time of the whole search, and of a heap of records at one place on one day."""
    say("\n| records | pairs proposed | core seconds | us per n log2 n | largest memory MB |\n|---|---|---|---|---|")
    for n in (10_000, 100_000, 1_000_000):
        table, x_m, y_m = county(n, np.random.default_rng(SEED))
        timed(f"{n:,}", table, x_m, y_m)
    heap = county(100_000, np.random.default_rng(SEED))[0].assign(observed_at="2025-05-12")
    timed("100,000 at one place on one day", heap, np.full(100_000, 25.0), np.full(100_000, 25.0))


def timed(name: str, table: pd.DataFrame, x_m: np.ndarray, y_m: np.ndarray) -> None:
    """Print the median of three runs, in seconds of one core, whatever else the machine does."""
    times = []
    for _ in range(3):
        start = time.process_time()
        found = propose_doubles(table, x_m, y_m)
        times.append(time.process_time() - start)
    seconds, n = sorted(times)[1], len(table)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    say(f"| {name} | {len(found.pairs):,} | {seconds:.2f} | {seconds * 1e6 / (n * np.log2(n)):.2f} | {memory} |")


if __name__ == "__main__":
    asked = sys.argv[1:] or ["quality", "speed"]
    for part in asked:
        {"quality": quality, "speed": speed}[part]()
