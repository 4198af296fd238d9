"""How likely a nest is to hatch, and its hatchlings to come up, on each day: the draws behind a window, day by day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Literal

import numpy as np

from roadwatch.hatch.values import hatch_value

if TYPE_CHECKING:
    from roadwatch.hatch.arrays import Floats, Ints

Event = Literal["emergence", "hatching"]


@dataclass(frozen=True)
class HatchDraws:
    """
    Hatching days of one nest as drawn.

    ``days`` (draws,) count from the start of ``start``, a 1 January; +inf is 'not by 31 December'. ``weights`` (draws,)
    add to 1.
    """

    start: date
    days: Floats
    weights: Floats


@dataclass(frozen=True)
class DayChances:
    """
    Chance of an event on each day of a span, beside those ``before`` and ``after`` it, and ``never`` this year.

    ``by_day`` is (days,); all of it adds to 1, or to 0 where what was seen leaves no chance this year.
    """

    by_day: Floats
    before: float
    after: float
    never: float


def day_chances(
    draws: HatchDraws, *, first_day: date, n_days: int, event: Event = "emergence", shut_on: date | None = None
) -> DayChances:
    """
    Spread a nest's event over days.

    Hatchlings that do not wait for spring leave the nest 1 to 30 days after hatching and no later than 31 December,
    each of these days as likely as the next: the convention of the autumn window.

    Parameters
    ----------
    draws
        The nest's hatching days.
    first_day, n_days
        The span.
    event
        ``emergence``: hatchlings at the surface, which a visitor can meet; ``hatching``: inside the nest.
    shut_on
        Day of the last visit that saw nothing come up; chances are those that this leaves, None where nobody looked.

    Returns
    -------
    The chances; ``never`` holds what neither hatches nor comes up by 31 December.

    Source
    ------
    common_practice
    """
    lags = np.arange(int(hatch_value("autumn_first_d")), int(hatch_value("autumn_last_d")) + 1)
    in_year = np.isfinite(draws.days)
    hatched = np.floor(draws.days[in_year]).astype(np.int64)
    weights = np.repeat(draws.weights[in_year] / len(lags), len(lags))
    up = (hatched[:, None] + lags).ravel()
    day = up if event == "emergence" else np.repeat(hatched, len(lags))
    if shut_on is not None:
        weights = np.where(up > (shut_on - draws.start).days, weights, 0.0)
    year_days = (date(draws.start.year + 1, 1, 1) - draws.start).days
    never = float(draws.weights[~in_year].sum() + weights[day >= year_days].sum())
    by_day = _summed(day[day < year_days], weights[day < year_days], n_days=year_days)
    return _cut(by_day, never, begin=(first_day - draws.start).days, n_days=n_days)


def _summed(day: Ints, weights: Floats, *, n_days: int) -> Floats:
    summed: Floats = np.bincount(np.maximum(day, 0), weights=weights, minlength=n_days).astype(np.float64)
    return summed


def _cut(by_day: Floats, never: float, *, begin: int, n_days: int) -> DayChances:
    """The span's part of a year's chances, which are made to add to 1."""
    total = by_day.sum() + never
    scale = 1 / total if total > 0 else 0.0
    place = np.arange(begin, begin + n_days)
    inside = (place >= 0) & (place < len(by_day))
    span = np.zeros(n_days)
    span[inside] = by_day[place[inside]] * scale
    before = by_day[: max(begin, 0)].sum() * scale
    after = by_day[max(begin + n_days, 0) :].sum() * scale
    return DayChances(span, float(before), float(after), float(never * scale))
