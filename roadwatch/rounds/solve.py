"""
Find a plan: solve, drive the rounds, forbid what does not fit into a day, solve again; then mend what is left.

What is not proven best is planned anew day by day, from three beginnings, and the best of these is kept.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.rounds.mending import fill_up, lighten
from roadwatch.rounds.model import Effort, Master, Solved
from roadwatch.rounds.problem import Problem, Timetable, expected_met, shortage, worth
from roadwatch.rounds.renewing import renew
from roadwatch.rounds.routes import Routes
from roadwatch.rounds.values import round_value

if TYPE_CHECKING:
    from collections.abc import Callable

FEW_VISITS = 1500
"""Plans with no more possible visits than this are solved to the end, as far as nodes and rounds reach."""

NODES_BY_VISITS, FEWEST_NODES = 400_000, 100
ROUNDS_BY_VISITS, FEWEST_ROUNDS = 12_000, 8
"""Nodes and rounds of cuts of such a plan, shared out by its possible visits: about 20 s of one processor."""

TO_A_GAP = Effort(gap=0.02, n_nodes=1, n_rounds=1, seconds=np.inf)
NO_HURRY = 1e9
SAME = 1e-6
"""Values no further apart than this are the same to the solver."""


@dataclass(frozen=True)
class Solution:
    """
    A plan and how good it is proven to be.

    ``bound`` is what no plan can exceed that leaves no more undone, visits apart that each add less than 0.0001;
    ``gap`` is (bound - expected) / expected. ``is_optimal`` says that nothing was left open; ``by_clock`` that the
    seconds ran out, so that another machine may give another plan.
    """

    timetable: Timetable
    expected: float
    shortage: float
    bound: float
    is_optimal: bool
    by_clock: bool
    n_cuts: int

    @property
    def gap(self) -> float:
        """How much the plan may fall short of the best, as a share of what it meets."""
        return max(self.bound - self.expected, 0.0) / self.expected if self.expected > 0 else 0.0


def solve(
    problem: Problem, *, seconds_left: Callable[[], float] | None = None, effort: Effort | None = None
) -> Solution:
    """
    Plan visits that keep what must be done and then meet as many hatchlings as can be expected.

    Parameters
    ----------
    problem
        The question.
    seconds_left
        Asked before each solve how long it may take; None sets no limit. Nodes and rounds of cuts are limited in any
        case, so that the plan is the same on every machine unless the clock stops it.
    effort
        None decides by the number of possible visits.

    Returns
    -------
    A plan that fits into everybody's days, with its bound.

    Source
    ------
    huangfu2018, church1974, hooker2003, golden1987
    """
    routes = Routes(problem)
    master = Master(problem, routes)
    effort = effort or effort_for(master.n_visits)
    left = seconds_left or (lambda: NO_HURRY)
    found = _cut_and_solve(master, effort, left)
    mended, in_time = _mended(problem, routes, found, left)
    bound, by_clock, undone = found.bound, found.by_clock or not in_time, shortage(problem, mended)
    if undone > found.floor + 1e-9:  # the bound must hold for plans that leave as much undone as this one
        again = master.most_worth(replace(effort, seconds=left()), shortage=undone)
        bound, by_clock = again.bound, by_clock or again.by_clock
    visits = float(mended.is_visited.sum())
    value = worth(problem, mended)
    bound = max(min(bound, float(problem.chance.sum())), value)
    is_optimal = found.is_closed and effort.gap == 0 and not by_clock and _is_reached(bound, value)
    upper = bound + round_value("least_worth") * visits
    return Solution(mended, expected_met(problem, mended), undone, upper, is_optimal, by_clock, master.n_cuts)


def effort_for(n_visits: int) -> Effort:
    """
    Choose how long to search a plan.

    Parameters
    ----------
    n_visits
        Visits that can be made.
    """
    if n_visits > FEW_VISITS:
        return TO_A_GAP
    nodes, rounds = (by // max(n_visits, 1) for by in (NODES_BY_VISITS, ROUNDS_BY_VISITS))
    return Effort(gap=0.0, n_nodes=max(nodes, FEWEST_NODES), n_rounds=max(rounds, FEWEST_ROUNDS), seconds=np.inf)


@dataclass
class _Found:
    """
    What solves have found: the last plan, a bound on the worth, the least shortage, whether that is proven and every
    round fits, whether the clock stopped anything.
    """

    timetable: Timetable | None = None
    bound: float = np.inf
    floor: float = 0.0
    is_closed: bool = False
    by_clock: bool = False


def _cut_and_solve(master: Master, effort: Effort, left: Callable[[], float]) -> _Found:
    found, nodes = _Found(), effort.n_nodes
    for number in range(effort.n_rounds):
        nodes -= _solve_once(master, replace(effort, n_nodes=nodes, seconds=left()), found)
        too_long = _too_long(master, found.timetable or _nobody(master.problem))
        found.is_closed &= not too_long
        is_last = number + 1 == effort.n_rounds or nodes <= 0
        found.by_clock |= left() <= 0
        if not too_long or left() <= 0 or is_last or not _forbid(master, too_long):
            break
    return found


def _solve_once(master: Master, effort: Effort, found: _Found) -> int:
    """Solve with the cuts so far and put what comes of it into ``found``; the nodes it took."""
    kept, is_proven = Solved(None, 0.0, by_clock=False), True
    if master.problem.needs:
        kept = master.least_shortage(effort)
        found.floor = shortage(master.problem, kept.timetable or _nobody(master.problem))
        is_proven = found.floor <= kept.bound + SAME
    trial = master.most_worth(replace(effort, n_nodes=effort.n_nodes - kept.n_nodes), shortage=found.floor)
    found.by_clock |= kept.by_clock or trial.by_clock
    found.is_closed = is_proven
    found.bound = trial.bound if master.problem.needs else min(found.bound, trial.bound)
    found.timetable = trial.timetable or found.timetable or kept.timetable
    return kept.n_nodes + trial.n_nodes


def _is_reached(bound: float, value: float) -> bool:
    return bound - value <= SAME * max(1.0, abs(value))


def _mended(problem: Problem, routes: Routes, found: _Found, left: Callable[[], float]) -> tuple[Timetable, bool]:
    """The best plan that fits, and whether there was time for all that is tried."""
    lighter = lighten(problem, routes, found.timetable or _nobody(problem))
    best = fill_up(problem, routes, lighter)
    if found.is_closed and _is_reached(found.bound, worth(problem, best)):
        return best, True
    for begin in (best, lighter, _nobody(problem)):
        if left() <= 0:
            return best, False
        best = min(best, renew(problem, routes, begin), key=lambda one: _rank(problem, one))
    return best, True


def _rank(problem: Problem, timetable: Timetable) -> tuple[float, float]:
    """The less of both the better: what is left undone goes first."""
    return round(shortage(problem, timetable), 9), -round(worth(problem, timetable), 9)


def _nobody(problem: Problem) -> Timetable:
    return Timetable(np.full((problem.n_units, problem.n_days), -1))


def _too_long(master: Master, timetable: Timetable) -> list[tuple[int, list[int]]]:
    """Every day of a person that does not fit, with its units."""
    days = [
        (person, timetable.units_of(person, day))
        for person in range(len(master.problem.day_minutes))
        for day in range(master.problem.n_days)
    ]
    return [(person, units) for person, units in days if not master.routes.fits(person, units)]


def _forbid(master: Master, too_long: list[tuple[int, list[int]]]) -> bool:
    """Forbid the smallest sets that do not fit, for everybody for whom they do not; False where none is new."""
    is_new = False
    for person, units in too_long:
        core = _core(master.routes, person, units)
        if not master.routes.is_exact(core):
            continue
        for other in range(len(master.problem.day_minutes)):
            if not master.routes.fits(other, core):
                is_new |= master.forbid(other, core)
    return is_new


def _core(routes: Routes, person: int, units: list[int]) -> list[int]:
    """What remains of units that do not fit a day when each that is not needed for that is taken away."""
    core = list(units)
    for unit in units:
        fewer = [one for one in core if one != unit]
        if not routes.fits(person, fewer):
            core = fewer
    return core
