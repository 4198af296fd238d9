"""Stations that packages carry: read for tests and benchmarks, never shipped."""

from __future__ import annotations

from importlib.resources import files

import pandas as pd

from roadwatch.hatch.temperatures import Weather, daily_weather


def aquacrop_station(name: str) -> Weather:
    """
    One of the daily series in the PyPI package aquacrop (3.1.0, MIT): day, month, year, lowest and highest, degrees C.

    ``champion`` is in Nebraska, 1982-2018, without gaps; ``brussels`` in Belgium, 1976-2005, without gaps.
    """
    table = pd.read_csv(files("aquacrop") / "data" / f"{name}_climate.txt", sep=r"\s+")
    table.columns = ["day", "month", "year", "tmin_c", "tmax_c", *table.columns[5:]]
    day = pd.to_datetime(table[["year", "month", "day"]]).dt.strftime("%Y-%m-%d")
    return daily_weather(table[["tmin_c", "tmax_c"]].assign(series_id=name, date=day))
