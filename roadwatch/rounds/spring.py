"""Nests whose hatchlings wait for spring: chances spread evenly over it, as nothing better is published."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hatch.chances import DayChances
from roadwatch.hatch.laying import day_in

if TYPE_CHECKING:
    from collections.abc import Mapping

    from roadwatch.hatch.chances import HatchDraws

EVENLY = (
    "spring window of the region, each day as likely as the next: when hatchlings that wait come up is not published "
    "day by day"
)


def spring_days(window: Mapping[str, object]) -> tuple[date, date] | None:
    """
    Read a nest's spring window.

    Parameters
    ----------
    window
        Row of the hatch windows.

    Returns
    -------
    Its first and last day, None for taxa not known to wait.
    """
    early, late = day_in(window.get("spring_early")), day_in(window.get("spring_late"))
    return None if early is None or late is None else (early, late)


def hatched_share(draws: HatchDraws | None) -> float:
    """How much of a nest's chance hatches by 31 December; 1 where it was seen to have hatched and nothing is drawn."""
    return 1.0 if draws is None else float(draws.weights[np.isfinite(draws.days)].sum())


def spring_chances(
    days: tuple[date, date], *, share: float, first_day: date, n_days: int, shut_on: date | None = None
) -> DayChances:
    """
    Spread the coming up of hatchlings that waited evenly over the spring window.

    Parameters
    ----------
    days
        First and last day of the window.
    share
        Chance that hatchlings come up in it at all: the most that can be, as how many wait is not published.
    first_day, n_days
        The span.
    shut_on
        Day of the last visit that saw nothing come up; the days after it share the chance.

    Source
    ------
    rounds_convention
    """
    begin = max(days[0], shut_on + timedelta(days=1)) if shut_on else days[0]
    n_left = (days[1] - begin).days + 1
    if n_left <= 0:
        return DayChances(np.zeros(n_days), 0.0, 0.0, 1.0)
    place = np.arange(n_days) - (begin - first_day).days
    by_day = np.where((place >= 0) & (place < n_left), share / n_left, 0.0)
    before = share * min(max((first_day - begin).days, 0), n_left) / n_left
    return DayChances(by_day, before, share - before - float(by_day.sum()), 1 - share)
