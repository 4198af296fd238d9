"""
Doubts about a temperature series that are told and never acted upon: nothing here deletes or moves a reading.

Days far from their month, a station whose highs are booked a day late, and how far the middle of low and high lies
above the true mean.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from roadwatch.hatch.arrays import Bools, Floats
    from roadwatch.hatch.temperatures import Weather

FAR_OUT = 6.0
"""Robust standard deviations from the middle of its month beyond which a day is told (convention)."""

FEWEST_OF_MONTH = 60
"""Days of a calendar month, over all years, below which its spread is not trusted (convention)."""

FEWEST_TOGETHER = 60
"""Days that two series must share before their days are compared (convention)."""

CLEARLY_BETTER = 0.1
"""A shift is told where it raises the correlation by this much (convention)."""


def far_out_days(weather: Weather) -> Bools:
    """
    Find days whose low or high lies far from the middle of its calendar month.

    Parameters
    ----------
    weather
        One series, degrees C.

    Returns
    -------
    (days,) True beyond six robust standard deviations (1.4826 times the median distance from the median).
    """
    month = weather.days().month.to_numpy()
    far = np.zeros(len(month), bool)
    for one in range(1, 13):
        here = month == one
        for values in (weather.low_c, weather.high_c):
            of_month = values[here & ~np.isnan(values)]
            if len(of_month) < FEWEST_OF_MONTH:
                continue
            middle = np.median(of_month)
            spread = 1.4826 * np.median(np.abs(of_month - middle))
            if spread > 0:
                with np.errstate(invalid="ignore"):
                    far |= here & (np.abs(values - middle) > FAR_OUT * spread)
    return far


def booked_late(weather: Weather, other: Weather) -> int:
    """
    Tell by how many days a station's highs stand later than another's.

    Parameters
    ----------
    weather, other
        Two series of one neighbourhood.

    Returns
    -------
    1 where its highs are booked a day late, as where an observer reads at seven in the morning; -1 where the other's
    are; 0 where the same day fits best, or where too few days tell.
    """
    first = max(weather.first_day, other.first_day)
    n_days = _days_together(weather, other)
    if n_days < FEWEST_TOGETHER:
        return 0
    ours, theirs = (_from(one, first, n_days) for one in (weather, other))
    tied = {shift: _tie(ours, theirs, shift) for shift in (-1, 0, 1)}
    best = max(tied, key=lambda shift: tied[shift])
    return best if tied[best] > tied[0] + CLEARLY_BETTER else 0


def shift_note(station: Weather, loggers: Iterable[Weather] = ()) -> str:
    """
    Say whether a station without a second air series beside it books its highs a day late, as far as that can be told.

    Parameters
    ----------
    station
        The station; its own readings within the day carry their hours and need no comparison.
    loggers
        Series of nests, which follow the air with a lag of hours.

    Returns
    -------
    One sentence; empty where there is nothing to say.
    """
    if not station.is_alone or station.mean_c is not None:
        return ""
    beside = [one for one in loggers if _days_together(station, one) >= FEWEST_TOGETHER]
    late = [one.source for one in beside if booked_late(station, one) > 0]
    if late:
        return (
            f"{station.source}: its highs stand a day later than those of logger {', '.join(late)}, as where they are "
            "read in the morning; nothing was moved, and its windows may be a day late."
        )
    if beside:
        names = ", ".join(one.source for one in beside)
        return f"{station.source}: no shift of its highs by a day was noticed beside logger {names}."
    return (
        f"{station.source} is the only air series: whether its highs are booked a day late, as where they are read in "
        "the morning, cannot be noticed without a second one; its windows may be a day late."
    )


def _days_together(one: Weather, other: Weather) -> int:
    return (min(one.last_day, other.last_day) - max(one.first_day, other.first_day)).days + 1


def _from(weather: Weather, first: date, n_days: int) -> Floats:
    start = (first - weather.first_day).days
    return weather.high_c[start : start + n_days]


def _tie(ours: Floats, theirs: Floats, shift: int) -> float:
    """Correlation of changes from day to day, ours ``shift`` days later; the season itself would always correlate."""
    a, b = np.diff(ours), np.diff(theirs)
    a, b = (a[1:], b[:-1]) if shift == 1 else (a[:-1], b[1:]) if shift == -1 else (a, b)
    both = ~np.isnan(a + b)
    if both.sum() < FEWEST_TOGETHER // 2 or not (a[both].std() > 0 and b[both].std() > 0):
        return 0.0
    return float(np.corrcoef(a[both], b[both])[0, 1])


def middle_bias_c(weather: Weather) -> tuple[float, int]:
    """
    How far the middle of low and high lies above the mean of the readings.

    Parameters
    ----------
    weather
        A series made from readings within the day.

    Returns
    -------
    Mean difference, degrees C, and the days behind it; nan and 0 where the series has no readings within the day.
    """
    if weather.mean_c is None:
        return float("nan"), 0
    away = (weather.low_c + weather.high_c) / 2 - weather.mean_c
    known = ~np.isnan(away)
    return (float(away[known].mean()), int(known.sum())) if known.any() else (float("nan"), 0)


def quality_notes(weather: Weather) -> list[str]:
    """
    Say in sentences what a series leaves in doubt.

    Parameters
    ----------
    weather
        One series.
    """
    notes = []
    far = far_out_days(weather)
    if far.any():
        first = weather.days()[int(np.argmax(far))].date()
        notes.append(
            f"{weather.source}: {int(far.sum())} days lie far from the usual of their month (more than {FAR_OUT:g} "
            f"robust standard deviations), first {first}; flagged and kept: look whether the reading is right."
        )
    bias, n_days = middle_bias_c(weather)
    if n_days >= FEWEST_TOGETHER // 2:
        notes.append(
            f"{weather.source}: the middle of low and high lies {round(bias, 2) + 0.0:+.2f} °C from the mean of the "
            f"readings, over {n_days} days; where only lows and highs are known, nests are taken to be so much warmer."
        )
    return notes
