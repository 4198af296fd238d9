"""The question of a plan in numbers: nests, days, people, chances, and what must be done."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from roadwatch.rounds.values import round_value

if TYPE_CHECKING:
    from roadwatch.rounds.arrays import Bools, Floats, Ints

Duty = Literal["cage", "open", "outcome"]


@dataclass(frozen=True)
class Need:
    """
    A visit that a nest must have from day ``first`` to day ``last``, both counted from the plan's first.

    ``weight`` is what it counts if nobody can come; ``by_opener`` asks for somebody who may open nests.
    """

    nest: int
    first: int
    last: int
    weight: float
    duty: Duty
    by_opener: bool = False


@dataclass(frozen=True)
class Problem:
    """
    What a plan is made from; times are minutes.

    Parameters
    ----------
    chance
        (nests, delay_days + days) Chance that the hatchlings come up on a day; the columns begin ``delay_days`` before
        the plan's first day, because a first visit still meets those.
    unit
        (nests,) Nests with one number are visited together.
    at_nest
        (nests,) Minutes of a visit, with the walk from the road and back.
    drive
        (nests, nests) Minutes from nest to nest.
    drive_from_start
        (people, nests) Minutes from where a person starts.
    available
        (people, days) Whether a person can come.
    day_minutes
        (people,) Minutes that a person can give on a day; inf is no limit.
    may_open
        (people,) Who may open nests and cages.
    per_day
        The most nests of a person and day.
    delay_days
        Hatchlings are met by a visit on the day they come up, or up to so many days later.
    needs
        What must be done besides.
    """

    chance: Floats
    unit: Ints
    at_nest: Floats
    drive: Floats
    drive_from_start: Floats
    available: Bools
    day_minutes: Floats
    may_open: Bools
    per_day: int
    delay_days: int
    needs: tuple[Need, ...] = ()

    @property
    def n_days(self) -> int:
        """Days of the plan."""
        return int(self.available.shape[1])

    @property
    def n_units(self) -> int:
        """Groups of nests that are visited together, most of them of one nest."""
        return int(self.unit.max(initial=-1)) + 1

    def nests_of(self, unit: int) -> list[int]:
        """The nests that are visited together."""
        return [int(nest) for nest in np.flatnonzero(self.unit == unit)]

    def unit_chance(self) -> Floats:
        """(units, delay_days + days) Chances summed over the nests of a unit."""
        summed = np.zeros((self.n_units, self.chance.shape[1]))
        np.add.at(summed, self.unit, self.chance)
        return summed

    def meeting_days(self, column: int) -> range:
        """The plan's days on which a visit meets what came up on the day of a column of ``chance``."""
        return range(max(column - self.delay_days, 0), min(column + 1, self.n_days))


@dataclass(frozen=True)
class Timetable:
    """Who visits which unit on which day: ``person`` (units, days), -1 where nobody does."""

    person: Ints

    @property
    def is_visited(self) -> Bools:
        """(units, days) Whether anybody comes."""
        return self.person >= 0

    def units_of(self, person: int, day: int) -> list[int]:
        """What a person visits on a day."""
        return [int(unit) for unit in np.flatnonzero(self.person[:, day] == person)]


def covered(problem: Problem, timetable: Timetable) -> Bools:
    """(nests, delay_days + days) Whether what comes up on a day is met within the delay."""
    visited = timetable.is_visited[problem.unit]
    met = np.zeros(problem.chance.shape, dtype=bool)
    for later in range(problem.delay_days + 1):
        start = problem.delay_days - later
        met[:, start : start + problem.n_days] |= visited
    return met


def expected_met(problem: Problem, timetable: Timetable) -> float:
    """Expected number of nests whose hatchlings are met."""
    return float((problem.chance * covered(problem, timetable)).sum())


def is_kept(problem: Problem, timetable: Timetable, need: Need) -> bool:
    """Whether a need is met by some visit."""
    people = timetable.person[problem.unit[need.nest], max(need.first, 0) : need.last + 1]
    return bool(np.any((people >= 0) & (problem.may_open[people] | (not need.by_opener))))


def shortage(problem: Problem, timetable: Timetable) -> float:
    """Summed weights of the needs that nobody meets."""
    return float(sum(need.weight for need in problem.needs if not is_kept(problem, timetable, need)))


def worth(problem: Problem, timetable: Timetable) -> float:
    """What a plan is judged by, once its needs are kept: expected meetings, less a little for each visit."""
    return expected_met(problem, timetable) - round_value("least_worth") * float(timetable.is_visited.sum())
