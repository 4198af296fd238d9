"""Thirty years of an invented weather station as a GHCN-Daily file, and one invented nest logger."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from make_county import Floats, chance

if TYPE_CHECKING:
    from pathlib import Path

STATION = "USX000INV01"
FIRST, LAST = date(1996, 1, 1), date(2025, 7, 15)
LONG_GAP = (date(2011, 2, 8), 9)
SHORT_GAP = (date(2025, 6, 9), 3)
MISSING, SOURCE_FLAG = -9999, "W"
LOGGER, LOGGER_NEST = "L07", "N25-007"


def make_weather() -> tuple[list[date], Floats, Floats]:
    """Days and their low and high, degrees C, complete: what the station would have read without its gaps."""
    rng = chance(9)
    days = [FIRST + timedelta(days=k) for k in range((LAST - FIRST).days + 1)]
    year = np.array([day.year for day in days])
    turn = 2 * np.pi * (np.array([day.timetuple().tm_yday for day in days]) - 19) / 365.25
    spread = 2.6 + 1.5 * np.cos(turn)  # winters swing more than summers
    wobble = np.zeros(len(days))
    for k in range(1, len(days)):
        wobble[k] = 0.66 * wobble[k - 1] + rng.normal() * np.sqrt(1 - 0.66**2)
    of_year = rng.normal(scale=0.45, size=year.max() - year.min() + 1)[year - year.min()]
    mean = 18.9 - 8.3 * np.cos(turn) + spread * wobble + of_year + 0.025 * (year - 2010)
    daily_range = np.maximum(3.0, 11.4 + 0.9 * np.cos(turn) + rng.normal(scale=2.3, size=len(days)))
    return days, mean - daily_range / 2, mean + daily_range / 2


def write_station(path: Path, days: list[date], low_c: Floats, high_c: Floats) -> None:
    """Fixed width, 269 characters a line: station, year, month, element, 31 times value and three flags."""
    rng = chance(10)
    lost = rng.random((2, len(days))) < 0.006
    for start, n in (LONG_GAP, SHORT_GAP):
        lost[:, days.index(start) : days.index(start) + n] = True
    doubted = {int(k): "GIKSX"[j % 5] for j, k in enumerate(sorted(rng.choice(len(days), size=14, replace=False)))}
    months: dict[tuple[int, int, str], list[str]] = {}
    for e, (element, values) in enumerate((("TMAX", high_c), ("TMIN", low_c))):
        for k, day in enumerate(days):
            cells = months.setdefault((day.year, day.month, element), [_cell(MISSING, " ", " ")] * 31)
            if not lost[e, k]:
                flag = doubted.get(k, " ") if k % 2 == e else " "
                value = round(10 * float(values[k])) + (150 if flag != " " else 0)  # a flagged value is a wrong one
                cells[day.day - 1] = _cell(value, flag, SOURCE_FLAG)
    lines = [f"{STATION}{y:04d}{m:02d}{element}{''.join(months[y, m, element])}" for y, m, element in sorted(months)]
    path.write_bytes(("\n".join(lines) + "\n").encode("ascii"))


def _cell(tenths: int, quality_flag: str, source_flag: str) -> str:
    return f"{tenths:5d} {quality_flag}{source_flag}"


def write_logger(
    path: Path, days: list[date], low_c: Floats, high_c: Floats, *, first_day: date, warmer_c: float
) -> None:
    """Hourly readings in the nest, degrees F and a twelve-hour clock: damped, later than the air, and warmer."""
    rng, lines = chance(11), [f"Invented temperature logger {LOGGER} in nest {LOGGER_NEST}; no real place"]
    lines.append("series_id,kind,Date Time (GMT-04:00),Temperature (°F)")
    air_c = (low_c + high_c) / 2
    start = datetime(first_day.year, first_day.month, first_day.day)  # noqa: DTZ001  GMT-04:00, as the header says
    for k in range(24 * (LAST - first_day).days):
        when = start + timedelta(hours=k)
        at = days.index(when.date())
        mean_c = 0.7 * air_c[at] + 0.3 * air_c[at - 1] + warmer_c
        nest_c = (
            mean_c
            + 0.22 * (high_c[at] - low_c[at]) * np.cos(2 * np.pi * (when.hour - 18.5) / 24)
            + rng.normal(scale=0.05)
        )
        stamp = when.strftime("%m/%d/%Y %I:%M:%S %p")
        lines.append(f"{LOGGER},nest,{stamp},{1.8 * float(nest_c) + 32:.2f}")
    path.write_bytes(("\r\n".join(lines) + "\r\n").encode("utf-8"))
