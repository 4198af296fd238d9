"""The shortest round from a start through some nests and back."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roadwatch.rounds.arrays import Floats
    from roadwatch.rounds.problem import Problem

MOST_EXACT = 9
"""Rounds of up to so many nests are solved exactly; longer ones by insertion and exchanges."""


class Routes:
    """
    Rounds of a problem, each sought once.

    Parameters
    ----------
    problem
        Whose drives count.
    """

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._known: dict[tuple[int, frozenset[int]], tuple[float, tuple[int, ...]]] = {}

    def round_of(self, person: int, units: Sequence[int]) -> tuple[float, tuple[int, ...]]:
        """(drive minutes, nests in order) of the shortest round of a person through whole units."""
        key = person, frozenset(units)
        if key not in self._known:
            nests = sorted(nest for unit in units for nest in self._problem.nests_of(unit))
            start = self._problem.drive_from_start[person, nests]
            order, minutes = shortest_round(self._problem.drive[np.ix_(nests, nests)], start)
            self._known[key] = minutes, tuple(nests[place] for place in order)
        return self._known[key]

    def minutes_of(self, person: int, units: Sequence[int]) -> float:
        """Drive and work of a person who visits units on one day."""
        if not units:
            return 0.0
        minutes, nests = self.round_of(person, units)
        return minutes + float(self._problem.at_nest[list(nests)].sum())

    def fits(self, person: int, units: Sequence[int]) -> bool:
        """Whether units are few and near enough for one day of a person."""
        n_nests = sum(len(self._problem.nests_of(unit)) for unit in units)
        limit = float(self._problem.day_minutes[person]) + 1e-6
        return n_nests <= self._problem.per_day and self.minutes_of(person, units) <= limit

    def is_exact(self, units: Sequence[int]) -> bool:
        """Whether the round through units is proven to be the shortest."""
        return sum(len(self._problem.nests_of(unit)) for unit in units) <= MOST_EXACT


def shortest_round(between: Floats, from_start: Floats) -> tuple[list[int], float]:
    """
    Order nests into the shortest round from a start and back.

    Parameters
    ----------
    between
        (n, n) Minutes from nest to nest, symmetrical.
    from_start
        (n,) Minutes between the start and each nest; all zero where no start is known: the round then has open ends.

    Returns
    -------
    (order, minutes) Proven shortest for up to ``MOST_EXACT`` nests. Of the two directions the one that begins at the
    lower index.

    Source
    ------
    heldkarp1962
    """
    n = len(from_start)
    order = _by_subsets(between, from_start) if n <= MOST_EXACT else _by_insertion(between, from_start)
    order = order if n == 0 or order[0] <= order[-1] else order[::-1]
    return order, _length(order, between, from_start)


def _length(order: Sequence[int], between: Floats, from_start: Floats) -> float:
    if not order:
        return 0.0
    ends = from_start[order[0]] + from_start[order[-1]]
    return float(ends + sum(between[one, other] for one, other in pairwise(order)))


def _by_subsets(between: Floats, from_start: Floats) -> list[int]:
    """Dynamic programming over the sets of nests already visited and the last of them."""
    n = len(from_start)
    if n <= 2:  # no choice
        return list(range(n))
    legs, first = between.tolist(), from_start.tolist()
    best: list[dict[int, tuple[float, int]]] = [{} for _ in range(1 << n)]
    for nest in range(n):
        best[1 << nest][nest] = first[nest], -1
    for visited in range(1, 1 << n):
        for last, (minutes, _) in best[visited].items():
            for following in range(n):
                if visited >> following & 1:
                    continue
                reached, total = visited | 1 << following, minutes + legs[last][following]
                if total < best[reached].get(following, (np.inf, -1))[0]:
                    best[reached][following] = total, last
    visited = (1 << n) - 1
    last = min(best[visited], key=lambda nest: (best[visited][nest][0] + first[nest], nest))
    order = []
    while last >= 0:
        order.append(last)
        visited, last = visited ^ 1 << last, best[visited][last][1]
    return order


def _by_insertion(between: Floats, from_start: Floats) -> list[int]:
    """Each nest where it costs least, the farthest first, then pieces turned around while that helps."""
    order: list[int] = []
    for nest in np.argsort(-from_start, kind="stable"):
        trials = [[*order[:place], int(nest), *order[place:]] for place in range(len(order) + 1)]
        order = min(trials, key=lambda trial: _length(trial, between, from_start))
    while True:
        trials = [
            [*order[:one], *order[one:other][::-1], *order[other:]]
            for one in range(len(order))
            for other in range(one + 2, len(order) + 1)
        ]
        better = min(trials, key=lambda trial: _length(trial, between, from_start))
        if _length(better, between, from_start) >= _length(order, between, from_start) - 1e-9:
            return order
        order = better
