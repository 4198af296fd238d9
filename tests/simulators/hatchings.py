"""Seeded seasons of nests and people, their true days of coming up, and two plain ways of going round."""

from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import norm

from roadwatch.hatch.chances import DayChances
from roadwatch.rounds.problem import Need, Problem, Timetable
from roadwatch.rounds.routes import Routes

WEEK = ([0, 2, 4], [1, 3], [5, 6], [0, 1, 2, 3, 4], [2, 5], [4, 6], [1, 5], [0, 3, 6])
"""Days of the week of invented people, in the manner of volunteers: few, and weekends."""
HOURS = (3, 2.5, 4, 1.5, 3, 2, 4, 2)


@dataclass(frozen=True)
class SimulatedSeason:
    """A problem with the normal distributions behind its chances; days count from the plan's first."""

    problem: Problem
    middle: np.ndarray
    spread: np.ndarray

    @property
    def chances(self) -> list[DayChances]:
        """Each nest's chances, with what lies outside."""
        before = norm.cdf((-self.problem.delay_days - self.middle) / self.spread)
        inside = self.problem.chance.sum(axis=1)
        return [
            DayChances(row, b, 1 - b - total, 0.0)
            for row, b, total in zip(self.problem.chance, before, inside, strict=True)
        ]

    def true_days(self, rng: np.random.Generator, *, shared_sd: float = 0.0, beyond_sd: float = 0.0) -> np.ndarray:
        """
        (nests,) The day on which each nest's hatchlings come up.

        Weather may shift all of them together: by ``shared_sd`` as a part of each nest's spread, which leaves every
        single nest to its stated chances, or by ``beyond_sd`` on top of it, which does not.
        """
        own = np.sqrt(self.spread**2 - shared_sd**2)
        together = rng.normal(0, shared_sd) * (shared_sd > 0) + rng.normal(0, beyond_sd) * (beyond_sd > 0)
        return np.floor(rng.normal(self.middle, own) + together)

    def n_met(self, timetable: Timetable, days: np.ndarray) -> int:
        """Nests whose hatchlings somebody met within the delay."""
        visited = timetable.is_visited
        delay, n_days = self.problem.delay_days, self.problem.n_days
        return sum(
            bool(visited[nest, max(int(day), 0) : min(int(day) + delay + 1, n_days)].any())
            for nest, day in enumerate(days)
            if day + delay >= 0
        )


def simulated_season(
    seed: int,
    *,
    n_nests: int = 90,
    n_days: int = 60,
    n_people: int = 8,
    per_day: int = 4,
    delay_days: int = 1,
    n_caged: int = 0,
    km: float = 12.0,
    hours: float = 1.0,
) -> SimulatedSeason:
    """Make nests over a square of ``km``, people by ``WEEK``, windows of 8 to 16 days' standard deviation."""
    rng = np.random.default_rng(seed)
    middle, spread = rng.uniform(0, n_days, n_nests), rng.uniform(8, 16, n_nests)
    day = np.arange(-delay_days, n_days)
    z = (np.array([day, day + 1])[:, None, :] - middle[:, None]) / spread[:, None]
    places, starts = rng.uniform(0, km, (n_nests, 2)), rng.uniform(km / 4, 3 * km / 4, (n_people, 2))
    minutes = 1.3 * 60 / 40  # a minute's drive of a kilometre as the crow flies, roads a third longer, 40 km/h
    problem = Problem(
        chance=norm.cdf(z[1]) - norm.cdf(z[0]),
        unit=np.arange(n_nests),
        at_nest=rng.choice([10.0, 15.0, 20.0], n_nests),
        drive=np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1)) * minutes,
        drive_from_start=np.hypot(*(starts[:, None] - places[None]).transpose(2, 0, 1)) * minutes,
        available=np.array([[k % 7 in WEEK[p % 8] for k in range(n_days)] for p in range(n_people)]),
        day_minutes=np.array([HOURS[p % 8] * 60.0 * hours for p in range(n_people)]),
        may_open=np.arange(n_people) % 4 == 0,
        per_day=per_day,
        delay_days=delay_days,
    )
    return SimulatedSeason(replace(problem, needs=_cages(problem, middle, spread, n_caged)), middle, spread)


def _cages(problem: Problem, middle: np.ndarray, spread: np.ndarray, n_caged: int) -> tuple[Need, ...]:
    return tuple(
        Need(nest, day, day + 1, float(problem.chance[nest, day + problem.delay_days]) + 0.001, "cage")
        for nest in range(n_caged)
        for day in range(
            max(0, int(middle[nest] - 1.28 * spread[nest])),
            min(problem.n_days - 1, int(middle[nest] + 1.28 * spread[nest])),
        )
    )


def every_third_day(season: SimulatedSeason, *, n_visits: int) -> Timetable:
    """Go to every nest every third day, the longest unseen first, as far as days and visits allow."""
    last = np.full(season.problem.n_units, -3)

    def wanted(day: int) -> list[int]:
        return [int(nest) for nest in np.argsort(last, kind="stable") if day - last[nest] >= 3]

    return _by_rule(season, wanted, n_visits=n_visits, last=last)


def earliest_first(season: SimulatedSeason, *, n_visits: int) -> Timetable:
    """Go to the nests whose 80 % window is open, the earliest window first, each as often as the delay asks."""
    early, late = season.middle - 1.28 * season.spread, season.middle + 1.28 * season.spread
    last = np.full(season.problem.n_units, -99)

    def wanted(day: int) -> list[int]:
        is_open = (early <= day) & (day <= late) & (day - last > season.problem.delay_days)
        return [int(nest) for nest in np.argsort(early, kind="stable") if is_open[nest]]

    return _by_rule(season, wanted, n_visits=n_visits, last=last)


def _by_rule(season, wanted, *, n_visits: int, last: np.ndarray) -> Timetable:
    problem, routes = season.problem, Routes(season.problem)
    person = np.full((problem.n_units, problem.n_days), -1)
    for day in range(problem.n_days):
        loads = {int(p): [] for p in np.flatnonzero(problem.available[:, day])}
        for nest in wanted(day):
            free = next((p for p in loads if routes.fits(p, [*loads[p], nest])), None)
            if free is not None and n_visits > 0:
                loads[free].append(nest)
                person[nest, day], last[nest], n_visits = free, day, n_visits - 1
    return Timetable(person)
