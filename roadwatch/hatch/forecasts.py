"""A weather forecast for the days after the last reading: used as far as it reaches, and counted."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.hatch.temperatures import COLDEST_C, HOTTEST_C, Weather
from roadwatch.hatch.values import hatch_value

if TYPE_CHECKING:
    from datetime import date

FEWEST_HOURS_A_DAY = 8
"""A day of a forecast by the hour needs this many values, one in three hours, for a low and a high (convention)."""


def forecast_weather(temperatures: pd.DataFrame, *, as_of: date) -> Weather | None:
    """
    Take the forecast that was known on a day.

    Parameters
    ----------
    temperatures
        Table of kind ``temperatures``; rows of ``kind`` forecast with ``issued_at`` count, daily or by the hour.
    as_of
        Forecasts issued later are not used.

    Returns
    -------
    Lows and highs by day, for each day from its latest issue, no further ahead than the table's
    ``forecast_reach_d``; None where there is no such day. Days without a forecast are nan.
    """
    names = ["series_id", "kind", "at", "temp_c", "date", "tmin_c", "tmax_c", "issued_at"]
    table = temperatures.reindex(columns=names)
    rows = table[(table["kind"] == "forecast") & table["issued_at"].notna()]
    day = rows["date"].where(rows["date"].notna(), rows["at"]).astype("string").str[:10]
    issued = rows["issued_at"].astype("string").str[:10]
    ahead = pd.to_datetime(day, errors="coerce") - pd.to_datetime(issued, errors="coerce")
    usable = (issued <= as_of.isoformat()) & ahead.dt.days.between(0, hatch_value("forecast_reach_d"))
    days = _days(rows.assign(day=day)[usable.fillna(value=False).to_numpy(bool)])
    if days.empty:
        return None
    names_used = ", ".join(sorted({str(name) for name in days["series_id"]}))
    last_issue = str(days["issued_at"].max())[:10]
    series = days.set_index(pd.to_datetime(days["day"]))[["tmin_c", "tmax_c"]].sort_index().asfreq("D")
    low, high = (series[name].to_numpy(float) for name in series)
    return Weather(series.index[0].date(), low, high, f"the forecast {names_used} issued {last_issue}")


def _days(rows: pd.DataFrame) -> pd.DataFrame:
    """One row a day, from its latest issue: daily rows as they are, values by the hour by their extremes."""
    keys = ["series_id", "issued_at", "day"]
    daily = rows[rows["tmin_c"].notna() & rows["tmax_c"].notna()][[*keys, "tmin_c", "tmax_c"]]
    hourly = rows[rows["temp_c"].notna() & rows["at"].notna()].groupby(keys, as_index=False)["temp_c"]
    by_day = hourly.agg(tmin_c="min", tmax_c="max", count="size")
    by_day = by_day[by_day["count"] >= FEWEST_HOURS_A_DAY].drop(columns="count")
    both = pd.concat([one for one in (daily, by_day) if len(one)] or [daily])
    low, high = both["tmin_c"].astype(float), both["tmax_c"].astype(float)
    sound = (low <= high) & np.isfinite(high - low) & (low >= COLDEST_C) & (high <= HOTTEST_C)
    latest = both[sound].sort_values(["day", "issued_at", "series_id"], kind="stable")
    last: pd.DataFrame = latest.drop_duplicates("day", keep="last")
    return last
