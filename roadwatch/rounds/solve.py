"""Find a plan: solve, drive the rounds, forbid what does not fit into a day, solve again; then mend what is left."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.rounds.mending import fill_up, lighten
from roadwatch.rounds.model import Effort, Master, Solved
from roadwatch.rounds.problem import Problem, Timetable, expected_met, shortage, worth
from roadwatch.rounds.routes import Routes
from roadwatch.rounds.values import round_value

if TYPE_CHECKING:
    from collections.abc import Callable

FEW_VISITS = 1500
"""Plans with no more possible visits than this are solved to the end."""

TO_THE_END = Effort(gap=0.0, n_nodes=200_000, n_rounds=400, seconds=np.inf)
TO_A_GAP = Effort(gap=0.02, n_nodes=1, n_rounds=1, seconds=np.inf)
NO_HURRY = 1e9


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
        Asked before each solve how long it may take; None sets no limit, and the plan is the same on every machine.
    effort
        None decides by the number of possible visits.

    Returns
    -------
    A plan that fits into everybody's days, with its bound.

    Source
    ------
    huangfu2018, church1974, hooker2003
    """
    routes = Routes(problem)
    master = Master(problem, routes)
    effort = effort or (TO_THE_END if master.n_visits <= FEW_VISITS else TO_A_GAP)
    left = seconds_left or (lambda: NO_HURRY)
    found, floor, is_closed, by_clock = _cut_and_solve(master, effort, left)
    mended = fill_up(problem, routes, lighten(problem, routes, found.timetable or _nobody(problem)))
    bound = found.bound
    undone = shortage(problem, mended)
    if undone > floor + 1e-9:  # the bound must hold for plans that leave as much undone as this one
        again = master.most_worth(replace(effort, seconds=left()), shortage=undone)
        bound, by_clock = again.bound, by_clock or again.by_clock
    visits = float(mended.is_visited.sum())
    value = worth(problem, mended)
    bound = max(min(bound, float(problem.chance.sum())), value)
    is_optimal = is_closed and effort.gap == 0 and not by_clock and bound - value <= 1e-6 * max(1.0, abs(value))
    upper = bound + round_value("least_worth") * visits
    return Solution(mended, expected_met(problem, mended), undone, upper, is_optimal, by_clock, master.n_cuts)


def _cut_and_solve(master: Master, effort: Effort, left: Callable[[], float]) -> tuple[Solved, float, bool, bool]:
    """(last solve, least shortage found, whether every round fits, whether the clock stopped anything)."""
    by_clock, floor = False, 0.0
    best_bound = np.inf
    solved = Solved(None, np.inf, by_clock=False)
    for number in range(effort.n_rounds):
        now = replace(effort, seconds=left())
        if master.problem.needs:
            kept = master.least_shortage(now)
            by_clock |= kept.by_clock
            floor = shortage(master.problem, kept.timetable or _nobody(master.problem))
            now = replace(effort, seconds=left())
        trial = master.most_worth(now, shortage=floor)
        by_clock |= trial.by_clock
        best_bound = min(best_bound, trial.bound) if not master.problem.needs else trial.bound
        solved = trial if trial.timetable is not None or solved.timetable is None else solved
        if solved.timetable is None and master.problem.needs:
            solved = Solved(kept.timetable, trial.bound, by_clock)
        too_long = _too_long(master, solved.timetable or _nobody(master.problem))
        if not too_long or left() <= 0:
            return Solved(solved.timetable, best_bound, by_clock), floor, not too_long, by_clock or left() <= 0
        if number + 1 == effort.n_rounds or not _forbid(master, too_long):
            break
    return Solved(solved.timetable, best_bound, by_clock), floor, False, by_clock


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
