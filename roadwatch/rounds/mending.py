"""Make every day of a plan fit, and use the hours that remain."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roadwatch.rounds.problem import Problem, Timetable
from roadwatch.rounds.values import round_value

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roadwatch.rounds.arrays import Bools, Floats, Ints
    from roadwatch.rounds.problem import Need
    from roadwatch.rounds.routes import Routes

FIRST_OF_ALL = 1e4
"""What must be done counts so many times its weight beside what is met."""

LEAST_GAIN = 1e-9
"""Less than this is no gain."""


class Ledger:
    """
    What each single visit of a plan adds, kept up to date while visits come and go.

    Parameters
    ----------
    problem
        The question.
    timetable
        The plan to begin with; a copy is changed.
    """

    def __init__(self, problem: Problem, timetable: Timetable) -> None:
        self.problem = problem
        self.person = timetable.person.copy()
        self._chance = problem.unit_chance()
        own: list[list[Need]] = [[] for _ in range(problem.n_units)]
        for need in problem.needs:
            own[int(problem.unit[need.nest])].append(need)
        self._needs = [_need_arrays(needs, problem.n_days) for needs in own]
        self._with_needs = [unit for unit, needs in enumerate(own) if needs]

    def value(self, unit: int, days: Ints) -> float:
        """What a unit's visits are worth; ``days`` (days,) is the person of each, -1 for nobody."""
        delay, n_days = self.problem.delay_days, self.problem.n_days
        visited = days >= 0
        met = np.zeros(self._chance.shape[1], dtype=bool)
        for later in range(delay + 1):
            met[delay - later : delay - later + n_days] |= visited
        worth = float(self._chance[unit] @ met) - round_value("least_worth") * float(visited.sum())
        weight, first, end, by_opener = self._needs[unit]
        if not len(weight):
            return worth
        by_anybody = np.r_[0, np.cumsum(visited)]
        by_openers = np.r_[0, np.cumsum(visited & self.problem.may_open[days])]
        seen = np.where(by_opener, by_openers[end] - by_openers[first], by_anybody[end] - by_anybody[first])
        return worth + FIRST_OF_ALL * float(weight[seen > 0].sum())

    def gain(self, unit: int, day: int, person: int) -> float:
        """What changes when a person comes on a day, or with -1 nobody does."""
        changed = self.person[unit].copy()
        changed[day] = person
        return self.value(unit, changed) - self.value(unit, self.person[unit])

    def gains(self, day: int, person: int) -> Floats:
        """(units,) What each unit would add if a person came to it on a day; 0 where somebody comes already."""
        delay = self.problem.delay_days
        visited = np.pad(self.person >= 0, ((0, 0), (0, delay)))
        met = [np.any(visited[:, max(one - delay, 0) : one + 1], axis=1) for one in range(day, day + delay + 1)]
        added: Floats = (self._chance[:, day : day + delay + 1] * ~np.array(met).T).sum(axis=1)
        added -= round_value("least_worth")
        for unit in self._with_needs:
            added[unit] = self.gain(unit, day, person)
        return np.where(self.person[:, day] < 0, added, 0.0)

    def units_of(self, person: int, day: int) -> list[int]:
        """What a person visits on a day."""
        return Timetable(self.person).units_of(person, day)


def _need_arrays(needs: Sequence[Need], n_days: int) -> tuple[Floats, Ints, Ints, Bools]:
    """Weights, first days, days after the last, and whether an opener must come."""
    weight = np.array([need.weight for need in needs], dtype=np.float64)
    first = np.array([max(need.first, 0) for need in needs], dtype=np.int64)
    end = np.array([min(need.last + 1, n_days) for need in needs], dtype=np.int64)
    return weight, first, end, np.array([need.by_opener for need in needs], dtype=np.bool_)


def lighten(problem: Problem, routes: Routes, timetable: Timetable) -> Timetable:
    """Take the visits of least worth from each day that does not fit, until it does."""
    ledger = Ledger(problem, timetable)
    for person in range(len(problem.day_minutes)):
        for day in range(problem.n_days):
            while not routes.fits(person, units := ledger.units_of(person, day)):
                losses = [-ledger.gain(unit, day, -1) for unit in units]
                ledger.person[units[int(np.argmin(losses))], day] = -1
    return Timetable(ledger.person)


def fill_up(problem: Problem, routes: Routes, timetable: Timetable) -> Timetable:
    """
    Drop visits that add nothing; then add the visit that gains most, in place of another if it must, until none does.

    Parameters
    ----------
    problem, routes
        The question and its rounds.
    timetable
        A plan that fits.
    """
    ledger = Ledger(problem, timetable)
    for unit, day in zip(*np.nonzero(ledger.person >= 0), strict=True):
        if ledger.gain(int(unit), int(day), -1) > LEAST_GAIN:
            ledger.person[unit, day] = -1
    wishes = Wishes(ledger)
    while (wish := wishes.best()) is not None:
        unit, day, person = wish
        there = ledger.units_of(person, day)
        gone = None
        if not routes.fits(person, [*there, unit]):
            gone = _in_place_of(ledger, routes, wish, there)
            if gone is None:
                wishes.shut(wish)
                continue
            ledger.person[gone, day] = -1
        ledger.person[unit, day] = person
        wishes.renew(unit)
        if gone is not None:
            wishes.renew(gone)
            wishes.reopen(day, person)
    return Timetable(ledger.person)


def _in_place_of(ledger: Ledger, routes: Routes, wish: tuple[int, int, int], there: list[int]) -> int | None:
    """The visit of a day that is worth least and makes room for a better one; None where there is none."""
    unit, day, person = wish
    gain = ledger.gain(unit, day, person)
    losses = sorted((-ledger.gain(other, day, -1), other) for other in there)
    for loss, other in losses:
        if gain - loss > LEAST_GAIN and routes.fits(person, [*(one for one in there if one != other), unit]):
            return other
    return None


class Wishes:
    """
    What each further visit would add, (units, days, people); minus infinity where it was tried and cannot be.

    Parameters
    ----------
    ledger
        The plan, which is read and not changed.
    """

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        problem = ledger.problem
        self._kinds = {
            bool(may): int(np.flatnonzero(problem.may_open == may)[0]) for may in np.unique(problem.may_open)
        }
        self._gains = np.zeros((problem.n_units, problem.n_days, len(problem.day_minutes)))
        self._gains[:, ~problem.available.T] = -np.inf
        for unit in range(problem.n_units):
            self.renew(unit)

    def best(self) -> tuple[int, int, int] | None:
        """(unit, day, person) of the visit that would add most, None where none adds anything."""
        if not self._gains.size or self._gains.max() <= LEAST_GAIN:
            return None
        unit, day, person = np.unravel_index(int(self._gains.argmax()), self._gains.shape)
        return int(unit), int(day), int(person)

    def shut(self, wish: tuple[int, int, int]) -> None:
        """Give a wish up."""
        self._gains[wish] = -np.inf

    def renew(self, unit: int) -> None:
        """Weigh all further visits to a unit again, but for those given up."""
        problem = self._ledger.problem
        gains = np.zeros(self._gains.shape[1:])
        for day in np.flatnonzero(self._ledger.person[unit] < 0):
            for may, person in self._kinds.items():
                gains[day, problem.may_open == may] = self._ledger.gain(unit, int(day), person)
        self._gains[unit] = np.where(self._gains[unit] == -np.inf, -np.inf, gains)

    def reopen(self, day: int, person: int) -> None:
        """Weigh all visits of a person on a day whose load has changed, also those given up."""
        for unit in range(len(self._gains)):
            is_free = self._ledger.person[unit, day] < 0
            self._gains[unit, day, person] = self._ledger.gain(unit, day, person) if is_free else 0.0
