"""What the best fence averts at each length, within the money."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import NotEnoughDataError
from roadwatch.siting.fence_table import fence_table, least_state, plans_of
from roadwatch.siting.fences import (
    NEAR_BEST,
    affordable,
    is_coupled,
    joined_runs,
    openly,
    placed_runs,
    reached,
    solve_shared,
)

if TYPE_CHECKING:
    from roadwatch.roads.arrays import FloatArray, IntArray
    from roadwatch.siting.fence_problem import FenceProblem
    from roadwatch.siting.fence_table import Runs

LADDER_STEPS = 12
"""Lengths at which the curve is told."""

DOUBLE = 2
"""The curve goes on to so many times the length asked for, to show what more would bring."""


@dataclass(frozen=True)
class Curve:
    """
    What the best plan averts at each length of fence.

    Parameters
    ----------
    cells
        (k,) Lengths, in cells.
    averted
        (k,) Deaths averted per year by the best plan of at most that length and the money for it.
    plans
        The plans.
    bends_down
        True where each further metre averts no more than the one before; under a budget, from length to length.
    gap
        How much more, as a share, another plan could avert at most at any of the lengths; 0 where all are proven, and
        infinite where for one no plan was found in time.
    """

    cells: IntArray
    averted: FloatArray
    plans: list[Runs]
    bends_down: bool
    gap: float = 0.0


def curve_of(problem: FenceProblem, *, steps: int = LADDER_STEPS, seconds: float = 20.0) -> Curve:
    """
    What the best plan averts at lengths up to twice the one asked for.

    A budget holds up to the length asked for and grows with the length beyond it, to show what more would bring.

    Parameters
    ----------
    problem
        The question; the first set of rates is planned for.
    steps
        Number of lengths.
    seconds
        Time for each length where priced passages need a programme.
    """
    n = problem.deaths.shape[1]
    asked, most = min(problem.most_cells, n), min(DOUBLE * problem.most_cells, n)
    one, cell = reached(replace(problem.only(slice(0, 1)), most_cells=most))
    cells = np.unique(np.r_[np.linspace(0, most, steps + 1).round().astype(np.int64), asked])
    if one.prices.budget is None:
        return _free(one, cells, cell)
    limited = [_within(one, int(k), asked) for k in cells]
    gap = 0.0
    if is_coupled(one):
        plans, gap = _coupled(limited, seconds)
    else:
        plans = _afforded(limited)
    plans = [joined_runs(one, runs) for runs in plans]
    averted = np.array([one.value_of(runs)[0].sum() for runs in plans])
    slope = np.diff(averted) / np.diff(cells)
    bends_down = bool((np.diff(slope) <= 1e-9 * max(float(averted[-1]), 1e-300)).all())
    return Curve(cells, averted, [placed_runs(runs, cell) for runs in plans], bends_down, gap)


def _free(one: FenceProblem, cells: IntArray, cell: IntArray) -> Curve:
    """The curve where money is no limit, from one table."""
    table = fence_table(one)
    best = table.value[0, -1]
    plans = plans_of(table, [(0, table.value.shape[1] - 1, int(k)) for k in cells])
    bends_down = bool((np.diff(np.diff(best)) <= 1e-9 * max(float(best[-1]), 1e-300)).all())
    return Curve(cells, best[cells], [placed_runs(joined_runs(one, runs), cell) for runs in plans], bends_down)


def _coupled(limited: list[FenceProblem], seconds: float) -> tuple[list[Runs], float]:
    """A programme for each length; where none ends in time the plan of the length before stands, unproven."""
    plans: list[Runs] = []
    gap = 0.0
    for some in limited:
        try:
            solved = solve_shared(openly(some), seconds=seconds, gap=NEAR_BEST)
        except NotEnoughDataError:
            plans.append(plans[-1] if plans else [])
            gap = math.inf
            continue
        plans.append(solved.runs)
        gap = max(gap, solved.gap)
    return plans, gap


def _within(one: FenceProblem, cells: int, asked: int) -> FenceProblem:
    """The question at one length, with the money for it."""
    budget = (one.prices.budget or 0.0) * max(cells / max(asked, 1), 1.0)
    return replace(one, most_cells=cells, prices=replace(one.prices, budget=budget))


def _afforded(limited: list[FenceProblem]) -> list[Runs]:
    """The best plan of each length from one table, the richest's."""
    table = fence_table(openly(limited[-1]))
    value, shape = table.value[0], table.value.shape[1:]
    is_counted = table.problem.most_runs is not None
    states = []
    for some in limited:
        allowed = affordable(some, shape) & (np.arange(shape[1]) <= some.most_cells)
        states.append(least_state(value, runs_limited=is_counted, allowed=allowed))
    return plans_of(table, [(0, int(runs), int(k)) for runs, k in states])
