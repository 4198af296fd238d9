"""
Daily lows and highs from the season's temperature records.

What is done to a series is stated in its notes: which series was taken, what was outside physical bounds, and how
gaps were treated (up to three days are interpolated, longer ones stay blank).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError, UsageError
from roadwatch.hatch.quality import booked_late, quality_notes

if TYPE_CHECKING:
    from collections.abc import Iterable

    from roadwatch.hatch.arrays import Bools, Floats

LONGEST_FILLED_GAP_DAYS = 3
"""Gaps up to this long are interpolated; longer ones stay blank (common practice, no source)."""

COLDEST_C, HOTTEST_C = -89.2, 56.7
"""Lowest and highest air temperatures accepted as world records (wmo_extremes)."""

WIDEST_DAY_C = 56.0
"""The greatest change known within a day is 100 degrees F, Browning, Montana, 1916 (wmo_extremes)."""

LONGEST_PAUSE_H = 6.0
"""A logger day with a longer pause between readings has no honest low and high (convention)."""


@dataclass(frozen=True)
class Weather:
    """
    Daily temperatures of one series, a value for every day from ``first_day`` on.

    ``low_c`` and ``high_c`` are (days,), degrees C, nan where missing. ``mean_c`` is the mean of the readings where
    the series comes from readings, else None: low and high alone place the middle of a day about 0.3 degrees too high.
    ``is_alone`` says that there was no other air series to compare its days with.
    """

    first_day: date
    low_c: Floats
    high_c: Floats
    source: str
    notes: tuple[str, ...] = ()
    mean_c: Floats | None = None
    is_alone: bool = False

    @property
    def last_day(self) -> date:
        """The last day that the series has a place for."""
        return self.first_day + timedelta(days=len(self.low_c) - 1)

    def days(self) -> pd.DatetimeIndex:
        """Every day of the series."""
        return pd.date_range(self.first_day.isoformat(), periods=len(self.low_c), freq="D")


def daily_weather(
    temperatures: pd.DataFrame, *, series_id: str | None = None, not_series: Iterable[object] = ()
) -> Weather:
    """
    Take the daily weather of one station from the temperature records.

    Parameters
    ----------
    temperatures
        Table of kind ``temperatures``: daily rows (``date tmin_c tmax_c``) or single readings (``at temp_c``),
        degrees C; blank ``kind`` is air.
    series_id
        The series to take; None takes the air series with the most days.
    not_series
        Cells that name nests' loggers, several separated by ``;``: these are not taken for the station, whatever their
        kind says.

    Returns
    -------
    Lows and highs day by day, with notes that say what was chosen, dropped and filled.

    Raises
    ------
    NotEnoughDataError
        The table holds no air series, or the series has not one complete day.
    UsageError
        ``series_id`` is not in the table; the message names those that are.
    """
    table = _with_columns(temperatures)
    names = [str(name) for name in table["series_id"].unique()]
    if series_id is not None:
        if series_id not in names:
            raise UsageError(
                f"there is no temperature series '{series_id}'; choose one of {', '.join(names) or 'none'}"
            )
        return _one_series(table[table["series_id"] == series_id], series_id)
    air = table[table["kind"] == "air"]
    of_nests = sorted(named_loggers(not_series) & set(air["series_id"]))
    air = air[~air["series_id"].isin(of_nests)]
    counts = air.groupby("series_id")["day"].nunique().sort_index()
    if counts.empty:
        besides = f" besides the nests' loggers ({', '.join(of_nests)})" if of_nests else ""
        raise NotEnoughDataError(
            f"not enough data: no air temperature series{besides}; ingest a weather station's daily lows and highs"
        )
    chosen = str(counts.idxmax())
    weather = _one_series(air[air["series_id"] == chosen], chosen)
    if of_nests:
        note = f"Not taken for the station, as nests name them as loggers: {', '.join(of_nests)}."
        weather = replace(weather, notes=(note, *weather.notes))
    if len(counts) == 1:
        return replace(weather, is_alone=True)
    rest = [str(name) for name in counts.index if name != chosen]
    others = ", ".join(rest)
    note = (
        f"Of {len(counts)} air series, {chosen} has the most days ({int(counts.max())}) and was taken; not: {others}."
    )
    return replace(weather, notes=(note, *weather.notes, *_shifts(weather, air, rest)))


def _shifts(weather: Weather, air: pd.DataFrame, others: list[str]) -> list[str]:
    """Whether the chosen station's highs stand a day late beside the others', as after a reading in the morning."""
    notes = []
    for name in others:
        try:
            shift = booked_late(weather, _one_series(air[air["series_id"] == name], name))
        except NotEnoughDataError:
            continue
        if shift:
            late, sound = (weather.source, name) if shift > 0 else (name, weather.source)
            notes.append(
                f"{late}: its highs stand a day later than those of {sound}, as where they are read in the morning; "
                "nothing was moved, and its windows may be a day late."
            )
    return notes


def named_loggers(cells: Iterable[object]) -> set[str]:
    """Every logger that cells of ``logger_id`` or ``site_logger_id`` name; blanks are passed over."""
    return {part.strip() for cell in cells if isinstance(cell, str) for part in cell.split(";") if part.strip()}


def nest_loggers(temperatures: pd.DataFrame, *, logger_ids: Iterable[object]) -> dict[str, Weather]:
    """
    Take the daily temperatures of each logger that a nest names.

    Parameters
    ----------
    temperatures
        Table of kind ``temperatures``, degrees C.
    logger_ids
        Names in the nests' columns ``logger_id`` and ``site_logger_id``, several separated by ``;``; blanks are passed
        over.

    Returns
    -------
    By name; a logger without records, or without a complete day, is left out.
    """
    table = _with_columns(temperatures)
    known = set(table["series_id"])
    found: dict[str, Weather] = {}
    for name in sorted(named_loggers(logger_ids) & known):
        try:
            found[name] = _one_series(table[table["series_id"] == name], name)
        except NotEnoughDataError:
            continue
    return found


def _with_columns(temperatures: pd.DataFrame) -> pd.DataFrame:
    """The needed columns, whichever the table lacks blank; ``day`` is the local date of each row."""
    table = temperatures.reindex(columns=["series_id", "kind", "at", "temp_c", "date", "tmin_c", "tmax_c"])
    table = table[table["series_id"].notna()]
    table["series_id"] = table["series_id"].astype(str)
    table["kind"] = table["kind"].where(table["kind"].notna(), "air")
    table = table[table["kind"] != "forecast"]  # what was foretold is no reading, whatever its series is called
    table["day"] = table["date"].where(table["date"].notna(), table["at"]).astype("string").str[:10]
    return table[table["day"].notna()].drop(columns="date")


def _one_series(rows: pd.DataFrame, name: str) -> Weather:
    notes: list[str] = []
    is_daily = (rows["tmin_c"].notna() | rows["tmax_c"].notna()).to_numpy()
    daily = rows[is_daily].drop_duplicates("day").set_index("day")[["tmin_c", "tmax_c"]].astype(float)
    repeated = int(is_daily.sum()) - len(daily)
    if repeated:
        notes.append(f"{name}: {repeated} days stand twice; the first of each was kept.")
    daily["mean_c"] = np.nan
    readings = rows[rows["temp_c"].notna().to_numpy() & rows["at"].notna().to_numpy()]
    if len(readings):
        from_readings = _days_of_readings(readings, name, notes)
        daily = pd.concat([daily, from_readings[~from_readings.index.isin(daily.index)]])
    if daily.empty:
        raise NotEnoughDataError(f"not enough data: series {name} has not one complete day; ingest a longer file")
    daily.index = pd.to_datetime(daily.index, format="%Y-%m-%d")
    daily = daily.sort_index().asfreq("D")
    low, high = (daily[column].to_numpy(float, copy=True) for column in ("tmin_c", "tmax_c"))
    mean = daily["mean_c"].to_numpy(float, copy=True)
    _drop_impossible(low, high, daily.index, name, notes)
    _fill_short_gaps(low, high, mean, name, notes)
    made = Weather(daily.index[0].date(), low, high, name, tuple(notes), mean if np.isfinite(mean).any() else None)
    return replace(made, notes=(*notes, *quality_notes(made)))


def _days_of_readings(readings: pd.DataFrame, name: str, notes: list[str]) -> pd.DataFrame:
    """Low, high and time-weighted mean of each day without a long pause; the first and last are often cut short."""
    table = readings.drop_duplicates(["at", "temp_c"])
    moment = pd.to_datetime(table["at"], utc=True, format="ISO8601")
    table = table.assign(hours=(moment - moment.min()).dt.total_seconds() / 3600).sort_values("hours", kind="stable")
    hours, day = table["hours"].to_numpy(), table["day"].to_numpy()
    clock = pd.to_timedelta(table["at"].str[11:19].replace("", "00:00:00")).dt.total_seconds().to_numpy() / 3600
    pause = np.diff(hours)
    before, after = np.append(clock[0], pause), np.append(pause, 24.0 - clock[-1])
    # A reading stands for half the time to its neighbours; a pause over midnight reaches back no further than the day.
    right = np.minimum(after / 2, 24.0 - clock)
    left = np.minimum(before / 2, clock + right)
    table = table.assign(pause=np.maximum(before, after), weight=left + right, warmth=table["temp_c"] * (left + right))
    by_day = table.groupby(day)
    days = pd.DataFrame({"tmin_c": by_day["temp_c"].min(), "tmax_c": by_day["temp_c"].max()})
    days["mean_c"] = by_day["warmth"].sum() / by_day["weight"].sum()
    complete = by_day["pause"].max() <= LONGEST_PAUSE_H
    if not complete.all():
        notes.append(
            f"{name}: {int((~complete).sum())} days with more than {LONGEST_PAUSE_H:g} hours between readings "
            "have no low and high."
        )
    return days[complete]


def _drop_impossible(low: Floats, high: Floats, days: pd.Index[pd.Timestamp], name: str, notes: list[str]) -> None:
    with np.errstate(invalid="ignore"):
        for values in (low, high):
            _blank(values, values, (values < COLDEST_C) | (values > HOTTEST_C), days, name, notes, "outside bounds")
        crossed = low > high
        _blank(low, high, crossed, days, name, notes, "with the low above the high")
        _blank(low, high, high - low > WIDEST_DAY_C, days, name, notes, f"with a range above {WIDEST_DAY_C:g} °C")


def _blank(
    low: Floats, high: Floats, wrong: Bools, days: pd.Index[pd.Timestamp], name: str, notes: list[str], what: str
) -> None:
    if not wrong.any():
        return
    first = int(np.argmax(wrong))
    found = f"{low[first]:.1f}" if low is high else f"{low[first]:.1f} to {high[first]:.1f}"
    notes.append(f"{name}: {int(wrong.sum())} days {what} left blank, first {days[first].date()} ({found} °C).")
    low[wrong] = high[wrong] = np.nan


def _fill_short_gaps(low: Floats, high: Floats, mean: Floats, name: str, notes: list[str]) -> None:
    """Interpolate gaps of up to three days, in place; a filled low never passes the day's high."""
    missing = np.isnan(low) | np.isnan(high)
    was_blank = np.isnan(low)
    for values in (low, high):
        _interpolate(values)
    low[was_blank] = np.minimum(low[was_blank], high[was_blank])
    np.fmax(high, low, out=high, where=~np.isnan(high))
    if np.isfinite(mean).any():
        _interpolate(mean)
    still = np.isnan(low) | np.isnan(high)
    filled, left = int((missing & ~still).sum()), int(still.sum())
    if filled:
        notes.append(f"{name}: {filled} days in gaps of up to {LONGEST_FILLED_GAP_DAYS} days were interpolated.")
    if left:
        notes.append(f"{name}: {left} days in longer gaps stay blank.")


def _interpolate(values: Floats) -> None:
    blank = np.isnan(values)
    if blank.all() or not blank.any():
        return
    index = np.arange(len(values))
    edges = np.flatnonzero(np.diff(np.concatenate([[0], blank.view(np.int8), [0]])))
    for start, stop in zip(edges[::2], edges[1::2], strict=True):
        if stop - start <= LONGEST_FILLED_GAP_DAYS and start > 0 and stop < len(values):
            ends = [start - 1, stop]
            values[start:stop] = np.interp(index[start:stop], ends, values[ends])
