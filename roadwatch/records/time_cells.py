"""Joining a date column and a time-of-day column to one text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.records.dates import has_clock, is_only_clock

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray


def joined_times(main: pd.Series, *, clock: pd.Series | None, day: pd.Series | None) -> pd.Series:
    """
    Put the hour behind a date that has none, and the day before an hour that has none.

    Parameters
    ----------
    main
        (n,) texts of the date and time column, None where blank.
    clock
        (n,) texts of the column with the time of day, where there is one.
    day
        (n,) texts of the column that gives the day of a mere time of day, where there is one.

    Returns
    -------
    (n,) texts; what needs nothing stays as it is.
    """
    if clock is not None:
        wants_clock = main.notna().to_numpy() & clock.notna().to_numpy() & ~_holds(main, has_clock)
        main = main.mask(wants_clock, main.str.cat(clock, sep=" "))
    if day is not None:
        wants_day = day.notna().to_numpy() & _holds(main, is_only_clock)
        main = main.mask(wants_day, day.str.cat(main, sep=" "))
    return main


def _holds(texts: pd.Series, is_so: Callable[[str], bool]) -> NDArray[np.bool_]:
    """Ask once for each distinct text; a blank is False."""
    so = [text for text in texts.dropna().unique() if is_so(text)]
    return texts.isin(so).to_numpy(dtype=bool)
