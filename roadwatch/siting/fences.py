"""Choose the runs of fence that avert most deaths, prove it, and say how sure it is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import NotEnoughDataError
from roadwatch.siting.fence_milp import Solved, solve_fences
from roadwatch.siting.fence_passages import fewest_passages
from roadwatch.siting.fence_table import fence_table, least_state, plans_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray
    from roadwatch.siting.fence_problem import FenceProblem
    from roadwatch.siting.fence_table import Runs

SETS_AT_ONCE = 20
"""Sets of rates planned at a time; results do not depend on it."""

NEAR_BEST = 0.002
"""Where every length or draw needs a programme of its own, it may stop when no plan averts so much more (a share)."""


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


def plan_fences(problem: FenceProblem, *, seconds: float = 60.0) -> FencePlan:
    """
    Choose the runs that avert most deaths per year within every limit.

    Unless priced passages couple the roads under a budget the plan comes from dynamic programming over all roads at
    once and is exact; else it comes from a mixed-integer programme.

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
    one, cell = reached(openly(problem.only(slice(0, 1))))
    if is_coupled(one):
        solved = solve_shared(one, seconds=seconds)
        chosen, gap = solved.runs, solved.gap
    else:
        chosen, gap = _plans(one)[0], 0.0
    chosen = joined_runs(one, chosen)
    placed = placed_runs(chosen, cell)
    return FencePlan(placed, one.value_of(chosen)[0], fewest_passages(problem, placed), optimal=gap == 0.0, gap=gap)


def is_coupled(problem: FenceProblem) -> bool:
    """
    Whether runs share the price of passages under a budget, so that no road can be planned by itself.

    Parameters
    ----------
    problem
        The question.
    """
    prices = problem.prices
    return problem.passage is not None and prices.per_passage > 0.0 and prices.budget is not None


def solve_shared(problem: FenceProblem, *, seconds: float, gap: float = 0.0) -> Solved:
    """
    Plan where runs share the price of passages.

    The best plan with passages for nothing averts at least as much as any; where the money reaches its passages too it
    is the best. Only else a programme is needed.

    Parameters
    ----------
    problem
        The question, with one set of rates, cells beyond the reach of passages left out.
    seconds, gap
        As in ``fence_milp.solve_fences``.

    Raises
    ------
    NotEnoughDataError
        The programme found no plan in the time.
    """
    runs = joined_runs(problem, _plans(problem)[0])
    bought, prices = fewest_passages(problem, runs), problem.prices
    length_m = sum(stop - start for start, stop in runs) * problem.cell_m
    if prices.budget is None or prices.of(length_m, len(runs), len(bought)) <= prices.budget + 1e-6:
        return Solved(runs, bought, float(problem.value_of(runs)[0].sum()), 0.0)
    return solve_fences(problem, seconds=seconds, gap=gap)


def joined_runs(problem: FenceProblem, runs: Runs) -> Runs:
    """
    Runs that touch, as one: it averts no less, has two ends fewer, and is what would be built.

    Parameters
    ----------
    problem
        The question.
    runs
        Runs in the order of the cells.
    """
    found: Runs = []
    for start, stop in runs:
        if found and found[-1][1] == start and problem.line[start - 1] == problem.line[start]:
            found[-1] = (found[-1][0], stop)
        else:
            found.append((start, stop))
    return found


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


def openly(problem: FenceProblem) -> FenceProblem:
    """
    The question with runs counted where they cost something, and no longer than money reaches.

    Parameters
    ----------
    problem
        The question.
    """
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


def reached(problem: FenceProblem) -> tuple[FenceProblem, IntArray]:
    """
    The question without cells beyond the reach of any passage, where passages are needed, and the number of each cell.

    Parameters
    ----------
    problem
        The question.
    """
    if problem.passage is None:
        return problem, np.arange(len(problem.line))
    return problem.without(np.asarray(~problem.passage.any(axis=0)))


def placed_runs(runs: Runs, cell: IntArray) -> Runs:
    """
    Runs in the cells of the whole question.

    Parameters
    ----------
    runs
        Runs in the cells that were kept.
    cell
        Number of each of these in the whole question.
    """
    return [(int(cell[start]), int(cell[stop - 1]) + 1) for start, stop in runs]


def chosen_shares(
    problem: FenceProblem, *, progress: Callable[[int, int], None] | None = None, seconds: float = 20.0
) -> FloatArray:
    """
    How often each cell is fenced when every set of rates gets its own best plan.

    Parameters
    ----------
    problem
        The question with d sets of rates.
    progress
        Called with the sets done and those in all.
    seconds
        Time for each plan where a programme is needed.

    Returns
    -------
    (c,) Shares of the plans found.

    Raises
    ------
    NotEnoughDataError
        Runs share priced passages, and no plan was found in the time.
    """
    n = len(problem.deaths)
    asked, cell = reached(openly(problem))
    fenced, planned = np.zeros(problem.deaths.shape[1]), 0
    at_once = 1 if is_coupled(asked) else SETS_AT_ONCE
    for first in range(0, n, at_once):
        some = asked.only(slice(first, min(first + at_once, n)))
        for runs in _programmed(some, seconds) if is_coupled(asked) else _plans(some):
            planned += 1
            for start, stop in placed_runs(runs, cell):
                fenced[start:stop] += 1.0
        if progress:
            progress(min(first + at_once, n), n)
    if n and not planned:
        raise NotEnoughDataError(f"no fence plan of any draw was found within {seconds:g} s; ask for less road")
    return fenced / max(planned, 1)


def _programmed(problem: FenceProblem, seconds: float) -> list[Runs]:
    """The plan of one set of rates whose runs share passages; none where it was not found in time."""
    try:
        return [solve_shared(problem, seconds=seconds, gap=NEAR_BEST).runs]
    except NotEnoughDataError:
        return []


def _plans(problem: FenceProblem) -> list[Runs]:
    """The best plan of each set of rates, roads planned one by one."""
    table = fence_table(problem)
    allowed = affordable(problem, table.value.shape[1:])
    limited = problem.most_runs is not None
    best = [least_state(value, runs_limited=limited, allowed=allowed) for value in table.value]
    return plans_of(table, [(k, int(state[0]), int(state[1])) for k, state in enumerate(best)])
