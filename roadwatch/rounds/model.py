"""
The plan as a mixed-integer linear program.

A variable a unit, day and person says who comes; one a unit and day says how much of what comes up then is met, no
more than the visits of that day and the delay after it allow: the maximal covering problem, with the people's days as
capacity. Drives enter as a sum that no round can undercut, and as cuts that forbid sets of nests that were found too
far apart for one day.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from roadwatch.rounds.problem import Problem, Timetable, worth
from roadwatch.rounds.values import round_value

if TYPE_CHECKING:
    from collections.abc import Iterable

    from roadwatch.rounds.arrays import Bools, Floats, Ints
    from roadwatch.rounds.routes import Routes

HALF = 0.5
"""A binary variable above this is 1."""


@dataclass(frozen=True)
class Effort:
    """
    How long to search: relative gap at which to stop, most nodes of all search trees, rounds of cuts, seconds a solve.

    Nodes and rounds bound the time; only the seconds make a result depend on the machine.
    """

    gap: float
    n_nodes: int
    n_rounds: int
    seconds: float


@dataclass(frozen=True)
class Solved:
    """
    One solve: who comes (None where nothing was found), a bound on the objective, whether the clock stopped it, and
    the nodes of its tree.
    """

    timetable: Timetable | None
    bound: float
    by_clock: bool
    n_nodes: int = 0


@dataclass
class Rows:
    """Rows of a sparse matrix on their way: sums of columns between a lower and an upper value."""

    columns: list[int] = field(default_factory=list)
    factors: list[float] = field(default_factory=list)
    ends: list[int] = field(default_factory=lambda: [0])
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)

    def add(
        self, columns: Iterable[int], factors: Iterable[float], *, lower: float = -np.inf, upper: float = np.inf
    ) -> None:
        """Add one row."""
        self.columns += columns
        self.factors += factors
        self.ends.append(len(self.columns))
        self.lower.append(lower)
        self.upper.append(upper)

    def constraint(self, n_columns: int) -> LinearConstraint:
        """All rows as scipy takes them."""
        matrix = csr_array((self.factors, self.columns, self.ends), shape=(len(self.lower), n_columns))
        return LinearConstraint(matrix, self.lower, self.upper)


class Master:
    """
    The program of a problem; cuts are added while it is solved again and again.

    Parameters
    ----------
    problem
        The question.
    routes
        Its rounds.
    drive
        (people, nests) Minutes of driving that a visit is taken to cost; None takes what no round can undercut, so
        that bounds hold.
    """

    def __init__(self, problem: Problem, routes: Routes, *, drive: Floats | None = None) -> None:
        self.problem, self.routes = problem, routes
        people = range(len(problem.day_minutes))
        self._drive = [least_drive(problem, person) for person in people] if drive is None else list(drive)
        self.column = _visit_columns(problem, routes)
        self.n_visits = int(self.column.max(initial=-1)) + 1
        self._meetings = _meetings(problem, self.column)
        self._first_short = self.n_visits + len(self._meetings)
        self.n_columns = self._first_short + len(problem.needs)
        self._rows = Rows()
        self._add_meetings()
        self._add_capacities()
        self._add_needs()
        self._cuts: set[tuple[int, frozenset[int]]] = set()

    @property
    def n_cuts(self) -> int:
        """Sets of nests found too far apart for one day of a person."""
        return len(self._cuts)

    def forbid(self, person: int, units: Iterable[int]) -> bool:
        """Forbid a set of units on any one day of a person; False where it was forbidden before."""
        cut = person, frozenset(units)
        if cut in self._cuts:
            return False
        self._cuts.add(cut)
        columns = self.column[sorted(cut[1]), :, person]
        for on_day in columns.T:
            if (on_day >= 0).all():
                self._rows.add(on_day.tolist(), [1.0] * len(on_day), upper=len(on_day) - 1.0)
        return True

    def least_shortage(self, effort: Effort) -> Solved:
        """Keep as much as can be of what must be done, whatever else is met; the bound is on the summed weights."""
        cost = np.zeros(self.n_columns)
        cost[self._first_short :] = [need.weight for need in self.problem.needs]
        solved = self._solve(cost, effort, None)
        return replace(solved, bound=max(solved.bound, 0.0))

    def most_worth(self, effort: Effort, *, shortage: float) -> Solved:
        """Meet as much as can be while leaving no more undone than ``shortage``; the bound is on the worth."""
        cost = np.zeros(self.n_columns)
        cost[: self.n_visits] = round_value("least_worth")
        cost[self.n_visits : self._first_short] = [-chance for _, _, chance in self._meetings]
        weights = [need.weight for need in self.problem.needs]
        extra = Rows()
        if weights:
            extra.add(range(self._first_short, self.n_columns), weights, upper=shortage + 1e-9)
        solved = self._solve(cost, effort, extra if weights else None)
        return replace(solved, bound=-solved.bound)

    def _solve(self, cost: Floats, effort: Effort, extra: Rows | None) -> Solved:
        if self.n_visits == 0:
            person = np.full((self.problem.n_units, self.problem.n_days), -1)
            return Solved(Timetable(person), float(cost[self._first_short :].sum()), by_clock=False)
        whole = np.zeros(self.n_columns, dtype=np.int64)
        whole[: self.n_visits] = 1
        constraints = [rows.constraint(self.n_columns) for rows in (self._rows, extra) if rows is not None]
        found = milp(
            cost,
            integrality=whole,
            bounds=Bounds(0, 1),
            constraints=constraints,
            options={
                "mip_rel_gap": effort.gap,
                "node_limit": max(effort.n_nodes, 1),
                "time_limit": float(np.clip(effort.seconds, 0.1, 1e9)),
            },
        )
        by_clock = found.status == 1 and "ime limit" in found.message
        bound = found.mip_dual_bound if found.mip_dual_bound is not None else -np.inf
        timetable = None if found.x is None else self._read(found.x)
        return Solved(timetable, float(bound), by_clock, int(found.mip_node_count or 0))

    def _read(self, values: Floats) -> Timetable:
        unit, day, person = np.nonzero(self.column >= 0)
        is_visit = values[self.column[unit, day, person]] > HALF
        who = np.full((self.problem.n_units, self.problem.n_days), -1)
        who[unit[is_visit], day[is_visit]] = person[is_visit]
        return Timetable(who)

    def _add_meetings(self) -> None:
        for place, (unit, days, _) in enumerate(self._meetings):
            visits = self._columns_of(unit, days)
            self._rows.add([self.n_visits + place, *visits], [1.0, *[-1.0] * len(visits)], upper=0.0)

    def _columns_of(self, unit: int, days: Iterable[int], *, people: Ints | None = None) -> list[int]:
        columns = self.column[unit, list(days)]
        columns = columns if people is None else columns[:, people]
        return [int(column) for column in columns[columns >= 0]]

    def _add_capacities(self) -> None:
        problem = self.problem
        size = np.bincount(problem.unit, minlength=problem.n_units)
        for unit in range(problem.n_units):
            for day in range(problem.n_days):
                visits = self._columns_of(unit, [day])
                if len(visits) > 1:
                    self._rows.add(visits, [1.0] * len(visits), upper=1.0)
        for person in range(len(problem.day_minutes)):
            minutes = np.zeros(problem.n_units)
            np.add.at(minutes, problem.unit, problem.at_nest + self._drive[person])
            for day in range(problem.n_days):
                units = np.flatnonzero(self.column[:, day, person] >= 0)
                if not len(units):
                    continue
                columns = self.column[units, day, person].tolist()
                self._rows.add(columns, size[units].astype(float).tolist(), upper=float(problem.per_day))
                if np.isfinite(problem.day_minutes[person]):
                    self._rows.add(columns, minutes[units].tolist(), upper=float(problem.day_minutes[person]))

    def _add_needs(self) -> None:
        problem = self.problem
        openers = np.flatnonzero(problem.may_open)
        for place, need in enumerate(problem.needs):
            days = range(max(need.first, 0), min(need.last + 1, problem.n_days))
            people = openers if need.by_opener else None
            visits = self._columns_of(int(problem.unit[need.nest]), days, people=people)
            self._rows.add([*visits, self._first_short + place], [1.0] * (len(visits) + 1), lower=1.0)


def least_drive(problem: Problem, person: int) -> Floats:
    """
    Minutes of driving that each nest of a round takes at the least.

    Half the drives to its two nearest neighbours, the start being one; a round of one nest is there and back, so that
    the two are never taken for more than that.
    """
    between = problem.drive + np.where(np.eye(len(problem.drive)) > 0, np.inf, 0.0)
    start = problem.drive_from_start[person]
    nearest = np.sort(np.column_stack([between, start]), axis=1)
    first = nearest[:, 0]
    second = nearest[:, 1] if nearest.shape[1] > 1 else start
    least: Floats = (first + np.minimum(second, np.maximum(2 * start - first, first))) / 2
    nearer: Floats = np.minimum(least, start)
    return nearer


def _visit_columns(problem: Problem, routes: Routes) -> Ints:
    """(units, days, people) Number of the variable of each visit that can be made and is of use, else -1."""
    chance = problem.unit_chance()
    use = np.zeros((problem.n_units, problem.n_days))
    for later in range(problem.delay_days + 1):
        start = problem.delay_days - later
        use += chance[:, start : start + problem.n_days]
    is_of_use = use > round_value("least_worth")
    for need in problem.needs:
        is_of_use[problem.unit[need.nest], max(need.first, 0) : need.last + 1] = True
    people = range(len(problem.day_minutes))
    can_reach = np.array(
        [[routes.fits(person, [unit]) for person in people] for unit in range(problem.n_units)], dtype=bool
    ).reshape(problem.n_units, len(problem.day_minutes))
    possible = is_of_use[:, :, None] & problem.available.T[None, :, :] & can_reach[:, None, :]
    return np.where(possible, np.cumsum(possible.ravel()).reshape(possible.shape) - 1, -1)


def _meetings(problem: Problem, column: Ints) -> list[tuple[int, tuple[int, ...], float]]:
    """(unit, days whose visits meet it, chance); days of coming up that the same visits meet are one."""
    chance = problem.unit_chance()
    has_visit: Bools = np.any(column >= 0, axis=2)
    merged: dict[tuple[int, tuple[int, ...]], float] = {}
    for unit, place in zip(*np.nonzero(chance > 0), strict=True):
        days = tuple(day for day in problem.meeting_days(int(place)) if has_visit[unit, day])
        if days:
            key = int(unit), days
            merged[key] = merged.get(key, 0.0) + float(chance[unit, place])
    return [(unit, days, total) for (unit, days), total in merged.items()]


def worth_of(problem: Problem, solved: Solved) -> float:
    """The worth of a solve's plan; minus infinity where it found none."""
    return -np.inf if solved.timetable is None else worth(problem, solved.timetable)
