"""
A season's weather as known on a day: what was observed, and past years of the same station in place of the future.

Each past year stands on the same calendar days; 29 February of a common year repeats its 28th.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.hatch.temperatures import Weather

if TYPE_CHECKING:
    from datetime import date

    from roadwatch.hatch.arrays import Bools, Floats, Ints

FEWEST_YEARS = 5
"""Fewer complete past years than this give no window (convention)."""

MOST_YEARS = 30
"""The most recent years stand for the future: the usual length of a climate normal."""

TWO_MONTHS = 60
"""Days ahead over which the air to come is averaged (convention)."""

_LEAP_SLOT = 59
"""Place of 29 February among the 366 month-days."""


@dataclass(frozen=True)
class SeasonWeather:
    """
    Air temperatures of one calendar year, degrees C.

    ``low_c`` and ``high_c`` are (days,) as observed by ``as_of`` or forecast by then, nan elsewhere; ``past_low_c``
    and ``past_high_c`` are (years, days) of the earlier ``years``; ``is_forecast`` is (days,), None for no forecast,
    which ``forecast_source`` names.
    """

    year: int
    low_c: Floats
    high_c: Floats
    years: Ints
    past_low_c: Floats
    past_high_c: Floats
    is_forecast: Bools | None = None
    forecast_source: str = ""

    @property
    def n_days(self) -> int:
        """365 or 366."""
        return len(self.low_c)

    @property
    def is_known(self) -> Bools:
        """(days,) True where the day has both temperatures, read or forecast."""
        known: Bools = ~np.isnan(self.low_c + self.high_c)
        return known

    @property
    def is_observed(self) -> Bools:
        """(days,) True where the day has both temperatures, read and not forecast."""
        return self.is_known if self.is_forecast is None else self.is_known & ~self.is_forecast

    @property
    def last_observed(self) -> int:
        """Index of the last observed day; -1 when there is none."""
        seen = np.flatnonzero(self.is_observed)
        return int(seen[-1]) if len(seen) else -1


def season_weather(weather: Weather, *, year: int, as_of: date, forecast: Weather | None = None) -> SeasonWeather:
    """
    Lay a station's series out by years, hiding what was not yet known.

    Parameters
    ----------
    weather
        The station.
    year
        The season; only earlier years stand in for its future.
    as_of
        Later days are not used, in any year.
    forecast
        Stands for days of the season without a reading; the caller leaves out what was issued after ``as_of``.

    Returns
    -------
    The season with its past years, however incomplete these are.
    """
    days = weather.days()
    known = np.asarray(days <= pd.Timestamp(as_of))
    first_year, last_year = int(days[0].year), max(int(days[-1].year), year)
    years = np.arange(min(first_year, year), last_year + 1)
    row, slot = days.year.to_numpy() - years[0], _slots(days)
    grids = []
    for values in (weather.low_c, weather.high_c):
        grid = np.full((len(years), 366), np.nan)
        grid[row[known], slot[known]] = values[known]
        grids.append(grid)
    season = int(year - years[0])
    is_leap = pd.Timestamp(year, 1, 1).is_leap_year
    lows, highs = (_on_calendar(grid, years, season, is_leap=is_leap) for grid in grids)
    made = SeasonWeather(year, lows[season], highs[season], years[:season], lows[:season], highs[:season])
    return made if forecast is None else _with_forecast(made, forecast)


def _with_forecast(season: SeasonWeather, forecast: Weather) -> SeasonWeather:
    days = forecast.days()
    inside = np.asarray(days.year == season.year) & ~np.isnan(forecast.low_c + forecast.high_c)
    low, high = season.low_c.copy(), season.high_c.copy()
    is_forecast = np.zeros(season.n_days, bool)
    is_forecast[days.day_of_year.to_numpy()[inside] - 1] = True
    is_forecast &= ~season.is_known
    for values, told in ((low, forecast.low_c), (high, forecast.high_c)):
        by_day = np.full(season.n_days, np.nan)
        by_day[days.day_of_year.to_numpy()[inside] - 1] = told[inside]
        values[is_forecast] = by_day[is_forecast]
    return replace(season, low_c=low, high_c=high, is_forecast=is_forecast, forecast_source=forecast.source)


def own_series(weather: Weather, *, year: int, as_of: date) -> tuple[Floats, Floats]:
    """
    Take one year of a nest's own logger, each day's wave centred on the mean of its readings.

    Returns
    -------
    (days,) low and high, degrees C; nan where there is no reading by ``as_of``.
    """
    centred = weather
    if weather.mean_c is not None:
        shift = np.nan_to_num(weather.mean_c - (weather.low_c + weather.high_c) / 2)
        centred = Weather(weather.first_day, weather.low_c + shift, weather.high_c + shift, weather.source)
    season = season_weather(centred, year=year, as_of=as_of)
    return season.low_c, season.high_c


def days_to_fill(season: SeasonWeather, *, from_day: int, covered: Bools | None = None) -> Bools:
    """
    Find the days that past years must stand for.

    Parameters
    ----------
    season
        The season's weather.
    from_day
        First day needed, the earliest laying, as an index from 0.
    covered
        (days,) True where another series, such as a nest's own logger, gives the day.

    Returns
    -------
    (days,) True for each day from laying to 31 December that no reading and no forecast covers.
    """
    needed: Bools = ~season.is_known
    needed[: max(from_day, 0)] = False
    return needed if covered is None else needed & ~covered


def complete_years(season: SeasonWeather, *, to_fill: Bools) -> Ints:
    """
    Choose the past years that can stand for the days to fill.

    Returns
    -------
    Indices of the most recent years, at most 30, that have a value on every such day; a year with a longer gap there
    is left out.
    """
    lacking = np.isnan(season.past_low_c + season.past_high_c)[:, to_fill].any(axis=1)
    return np.flatnonzero(~lacking)[-MOST_YEARS:]


@dataclass(frozen=True)
class Future:
    """
    What past years must stand for: which of them can, whether any is needed, and the air that they promise.

    ``air_c`` is the mean of the air over the first two months to come, degrees C; nan where none are needed.
    """

    members: Ints
    is_needed: bool
    air_c: float


def future(season: SeasonWeather, *, from_day: int, covered: Bools | None = None) -> Future:
    """
    Find the past years that stand for the days to come.

    Parameters
    ----------
    season, from_day, covered
        As for ``days_to_fill``.
    """
    to_fill = days_to_fill(season, from_day=from_day, covered=covered)
    if not to_fill.any():
        return Future(np.zeros(0, np.int64), is_needed=False, air_c=float("nan"))
    members = complete_years(season, to_fill=to_fill)
    rows = np.ix_(members, np.flatnonzero(to_fill)[:TWO_MONTHS])
    air = float(((season.past_low_c[rows] + season.past_high_c[rows]) / 2).mean()) if len(members) else float("nan")
    return Future(members, is_needed=True, air_c=air)


def filled_season(season: SeasonWeather, members: Ints) -> tuple[Floats, Floats]:
    """
    Complete the observed days with each past year in turn.

    Returns
    -------
    (members, days) low and high of the air, degrees C. Without members the observed season stands alone, repeated so
    that its draws are enough to read a window from.
    """
    if not len(members):
        return np.repeat(season.low_c[None], FEWEST_YEARS, axis=0), np.repeat(season.high_c[None], FEWEST_YEARS, axis=0)
    seen = season.is_known
    low = np.where(seen, season.low_c, season.past_low_c[members])
    high = np.where(seen, season.high_c, season.past_high_c[members])
    return low, high


def _slots(days: pd.DatetimeIndex) -> Ints:
    """Month-day of each day as a place from 0 to 365, the same in common and leap years."""
    of_year = days.day_of_year.to_numpy() - 1
    after_february = days.month.to_numpy() > 2
    slots: Ints = of_year + (after_february & ~days.is_leap_year)
    return slots


def _on_calendar(grid: Floats, years: Ints, season: int, *, is_leap: bool) -> Floats:
    """Bring all years onto the season's own calendar."""
    if not is_leap:
        return np.delete(grid, _LEAP_SLOT, axis=1)
    common = ~pd.to_datetime(pd.Series(years).astype(str) + "-01-01").dt.is_leap_year.to_numpy()
    common[season] = False
    grid[common, _LEAP_SLOT] = grid[common, _LEAP_SLOT - 1]
    return grid
