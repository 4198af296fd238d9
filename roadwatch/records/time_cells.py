"""Joining a date column and a time-of-day column to one text."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

from roadwatch.records.complaints import Misread
from roadwatch.records.date_forms import SECOND_TIME, has_clock, is_only_clock, is_serial, lacks_zone, split_time

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray


SECOND_TIME_COLUMN = "second_time_on_clock"
"""Column with ``yes`` where the clock shows an hour again, after it was put back."""


_MIDNIGHT = re.compile(r"(?<=\d)(?:T|\s+)(?:0?0:00(?::00(?:\.0+)?)?|12:00(?::00)?\s*AM)$", re.IGNORECASE)
"""How programs write the time of a day that has none."""


def with_second_times(texts: pd.Series, again: pd.Series) -> pd.Series:
    """
    Mark the later of two times that the clock shows, so that it is read as such.

    Parameters
    ----------
    texts
        (n,) dates with their time of day.
    again
        (n,) ``yes`` where the clock had been put back.
    """
    is_second = again.str.casefold().eq("yes").fillna(value=False).to_numpy(dtype=bool) & texts.notna().to_numpy()
    return texts.mask(is_second, texts + f" {SECOND_TIME}") if is_second.any() else texts


def days_of_parts(year: pd.Series, month: pd.Series, day: pd.Series) -> pd.Series:
    """
    Days of (n,) years, months and days of the month, None where one of them is blank; a month may be a word.

    The order is that of ISO 8601, or day, month, year where the month is a word.
    """
    is_word = month.str.contains(r"[^\W\d]", regex=True).fillna(value=False).to_numpy(dtype=bool)
    number = month.str.removesuffix(".0")
    plain = year.str.removesuffix(".0").str.cat(number, sep="-").str.cat(day.str.removesuffix(".0"), sep="-")
    return plain.mask(is_word, day.str.cat(month, sep=" ").str.cat(year, sep=" "))


def joined_times(
    main: pd.Series, *, clock: pd.Series | None, day: pd.Series | None, zone: pd.Series | None = None
) -> pd.Series:
    """
    Put the hour behind a date that has none, the day before an hour that has none, the zone behind an hour without one.

    Parameters
    ----------
    main
        (n,) texts of the date and time column, None where blank.
    clock
        (n,) texts of the column with the time of day, where there is one.
    day
        (n,) texts of the column that gives the day of a mere time of day, where there is one.
    zone
        (n,) texts of the column with the timezone or the offset, where there is one.

    Returns
    -------
    (n,) texts; what needs nothing stays as it is. Where the hour has a column of its own, the midnight that programs
    put behind a day is dropped for it, and a spreadsheet's whole day number becomes its day.
    """
    if clock is not None:
        main = main.mask(clock.notna().to_numpy(), _bare_days(main))
        wants_clock = main.notna().to_numpy() & clock.notna().to_numpy() & ~_holds(main, has_clock)
        main = main.mask(wants_clock, main.str.cat(clock, sep=" "))
    if day is not None:
        wants_day = day.notna().to_numpy() & _holds(main, is_only_clock)
        main = main.mask(wants_day, day.str.cat(main, sep=" "))
    if zone is not None:
        wants_zone = zone.notna().to_numpy() & _holds(main, lacks_zone)
        main = main.mask(wants_zone, main.str.cat(zone, sep=" "))
    return main


def _bare_days(texts: pd.Series) -> pd.Series:
    """The days alone of texts that end in midnight or are spreadsheet day numbers; all others as they are."""
    days = {text: day for text in texts.dropna().unique() if (day := _bare_day(text)) != text}
    return texts.replace(days) if days else texts


def _bare_day(text: str) -> str:
    if not is_serial(text):
        return _MIDNIGHT.sub("", text)
    written = split_time(text)
    if isinstance(written, Misread) or written.clock is not None:
        return text
    return date(written.year, written.month, written.day).isoformat()


def _holds(texts: pd.Series, is_so: Callable[[str], bool]) -> NDArray[np.bool_]:
    """Ask once for each distinct text; a blank is False."""
    so = [text for text in texts.dropna().unique() if is_so(text)]
    return texts.isin(so).to_numpy(dtype=bool)
