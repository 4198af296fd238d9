"""When a sign is needed: the shortest interval of days and of hours that holds most crossings, with its doubt."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import pandas as pd

    from roadwatch.roads.arrays import FloatArray

SHARE = 0.8
"""Share of the crossings that the interval holds."""
LEAST_NEAR = 20
"""With fewer crossings near the hotspot, those of the whole county are taken (a convention)."""
LEAST = 5
"""With fewer crossings in the county no interval is told (a convention)."""
N_BOOTSTRAP = 500
INTERVAL = (0.05, 0.95)
"""Quantiles of the bootstrap that are told."""
DAYS, HOURS, LEAP_YEAR = 366.0, 24.0, 2024
LATE_CARCASS = ("old", "dry", "remains")
"""A carcass of this age tells too little of the day of its death."""


@dataclass(frozen=True)
class Interval:
    """
    The shortest interval on a circle that holds a share of some values, and how far its ends may lie off.

    Parameters
    ----------
    first, last
        Its ends.
    first_low, first_high, last_low, last_high
        Each end's 90 % bootstrap interval, on the circle.
    n
        Number of values.
    """

    first: float
    last: float
    first_low: float
    first_high: float
    last_low: float
    last_high: float
    n: int


def shortest_interval(
    values: FloatArray, *, period: float, rng: np.random.Generator, share: float = SHARE, n_draws: int = N_BOOTSTRAP
) -> Interval:
    """
    Find the shortest interval that holds a share of the values, and bootstrap its ends.

    Parameters
    ----------
    values
        (n,) Values from 0 up to the period, at least one.
    period
        Length of the circle.
    rng
        Source of chance for the bootstrap.
    share
        Least share of the values to hold; of several shortest intervals the first is taken.
    n_draws
        Number of samples drawn with replacement.

    Source
    ------
    efron1979
    """
    n = len(values)
    first, last = _ends(np.sort(values)[None, :], period, share)
    drawn = np.sort(values[rng.integers(0, n, (n_draws, n))], axis=1)
    bounds = []
    for told, sampled in zip((first, last), _ends(drawn, period, share), strict=True):
        off = (sampled - told[0] + period / 2) % period - period / 2
        bounds += ((told[0] + np.quantile(off, INTERVAL, method="nearest")) % period).tolist()
    return Interval(float(first[0]), float(last[0]), bounds[0], bounds[1], bounds[2], bounds[3], n)


def _ends(ordered: FloatArray, period: float, share: float) -> tuple[FloatArray, FloatArray]:
    """(rows,), (rows,) Ends of the shortest interval in each row of sorted values."""
    n = ordered.shape[1]
    held = max(int(np.ceil(share * n - 1e-9)), 1)
    around = np.concatenate([ordered, ordered + period], axis=1)
    best = np.argmin(around[:, held - 1 : held - 1 + n] - ordered, axis=1)
    rows = np.arange(len(ordered))
    return ordered[rows, best], around[rows, best + held - 1] % period


def day_numbers(crossings: pd.DataFrame) -> FloatArray:
    """
    Days of a leap year, 0 for 1 January, of crossings whose day is known; old carcasses are left out.

    Parameters
    ----------
    crossings
        Records with ``observed_at condition carcass_age``.
    """
    known = ~crossings["carcass_age"].isin(LATE_CARCASS) & crossings["observed_at"].notna()
    first = date(LEAP_YEAR, 1, 1)
    text = crossings["observed_at"][known].astype(str)
    days = [(date(LEAP_YEAR, int(one[5:7]), int(one[8:10])) - first).days for one in text]
    return np.array(days, dtype=np.float64)


def living_hours(crossings: pd.DataFrame) -> FloatArray:
    """
    Hours of local time at which animals were seen crossing alive; when a carcass was found tells of the searcher.

    Parameters
    ----------
    crossings
        Records with ``observed_at condition``.
    """
    text = crossings["observed_at"][crossings["condition"] == "alive"].dropna().astype(str)
    clocks = [one[11:16] for one in text if one[10:11] == "T"]
    return np.array([int(clock[:2]) + int(clock[3:5]) / 60.0 for clock in clocks], dtype=np.float64)


def month_day(number: float) -> str:
    """Write a day of the leap year as month-day, such as ``05-12``."""
    return (date(LEAP_YEAR, 1, 1) + timedelta(days=int(number))).strftime("%m-%d")


def clock(hour: float) -> str:
    """Write an hour as a clock shows it, such as ``08:40``."""
    minutes = round(hour * 60) % (24 * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def times_of(near: pd.DataFrame, county: pd.DataFrame, *, rng: np.random.Generator) -> dict[str, object]:
    """
    Tell when a sign is needed, from the crossings near it or, where they are too few, from the county's.

    Parameters
    ----------
    near, county
        Crossings, one row an animal: ``observed_at condition carcass_age``.
    rng
        Source of chance for the bootstrap.

    Returns
    -------
    ``on_from on_to`` (month-day) and ``hours_from hours_to`` (clock) with ``_low`` and ``_high`` of each end,
    ``days_basis`` and ``hours_basis`` (``near``, ``county`` or ``none``), ``days_crossings hours_crossings``.
    """
    return _told("on", "days", day_numbers(near), day_numbers(county), DAYS, rng) | _told(
        "hours", "hours", living_hours(near), living_hours(county), HOURS, rng
    )


def _told(
    name: str, what: str, near: FloatArray, county: FloatArray, period: float, rng: np.random.Generator
) -> dict[str, object]:
    basis = "near" if len(near) >= LEAST_NEAR else "county" if len(county) >= LEAST else "none"
    values = near if basis == "near" else county
    ends = [f"{name}_{end}{bound}" for end in ("from", "to") for bound in ("", "_low", "_high")]
    told: dict[str, object] = dict.fromkeys(ends)
    if basis != "none":
        found = shortest_interval(values, period=period, rng=rng)
        write = month_day if period == DAYS else clock
        numbers = (found.first, found.first_low, found.first_high, found.last, found.last_low, found.last_high)
        told = {end: write(number) for end, number in zip(ends, numbers, strict=True)}
    return told | {f"{what}_basis": basis, f"{what}_crossings": len(values)}
