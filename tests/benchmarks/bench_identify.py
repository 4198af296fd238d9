"""
How fast 100,000 records are identified, and how well stated probabilities hold on simulated records.

Run by hand: ``python tests/benchmarks/bench_identify.py``. The records are invented: drawn from the tables themselves.
The suite runs the simulation with 3,000 records; here it runs in full, for every discount and two views.
"""

# ruff: noqa: T201  # a benchmark talks to its reader

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).parents[1]))
from simulated_records import SLIPS, simulate

from roadwatch.identify.evidence import evidence_of
from roadwatch.identify.posterior import posterior
from roadwatch.identify.scores import brier_scores, calibration_error, leading, log_scores, reliability
from roadwatch.identify.tables import identify_tables

if TYPE_CHECKING:
    from collections.abc import Callable

N_TIMED, N_SIMULATED, SEED = 100_000, 20_000, 7
REGION = "FL_peninsula"


def seconds(job: Callable[[], object], runs: int = 5) -> float:
    """Median time of several runs."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def random_answers(n: int, *, share_blank: float) -> pd.DataFrame:
    """Answers without sense to all characters, in all skills: the hardest to read."""
    rng = np.random.default_rng(SEED)
    columns = {}
    for key, character in identify_tables().characters.items():
        states = np.array([state.key for state in character.states], dtype=object)[rng.integers(0, 2, size=n)]
        columns[f"seen_{key}"] = np.where(rng.random(n) < share_blank, None, states)
    skills = np.array(["novice", "trained", "expert"], dtype=object)[rng.integers(0, 3, size=n)]
    return pd.DataFrame(columns).assign(observer_skill=skills)


def time_posterior() -> None:
    """Read the answers and compute the posterior."""
    tables = identify_tables()
    prior = tables.prior(REGION)
    print("| answered | reading, s | posterior, s | both, s |\n|---|---|---|---|")
    for share_blank in (0.0, 0.5):
        records = random_answers(N_TIMED, share_blank=share_blank)
        evidence = evidence_of(records, tables)
        reading = seconds(lambda records=records: evidence_of(records, tables))
        computing = seconds(lambda evidence=evidence: posterior(evidence, tables.matrix, prior=prior))
        print(f"| {1 - share_blank:.0%} | {reading:.2f} | {computing:.2f} | {reading + computing:.2f} |")


def score_simulation() -> None:
    """Scores of the posterior for every kind of slip and every discount."""
    tables = identify_tables()
    print("| view | slips of | rho | log score | calibration error | first name right | Brier |")
    print("|---|---|---|---|---|---|---|")
    for view in (None, "from_above"):
        for slip in SLIPS:
            records, truth = simulate(
                tables,
                region=REGION,
                n=N_SIMULATED,
                slip=slip,
                share_of_slips=0.15,
                share_seen=0.5,
                rng=np.random.default_rng(SEED),
                view=view,
            )
            evidence, true = evidence_of(records, tables), np.eye(len(tables.taxa), dtype=bool)[truth]
            for rho in (0.0, 0.25, 0.5, 1.0):
                p = posterior(evidence, tables.matrix, prior=tables.prior(REGION), rho=rho)
                sure, right = leading(p, true)
                error = calibration_error(reliability(sure, right))
                print(
                    f"| {(view or 'in_hand').replace('_', ' ')} | {slip} | {rho:g} | "
                    f"{log_scores(p, true).mean():.3f} | {error:.3f} | {right.mean():.3f} | "
                    f"{brier_scores(p, true).mean():.3f} |"
                )


if __name__ == "__main__":
    time_posterior()
    print()
    score_simulation()
