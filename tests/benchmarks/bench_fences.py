"""
Time the fence plan on an invented county of 500 km: proven plan, its curve, and the plans of 200 draws.

Run ``python tests/benchmarks/bench_fences.py``; it writes ``results_fences.md`` beside it.
"""

import platform
import resource
import time
from pathlib import Path

import numpy as np

from roadwatch.siting.efficacy import fence_efficacy
from roadwatch.siting.fence_milp import solve_fences
from roadwatch.siting.fence_problem import make_problem
from roadwatch.siting.fences import chosen_shares, curve_of, plan_fences

RESULTS = Path(__file__).with_name("results_fences.md")
CELLS, LINE = 10_000, 40


def rates(rng, sets):
    """Background on every cell, and thirty places of 400 m where sixty times as many die."""
    base = rng.gamma(20.0, 0.01 / 20.0, (sets, CELLS))
    for start in rng.integers(0, CELLS - 8, 30):
        base[:, start : start + 8] *= 60.0 * rng.gamma(5.0, 0.2, (sets, 1))
    return base


def timed(job):
    start = time.perf_counter()
    found = job()
    return time.perf_counter() - start, found


def main():
    rng = np.random.default_rng(1)
    line, efficacy = np.arange(CELLS) // LINE, fence_efficacy()
    rows = []
    for fence_km, runs in ((2, 3), (5, 5), (10, None), (20, 8)):
        limits = {"efficacy": efficacy, "most_m": 1000.0 * fence_km, "least_m": 200.0, "most_runs": runs}
        deaths = rates(np.random.default_rng(2), 200)
        problem = make_problem(line, deaths.mean(axis=0), **limits)
        drawn = make_problem(line, deaths, drawn=efficacy.draw(rng, n_draws=200), **limits)
        plan_s, plan = timed(lambda problem=problem: plan_fences(problem))
        curve_s, _ = timed(lambda problem=problem: curve_of(problem))
        programme_s, solved = timed(lambda problem=problem: solve_fences(problem, seconds=120.0))
        apart = abs(solved.value - plan.averted.sum())
        draws_s, _ = timed(lambda drawn=drawn: chosen_shares(drawn)) if fence_km <= 10 else (float("nan"), None)
        told = [fence_km, runs or "any", f"{plan_s:.2f}", f"{curve_s:.2f}", f"{draws_s:.0f}", f"{programme_s:.1f}"]
        rows.append("|" + "|".join(map(str, [*told, f"{apart:.0e}"])) + "|")
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    heads = "fence, km|runs|plan, s|curve to twice the length, s|200 draws, s|HiGHS, s|apart, deaths a year"
    RESULTS.write_text(
        "# Fence plans on 500 km of road (10,000 stretches of 50 m, 250 unbroken pieces)\n\n"
        f"2 cores, 24 GiB, one used; Python {platform.python_version()}; seeds 1 and 2; one run each; largest memory "
        f"of the process {peak_mb:.0f} MB. Asked for: plan and curve within 10 s and 1 GB, 200 draws within 120 s.\n\n"
        f"|{heads}|\n|{'--|' * 7}\n" + "\n".join(rows) + "\n",
        encoding="utf-8",
    )


if __name__ == "__main__":
    main()
