"""Plans of 90 nests, 60 days, 8 people: seconds, gap, and what they meet beside two plain ways of going round."""

# ruff: noqa: T201  # a benchmark talks to its reader

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from simulators.hatchings import earliest_first, every_third_day, simulated_season

from roadwatch.rounds.problem import shortage
from roadwatch.rounds.solve import solve

CASES = [(1, 3, 0), (2, 3, 0), (3, 3, 0), (1, 4, 0), (2, 4, 0), (1, 3, 20), (1, 6, 0)]
"""Seed, visits a person and day, caged nests."""
N_TRUTHS = 200


def paired(season, plan, other, *, shift_sd):
    """Mean of nests met by the plan less those met by another in the same seasons, with its 95 % interval."""
    rng = np.random.default_rng(20250715)
    days = [season.true_days(rng, shift_sd=shift_sd) for _ in range(N_TRUTHS)]
    ours = np.array([season.n_met(plan, one) for one in days])
    less = ours - np.array([season.n_met(other, one) for one in days])
    half = 1.96 * less.std(ddof=1) / np.sqrt(len(less))
    return ours, f"{less.mean():+.1f} ({less.mean() - half:+.1f} to {less.mean() + half:+.1f})"


def main():
    """Print a row a case."""
    heads = "seed; per day; caged; seconds; visits; promised; met (se); bound; gap; undone; third day; earliest"
    print("| " + heads.replace("; ", " | ") + " |")
    print("|---|---|---|---|---|---|---|---|---|---|---|---|")
    for seed, per_day, n_caged in CASES:
        season = simulated_season(seed, per_day=per_day, n_caged=n_caged)
        start = time.perf_counter()
        found = solve(season.problem)
        seconds = time.perf_counter() - start
        visits = int(found.timetable.is_visited.sum())
        for shift_sd in (0.0, 5.0):
            third = every_third_day(season, n_visits=visits)
            first = earliest_first(season, n_visits=visits)
            met, over_third = paired(season, found.timetable, third, shift_sd=shift_sd)
            _, over_first = paired(season, found.timetable, first, shift_sd=shift_sd)
            row = (
                seed, per_day, n_caged, f"{seconds:.1f}", visits, f"{found.expected:.2f}",
                f"{met.mean():.2f} ({met.std(ddof=1) / np.sqrt(len(met)):.2f}), weather {shift_sd:g} d",
                f"{found.bound:.2f}", f"{found.gap:.1%}", f"{shortage(season.problem, found.timetable):.3f}",
                over_third, over_first,
            )  # fmt: skip
            print("| " + " | ".join(str(one) for one in row) + " |", flush=True)


if __name__ == "__main__":
    main()
