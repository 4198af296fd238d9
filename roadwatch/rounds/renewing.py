"""
Plan single days of single people anew while all others stand, until none gets better.

What a visit adds depends on the other visits to the same unit only. With all other days and people fixed, one
person's day is therefore a round with prizes: units whose prizes add up, as many as fit into the hours. It is sought
label by label, the most promising kept at each length.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.rounds.mending import LEAST_GAIN, Ledger
from roadwatch.rounds.problem import Problem, Timetable

if TYPE_CHECKING:
    from roadwatch.rounds.arrays import Bools, Floats, Ints
    from roadwatch.rounds.routes import Routes

N_KEPT = 200
"""Labels kept at each length of a round: half by what they gain, half by what they gain a minute."""

MOST_SWEEPS = 20
"""Each sweep goes once through all days of all people."""

MARKS_SEED = 1
"""Seed of the marks by which equal sets of units are told; nothing else hangs on it."""


@dataclass(frozen=True)
class Legs:
    """
    Units as stops of a round; a unit of several nests is driven in its shortest order, one way.

    ``between`` (units, units) minutes from the last nest of one to the first of another; ``from_start`` and ``home``
    (people, units); ``work`` (units,) minutes within; ``size`` (units,) nests.
    """

    between: Floats
    from_start: Floats
    home: Floats
    work: Floats
    size: Ints


@dataclass
class _Labels:
    """Rounds on their way: members, mark of the set, last unit, minutes so far, gain so far, nests so far."""

    members: Bools
    mark: np.ndarray[tuple[int], np.dtype[np.uint64]]
    last: Ints
    minutes: Floats
    gain: Floats
    size: Ints

    def at(self, rows: Ints) -> _Labels:
        """Some of them."""
        return _Labels(*(getattr(self, name)[rows] for name in self.__dataclass_fields__))


@dataclass(frozen=True)
class _Choice:
    """What a round is made from: units of use, what each adds, marks, ways, who goes, minutes and nests at most."""

    use: Ints
    gains: Floats
    marks: np.ndarray[tuple[int], np.dtype[np.uint64]]
    legs: Legs
    person: int
    limit: float
    per_day: int


def legs_of(problem: Problem, routes: Routes) -> Legs:
    """
    Measure the ways between units.

    Parameters
    ----------
    problem, routes
        The question and its rounds.
    """
    nests = [problem.nests_of(unit) for unit in range(problem.n_units)]
    orders = [list(routes.round_of(0, [unit])[1]) if len(own) > 1 else own for unit, own in enumerate(nests)]
    first = np.array([order[0] for order in orders], dtype=np.int64)
    last = np.array([order[-1] for order in orders], dtype=np.int64)
    inside = [float(problem.drive[order[:-1], order[1:]].sum()) for order in orders]
    return Legs(
        between=problem.drive[np.ix_(last, first)],
        from_start=problem.drive_from_start[:, first],
        home=problem.drive_from_start[:, last],
        work=np.array(inside, dtype=np.float64) + np.bincount(problem.unit, problem.at_nest, problem.n_units),
        size=np.bincount(problem.unit, minlength=problem.n_units).astype(np.int64),
    )


def renew(problem: Problem, routes: Routes, timetable: Timetable) -> Timetable:
    """
    Go through all days of all people again and again, and plan each anew where that meets more.

    Parameters
    ----------
    problem, routes
        The question and its rounds.
    timetable
        A plan that fits.

    Returns
    -------
    A plan that fits and is worth no less.

    Source
    ------
    golden1987
    """
    if not problem.n_units:
        return timetable
    ledger, legs = Ledger(problem, timetable), legs_of(problem, routes)
    days = [(day, person) for day in range(problem.n_days) for person in np.flatnonzero(problem.available[:, day])]
    for _ in range(MOST_SWEEPS):
        changed = [_renew_day(ledger, legs, int(person), day) for day, person in days]
        if not any(changed):
            break
    return Timetable(ledger.person)


def _renew_day(ledger: Ledger, legs: Legs, person: int, day: int) -> bool:
    """Plan a day of a person anew; False where nothing better was found."""
    here = ledger.units_of(person, day)
    ledger.person[here, day] = -1
    gains = ledger.gains(day, person)
    better = best_round(gains, legs, ledger.problem, person)
    is_better = float(gains[better].sum()) > float(gains[here].sum()) + LEAST_GAIN
    ledger.person[better if is_better else here, day] = person
    return is_better


def best_round(gains: Floats, legs: Legs, problem: Problem, person: int) -> list[int]:
    """
    Find the units that gain most within a person's day.

    Parameters
    ----------
    gains
        (units,) What each adds.
    legs, problem, person
        The ways, the limits and who goes.

    Returns
    -------
    Units; the best found, which need not be the best there is.
    """
    limit, per_day = float(problem.day_minutes[person]), problem.per_day
    alone = legs.from_start[person] + legs.work + legs.home[person]
    use = np.flatnonzero((gains > LEAST_GAIN) & (alone <= limit) & (legs.size <= per_day))
    marks = np.random.default_rng(MARKS_SEED).integers(0, 2**63, len(gains), dtype=np.uint64)
    best, most = np.zeros(0, dtype=np.int64), 0.0
    labels = _Labels(
        members=np.eye(len(use), dtype=bool),
        mark=marks[use],
        last=np.arange(len(use)),
        minutes=(legs.from_start[person] + legs.work)[use],
        gain=gains[use],
        size=legs.size[use],
    )
    while len(labels.gain):
        row = int(labels.gain.argmax())
        if labels.gain[row] > most + LEAST_GAIN:
            best, most = use[labels.members[row]], float(labels.gain[row])
        labels = _longer(_promising(labels), _Choice(use, gains, marks, legs, person, limit, per_day))
    return [int(unit) for unit in best]


def _longer(labels: _Labels, choice: _Choice) -> _Labels:
    """Each label with each unit more that fits; of equal sets with equal ends the shortest."""
    use, legs = choice.use, choice.legs
    minutes = labels.minutes[:, None] + (legs.between[np.ix_(use[labels.last], use)] + legs.work[use])
    in_time = minutes + legs.home[choice.person, use] <= choice.limit
    few = labels.size[:, None] + legs.size[use] <= choice.per_day
    row, unit = np.nonzero(in_time & few & ~labels.members)
    mark, spent = labels.mark[row] ^ choice.marks[use[unit]], minutes[row, unit]
    order = np.lexsort((spent, unit, mark))
    is_new = np.ones(len(order), dtype=bool)
    is_new[1:] = (np.diff(mark[order]) != 0) | (np.diff(unit[order]) != 0)
    kept = order[is_new]
    row, unit = row[kept], unit[kept]
    members = labels.members[row]
    members[np.arange(len(unit)), unit] = True
    gain, size = labels.gain[row] + choice.gains[use[unit]], labels.size[row] + legs.size[use[unit]]
    return _Labels(members, mark[kept], unit, spent[kept], gain, size)


def _promising(labels: _Labels) -> _Labels:
    if len(labels.gain) <= N_KEPT:
        return labels
    by_gain = np.argsort(-labels.gain, kind="stable")[: N_KEPT // 2]
    by_pace = np.argsort(-labels.gain / np.maximum(labels.minutes, 1.0), kind="stable")[: N_KEPT // 2]
    return labels.at(np.union1d(by_gain, by_pace))
