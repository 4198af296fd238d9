"""Plans of 90 nests, 60 days, 8 people: processor time, gap, and what they meet beside two plain ways of going."""

# ruff: noqa: T201  # a benchmark talks to its reader

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from simulators.hatchings import earliest_first, every_third_day, simulated_season

from roadwatch.rounds.interval import met_interval
from roadwatch.rounds.problem import shortage
from roadwatch.rounds.solve import solve

CASES = [(1, 3, 0), (2, 3, 0), (1, 4, 0), (2, 4, 0), (1, 3, 20), (1, 6, 0), (2, 6, 0), (3, 6, 0), (1, 6, 20)]
"""Seed, visits a person and day, caged nests."""
N_TRUTHS = 200


SHIFTS = {"none": {}, "shared": {"shared_sd": 5.0}, "beyond": {"beyond_sd": 5.0}}
"""Weather that moves all nests together: not at all, as a part of each nest's stated spread, or on top of it."""


def paired(season, plan, other, **shifts):
    """Nests met by the plan, and what they are more than another plan's in the same seasons, with a 95 % interval."""
    rng = np.random.default_rng(20250715)
    days = [season.true_days(rng, **shifts) for _ in range(N_TRUTHS)]
    ours = np.array([season.n_met(plan, one) for one in days])
    less = ours - np.array([season.n_met(other, one) for one in days])
    half = 1.96 * less.std(ddof=1) / np.sqrt(len(less))
    return ours, f"{less.mean():+.1f} ({less.mean() - half:+.1f} to {less.mean() + half:+.1f})"


def main():
    """Print a row a case and kind of weather."""
    heads = (
        "seed; per day; caged; processor s; visits; promised; interval; bound; gap; undone; weather; met (se); "
        "inside; third day; earliest"
    )
    print("| " + heads.replace("; ", " | ") + " |")
    print("|---" * len(heads.split("; ")) + "|")
    for seed, per_day, n_caged in CASES:
        season = simulated_season(seed, per_day=per_day, n_caged=n_caged)
        start = time.process_time()
        found = solve(season.problem)
        seconds = time.process_time() - start
        visits = int(found.timetable.is_visited.sum())
        low, high = met_interval(season.problem, found.timetable, season.chances, rng=np.random.default_rng(1))
        plain = [way(season, n_visits=visits) for way in (every_third_day, earliest_first)]
        for name, shifts in SHIFTS.items():
            met, over_third = paired(season, found.timetable, plain[0], **shifts)
            _, over_first = paired(season, found.timetable, plain[1], **shifts)
            row = (
                seed, per_day, n_caged, f"{seconds:.1f}", visits, f"{found.expected:.2f}", f"{low:.0f} to {high:.0f}",
                f"{found.bound:.2f}", f"{found.gap:.1%}", f"{shortage(season.problem, found.timetable):.3f}",
                name, f"{met.mean():.2f} ({met.std(ddof=1) / np.sqrt(len(met)):.2f})",
                f"{np.mean((met >= low) & (met <= high)):.1%}", over_third, over_first,
            )  # fmt: skip
            print("| " + " | ".join(str(one) for one in row) + " |", flush=True)


if __name__ == "__main__":
    main()
