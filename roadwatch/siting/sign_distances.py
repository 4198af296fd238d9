"""How far before a place a warning sign stands, by posted speed."""

from __future__ import annotations

import csv
import math
from functools import cache
from importlib.resources import files

from roadwatch.units import METRES_PER_FOOT

TABLE_NAME = "US Manual on Uniform Traffic Control Devices, 11th edition (2023), Table 2C-3, the column for a stop"
SPEEDS_TOLD_MPH = (25, 35, 45, 55)
"""Speeds for which the distance is told where the limit is unknown."""


@cache
def _stop_ft() -> dict[int, float]:
    text = (files("roadwatch") / "data" / "sign_distances.csv").read_text(encoding="utf-8")
    return {int(row["speed_mph"]): float(row["stop_ft"]) for row in csv.DictReader(text.splitlines())}


def advance_distance_m(speed_mph: float) -> float:
    """
    Look up how far ahead a sign stands so that a driver can stop: the next row of the table at or above the speed.

    Parameters
    ----------
    speed_mph
        Posted speed limit, miles per hour; nan or 0 where it is unknown.

    Returns
    -------
    Metres; nan where the speed is unknown or above the last row of the table.

    Source
    ------
    mutcd2023
    """
    if not speed_mph > 0.0:
        return math.nan
    rows = [row for row in _stop_ft() if row >= speed_mph]
    return _stop_ft()[min(rows)] * METRES_PER_FOOT if rows else math.nan


def distances_told() -> str:
    """Write the distance for several speeds, for a road whose limit is unknown."""
    return ", ".join(f"{advance_distance_m(speed):.0f} m at {speed} mph" for speed in SPEEDS_TOLD_MPH)
