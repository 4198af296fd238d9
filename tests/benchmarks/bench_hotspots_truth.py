"""
False alarms, power, precision and recall on simulated counties, beside a plain pipeline on the same counties.

Run ``python tests/benchmarks/bench_hotspots_truth.py [counties [first seed]]``; it writes
``results_hotspots_truth.md`` and the numbers of each county to ``results_hotspots_truth.csv`` beside it. Seeds are the
county numbers from the first seed on. The interval of the ratio is tried on sections of its own, whose true rates are
log-normal, not gamma as the program takes them to be.
"""

import os
import sys
import time
from pathlib import Path

import numpy as np
import pandas as pd
from scipy import stats

sys.path.insert(0, str(Path(__file__).parents[1]))

from simulators import reference
from simulators.county import make_land, simulate
from simulators.pipeline import search
from simulators.scoring import score, stretches_of

from roadwatch.hotspots.shrinkage import fit_prior, posterior_ratio

LANDS = 8
FEWER = 60  # counties of the cases that are asked about beside the main ones
N_DRAWS = 499
HERE = Path(__file__).parent
CASES = {  # name: (options of the county, baseline)
    "null, even background": ({"n_hot": 0, "follows_traffic": False}, "search"),
    "null, background follows traffic": ({"n_hot": 0, "follows_traffic": True}, "traffic"),
    "null, background follows traffic, not told": ({"n_hot": 0, "follows_traffic": True}, "search"),
    "four hotspots, background follows traffic": ({"n_hot": 4, "follows_traffic": True}, "traffic"),
    "four hotspots, even background": ({"n_hot": 4, "follows_traffic": False}, "search"),
    "four one-year decoys, background follows traffic": ({"n_hot": 0, "decoys": 4}, "traffic"),
}
MAIN = [name for name in CASES if "decoys" not in name and "not told" not in name]


def one(land, name, seed):
    options, beyond = CASES[name]
    county = simulate(land, seed, **options)
    rows = []
    start = time.perf_counter()
    result = search(county, beyond=beyond, n_draws=N_DRAWS, seed=seed)
    spent = time.perf_counter() - start
    share = stretches_of(land, result.hotspots)
    mine = score(land, county.hot, share, county.rate, result.null.surprise)
    mine["confirmed"] = bool((result.hotspots["status"] == "confirmed").any())
    mine["decoys_labelled"] = result.hotspots["one_season"].mean() if len(result.hotspots) else np.nan
    rows.append({"case": name, "seed": seed, "who": "roadwatch", "seconds": spent, **mine})
    offset = np.nansum(list(county.effort_km.values()), axis=0)
    if beyond == "traffic":  # the plain pipeline is given the true power and the true traffic
        offset = offset * land.traffic**0.5
    marked, surprise = reference.find(land, county.records, offset, n_draws=N_DRAWS, seed=seed)
    plain = score(land, county.hot, marked.astype(float), county.rate, surprise)
    rows.append({"case": name, "seed": seed, "who": "plain", **plain})
    return rows


def interval(k, n):
    low, high = stats.beta.ppf([0.025, 0.975], [k, k + 1], [n - k + 1, n - k])
    return f"{k / n:.3f} ({0.0 if k == 0 else low:.3f}-{1.0 if k == n else high:.3f})"


def mean(values):
    values = np.asarray(values, dtype=float)
    half = 1.96 * np.nanstd(values, ddof=1) / np.sqrt(np.sum(~np.isnan(values)))
    return f"{np.nanmean(values):.3f} ± {half:.3f}"


def report(table):
    lines = ["| case | who | counties | any hotspot | power | precision | recall | PAI at 1 % |", "|---" * 8 + "|"]
    for (case, who), rows in table.groupby(["case", "who"], sort=False):
        cells = [case, who, str(len(rows)), interval(int(rows["any"].sum()), len(rows))]
        if "power" in rows and rows["power"].notna().any():
            precision = rows["right_m"].sum() / max(rows["found_m"].sum(), 1e-9)
            cells += [mean(rows["power"]), f"{precision:.3f}", mean(rows["recall"]), mean(rows["pai"])]
        else:
            cells += [""] * 4
        lines.append("| " + " | ".join(cells) + " |")
    lines += ["", "Pair by pair, roadwatch less plain:", ""]
    for case, rows in table.groupby("case", sort=False):
        if rows["power"].notna().any():
            wide = rows.pivot(index="seed", columns="who", values=["power", "recall", "pai"])
            told = [f"{k} {mean(wide[k]['roadwatch'] - wide[k]['plain'])}" for k in ("power", "recall", "pai")]
            lines.append(f"- {case}: {', '.join(told)}")
    labelled = table["decoys_labelled"][(table["who"] == "roadwatch") & table["case"].str.contains("decoys")]
    if labelled.notna().any():
        lines.append(f"- one-year decoys that were found, labelled as one season: {mean(labelled)}")
    return lines


def ranking(seed, *, sections=850, top=10, repeats=300, cv=2.0):
    """Raw and shrunk ratio of the ten highest sections over their true one, and how often the interval holds it."""
    rng = np.random.default_rng(seed)
    spread = np.sqrt(np.log(1.0 + cv**2))
    raw, shrunk, held = [], [], []
    for _ in range(repeats):
        expected = rng.uniform(0.1, 0.5, sections)
        ratio = np.exp(rng.normal(-(spread**2) / 2.0, spread, sections))
        deaths = rng.poisson(expected * ratio).astype(float)
        prior = fit_prior(deaths, expected)
        found = [posterior_ratio(x, e, prior=prior) for x, e in zip(deaths, expected, strict=True)]
        best = np.argsort([-(one.mean - 1.0) * e for one, e in zip(found, expected, strict=True)])[:top]
        true = ratio[best] * expected[best]
        raw.append(deaths[best].sum() / true.sum())
        shrunk.append(sum(found[k].mean * expected[k] for k in best) / true.sum())
        held += [found[k].low <= ratio[k] <= found[k].high for k in best]
    return (
        f"- the ten highest of {sections} sections, {repeats} times (true rates log-normal, coefficient of variation "
        f"{cv:g}): raw count over its true mean {mean(raw)}, shrunk {mean(shrunk)}; the 95 % interval holds the true "
        f"ratio in {interval(int(sum(held)), len(held))}"
    )


def main(counties, first_seed):
    lands = [make_land(number) for number in range(LANDS)]
    rows = []
    for seed in range(first_seed, first_seed + counties):
        for name in list(CASES) if seed < first_seed + FEWER else MAIN:
            rows += one(lands[seed % LANDS], name, seed)
        pd.DataFrame(rows).to_csv(HERE / "results_hotspots_truth.csv", index=False, float_format="%.4g")
    table = pd.DataFrame(rows)
    how = (
        f"Up to {counties} counties a case (seeds from {first_seed} over {LANDS} road networks of about 440 km), "
        f"120 records expected, 6 % doubles, 10 % misidentified, 3 % far off; {N_DRAWS} scatterings; 2 cores, 24 GiB, "
        f"numpy {np.__version__}. Intervals hold 95 % (Clopper-Pearson; mean ± 1.96 standard errors). Plain pipeline: "
        "see tests/simulators/reference.py; it is given the true power of traffic, roadwatch fits it from the records."
    )
    lines = ["# Hotspots: false alarms, power and precision", "", how, "", *report(table), ranking(first_seed), ""]
    (HERE / "results_hotspots_truth.md").write_text("\n".join(lines), encoding="utf-8")


if __name__ == "__main__":
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    main(*([int(text) for text in sys.argv[1:]] + [200, 0][len(sys.argv) - 1 :]))
