"""When in the year and the day records fall, and whether they all fall in one year."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

if TYPE_CHECKING:
    import pandas as pd

    from roadwatch.roads.arrays import FloatArray

WINDOW_SHARE = 0.8
"""Share of the records that a window of the year or the day holds."""

LEAST_FOR_WINDOW = 5
"""With fewer records no window is told (a convention)."""

LEAP_YEAR = 2024
"""Days are counted in a leap year, so that every day of every year has its number."""

DAYS, HOURS = 366.0, 24.0

ONE_SEASON_SHARE = 0.6
"""A year with less than this share of the records is no season that stands alone (a convention)."""

ONE_SEASON_P = 0.05
"""Records are called one season's where so many in one year would be rarer than this if all years were alike."""


@dataclass(frozen=True)
class Window:
    """The shortest interval that holds a share of the values, going round: first, last, and length."""

    first: float
    last: float
    length: float


def shortest_window(values: FloatArray, *, period: float, share: float = WINDOW_SHARE) -> Window:
    """
    Find the shortest interval on a circle that holds a share of the values, both ends included.

    Parameters
    ----------
    values
        (n,) Values from 0 up to the period, at least one.
    period
        Length of the circle.
    share
        Least share of the values to hold; of several shortest intervals the first is taken.
    """
    ordered = np.sort(values)
    n = len(ordered)
    held = max(int(np.ceil(share * n - 1e-9)), 1)
    around = np.r_[ordered, ordered + period]
    length = around[held - 1 : held - 1 + n] - ordered
    best = int(np.argmin(length))
    return Window(float(ordered[best]), float(around[best + held - 1] % period), float(length[best]))


def timing(held: pd.DataFrame) -> dict[str, object]:
    """
    Say when the records of a hotspot fall: the window of the year and of the day that holds 80 % of them.

    Parameters
    ----------
    held
        One row a record: ``date`` (ISO 8601), and where known ``observed_at`` with a time of day.

    Returns
    -------
    ``window_from window_to`` (month-day), ``window_days`` (both ends counted), ``hour_from hour_to`` (hours of local
    time, 13.5 for half past one); blank with fewer than five records.
    """
    blank: dict[str, object] = {
        "window_from": None,
        "window_to": None,
        "window_days": np.nan,
        "hour_from": np.nan,
        "hour_to": np.nan,
    }
    days = _day_numbers(held["date"])
    if len(days) >= LEAST_FOR_WINDOW:
        window = shortest_window(days, period=DAYS)
        blank |= {
            "window_from": _month_day(window.first),
            "window_to": _month_day(window.last),
            "window_days": window.length + 1.0,
        }
    hours = _hours(held["observed_at"]) if "observed_at" in held else np.empty(0)
    if len(hours) >= LEAST_FOR_WINDOW:
        window = shortest_window(hours, period=HOURS)
        blank |= {"hour_from": window.first, "hour_to": window.last}
    return blank


def is_one_season(by_year: FloatArray, effort: FloatArray) -> bool:
    """
    Whether most records fall in one year, more than chance lets expect, given how much was searched in each.

    The chance is that of a binomial count for the fullest year, times the number of years; records that all fall in
    one of several years are one season's however few they are.

    Parameters
    ----------
    by_year
        (years,) Records in each year.
    effort
        (years,) Kilometres searched in each year, or ones; years without a search are no years.
    """
    searched = effort > 0.0
    count, share = by_year[searched], effort[searched] / effort[searched].sum()
    if len(count) < 2 or not count.sum():
        return False
    if (count > 0).sum() == 1:
        return True
    chance = np.where(count > 0, special.betainc(np.maximum(count, 1.0), count.sum() - count + 1.0, share), 1.0)
    fullest = int(np.argmax(count - count.sum() * share))
    is_most = count[fullest] >= ONE_SEASON_SHARE * count.sum()
    return bool(is_most and chance[fullest] * len(count) <= ONE_SEASON_P)


def counted(values: pd.Series) -> str:
    """
    Count words, the most frequent first: ``female 5, male 2, not said 1``.

    Parameters
    ----------
    values
        One word a record, None where nothing was said.
    """
    table = Counter(
        "not said" if is_blank or word == "" else str(word)
        for word, is_blank in zip(values, values.isna(), strict=True)
    )
    order = sorted(table, key=lambda word: (word in ("not said", "unknown"), -table[word], word))
    return ", ".join(f"{word} {table[word]}" for word in order)


def _day_numbers(dates: pd.Series) -> FloatArray:
    """Days of a leap year, 0 for 1 January, of the dates that are known."""
    first = date(LEAP_YEAR, 1, 1)
    days = [date(LEAP_YEAR, int(text[5:7]), int(text[8:10])) for text in dates.dropna().astype(str)]
    return np.array([(day - first).days for day in days], dtype=np.float64)


def _month_day(number: float) -> str:
    return (date(LEAP_YEAR, 1, 1) + timedelta(days=int(number))).strftime("%m-%d")


def _hours(times: pd.Series) -> FloatArray:
    """Hours of local time of those that state one."""
    clocks = [text[11:16] for text in times.dropna().astype(str) if text[10:11] == "T"]
    return np.array([int(clock[:2]) + int(clock[3:5]) / 60.0 for clock in clocks], dtype=np.float64)
