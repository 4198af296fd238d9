"""Choose the runs of fence that avert most deaths, prove it, and say how sure it is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.siting.fence_milp import solve_fences
from roadwatch.siting.fence_table import fence_table, least_state, plans_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray
    from roadwatch.siting.fence_problem import FenceProblem
    from roadwatch.siting.fence_table import Runs

SETS_AT_ONCE = 20
"""Sets of rates planned at a time; results do not depend on it."""

LADDER_STEPS = 12
"""Lengths at which the curve is told."""

DOUBLE = 2
"""The curve goes on to so many times the length asked for, to show what more would bring."""


@dataclass(frozen=True)
class FencePlan:
    """
    Runs of fence.

    Parameters
    ----------
    runs
        First cell of each run and the one after its last, in the order of the cells.
    averted
        (runs,) Deaths averted per year.
    passages
        Passages made ready, where they are priced.
    optimal
        True where no other plan within the limits averts more: proven, not hoped.
    gap
        How much more, as a share, another plan could avert at most.
    """

    runs: Runs
    averted: FloatArray
    passages: tuple[int, ...]
    optimal: bool
    gap: float


@dataclass(frozen=True)
class Curve:
    """
    What the best plan averts at each length of fence.

    Parameters
    ----------
    cells
        (k,) Lengths, in cells.
    averted
        (k,) Deaths averted per year by the best plan of at most that length.
    plans
        The plans.
    bends_down
        True where each further metre averts no more than the one before.
    """

    cells: IntArray
    averted: FloatArray
    plans: list[Runs]
    bends_down: bool


def plan_fences(problem: FenceProblem, *, seconds: float = 60.0) -> FencePlan:
    """
    Choose the runs that avert most deaths per year within every limit.

    Without priced passages the plan comes from dynamic programming over all roads at once and is exact; priced
    passages couple the roads, and the plan comes from a mixed-integer programme.

    Parameters
    ----------
    problem
        The question; the first set of rates is planned for.
    seconds
        Time for the programme.

    Raises
    ------
    NotEnoughDataError
        The programme found no plan in the time.
    """
    one = _openly(problem.only(slice(0, 1)))
    if one.passage is not None and one.prices.per_passage > 0.0:
        solved = solve_fences(one, seconds=seconds)
        return FencePlan(
            solved.runs, one.value_of(solved.runs)[0], solved.passages, optimal=solved.gap == 0.0, gap=solved.gap
        )
    one, cell = _reached(one)
    table = fence_table(one)
    runs, cells = least_state(
        table.value[0], runs_limited=one.most_runs is not None, allowed=affordable(one, table.value.shape[1:])
    )
    chosen = plans_of(table, [(0, int(runs), int(cells))])[0]
    placed = [(int(cell[start]), int(cell[stop - 1]) + 1) for start, stop in chosen]
    return FencePlan(placed, one.value_of(chosen)[0], (), optimal=True, gap=0.0)


def affordable(problem: FenceProblem, shape: tuple[int, ...]) -> BoolArray:
    """
    Entries of the table that the budget allows.

    Parameters
    ----------
    problem
        The question.
    shape
        Runs + 1 and cells + 1.
    """
    prices = problem.prices
    if prices.budget is None or prices.per_m is None:
        return np.ones(shape, dtype=bool)
    runs, cells = np.indices(shape)
    return np.asarray(prices.of(cells * problem.cell_m, runs) <= prices.budget + 1e-6)


def _openly(problem: FenceProblem) -> FenceProblem:
    """The question with runs counted where they cost something, and no longer than money reaches."""
    prices = problem.prices
    if prices.budget is None or prices.per_m is None:
        return problem
    most = problem.most_cells
    if prices.per_m > 0.0:
        most = min(most, int(prices.budget / (prices.per_m * problem.cell_m) + 1e-9))
    runs = problem.most_runs
    if prices.per_end > 0.0:
        paid = int(prices.budget / (2.0 * prices.per_end + prices.per_m * problem.cell_m * problem.least_cells))
        runs = min(paid, most // problem.least_cells if runs is None else runs)
    return replace(problem, most_cells=max(most, 0), most_runs=runs)


def _reached(problem: FenceProblem) -> tuple[FenceProblem, IntArray]:
    """The question without cells beyond the reach of any passage, where passages are needed."""
    if problem.passage is None:
        return problem, np.arange(len(problem.line))
    return problem.without(np.asarray(~problem.passage.any(axis=0)))


def curve_of(problem: FenceProblem, *, steps: int = LADDER_STEPS) -> Curve:
    """
    What the best plan averts at lengths up to twice the one asked for; money is left aside.

    Parameters
    ----------
    problem
        The question; the first set of rates is planned for.
    steps
        Number of lengths.
    """
    most = min(DOUBLE * problem.most_cells, problem.deaths.shape[1])
    one, cell = _reached(replace(problem.only(slice(0, 1)), most_cells=most))
    table = fence_table(one)
    best = table.value[0, -1]
    asked = min(problem.most_cells, most)
    cells = np.unique(np.r_[np.linspace(0, most, steps + 1).round().astype(np.int64), asked])
    plans = plans_of(table, [(0, table.value.shape[1] - 1, int(k)) for k in cells])
    placed = [[(int(cell[start]), int(cell[stop - 1]) + 1) for start, stop in runs] for runs in plans]
    gains = np.diff(best)
    return Curve(cells, best[cells], placed, bool((np.diff(gains) <= 1e-9 * max(best[-1], 1e-300)).all()))


def chosen_shares(problem: FenceProblem, *, progress: Callable[[int, int], None] | None = None) -> FloatArray:
    """
    How often each cell is fenced when every set of rates gets its own best plan.

    Parameters
    ----------
    problem
        The question with d sets of rates.
    progress
        Called with the sets done and those in all.

    Returns
    -------
    (c,) Shares of the d plans.
    """
    n = len(problem.deaths)
    asked, cell = _reached(_openly(problem))
    fenced = np.zeros(problem.deaths.shape[1])
    for first in range(0, n, SETS_AT_ONCE):
        some = asked.only(slice(first, min(first + SETS_AT_ONCE, n)))
        table = fence_table(some)
        allowed = affordable(some, table.value.shape[1:])
        limited = some.most_runs is not None
        best = [least_state(value, runs_limited=limited, allowed=allowed) for value in table.value]
        for runs in plans_of(table, [(k, int(state[0]), int(state[1])) for k, state in enumerate(best)]):
            for start, stop in runs:
                fenced[cell[start:stop]] += 1.0
        if progress:
            progress(min(first + SETS_AT_ONCE, n), n)
    return fenced / max(n, 1)
