"""Times as loggers write them: two-digit years, either order of day and month, 12-hour clocks."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Instants = NDArray[np.datetime64]

_FORM = (
    r"^(?P<first>\d{1,4})[-/.](?P<second>\d{1,2})[-/.](?P<third>\d{1,4})"
    r"[T,\s]*(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<seconds>\d{2})(?:[.,]\d+)?)?"
    r"\s*(?P<half>[AaPp])?\.?(?:[Mm]\.?)?\s*(?P<offset>Z|[+-]\d{2}:?\d{2})?$"
)
_OFFSET_IN_NAME = re.compile(r"(?:GMT|UTC)\s*([+-])(\d{1,2}):?(\d{2})?", re.IGNORECASE)


@dataclass(frozen=True)
class ClockReadings:
    """
    The times of a series.

    Parameters
    ----------
    local
        (n,) Time on the logger's clock; NaT where a cell has no known form.
    offsets
        (n,) Offset as written after each time, blank where there is none.
    order
        What was taken: "year first", "month first" or "day first".
    """

    local: Instants
    offsets: NDArray[np.object_]
    order: str


def read_clock(cells: pd.Series) -> ClockReadings | None:
    """
    Read a column of times in their order.

    Day and month are told apart by a number above 12, else by which order makes the series step evenly onward.

    Returns
    -------
    The readings, or None where both orders are possible.
    """
    parts = cells.astype("string").str.strip().str.extract(_FORM)
    offsets = parts["offset"].fillna("").astype(object).to_numpy()
    first, second, third = (
        pd.to_numeric(parts[name], errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
        for name in ("first", "second", "third")
    )
    time_of_day = _time_of_day(parts)
    if np.nanmax(first, initial=0) > 31:
        return ClockReadings(_instants(first, second, third, time_of_day), offsets, "year first")
    years = np.where(third < 100, np.where(third < 69, third + 2000, third + 1900), third)
    month_first = _instants(years, first, second, time_of_day)
    day_first = _instants(years, second, first, time_of_day)
    chosen = _choose(month_first, day_first)
    if chosen is None:
        return None
    return ClockReadings(month_first if chosen == "month first" else day_first, offsets, chosen)


def offset_in_name(name: str) -> str | None:
    """
    Read the offset from UTC that a column's name states.

    >>> offset_in_name("Date Time, GMT-04:00")
    '-04:00'
    """
    found = _OFFSET_IN_NAME.search(name)
    return f"{found.group(1)}{int(found.group(2)):02d}:{found.group(3) or '00'}" if found else None


def iso_texts(readings: ClockReadings, cells: pd.Series, *, offset: str | None) -> list[str | None]:
    """Times as ISO 8601 text, with an offset where one is known; a cell of unknown form stays as written."""
    texts = np.datetime_as_string(readings.local.astype("datetime64[s]"))
    return [
        (cell if isinstance(cell, str) else None) if text == "NaT" else f"{text}{own or offset or ''}"
        for text, own, cell in zip(texts.tolist(), readings.offsets, cells, strict=True)
    ]


def _time_of_day(parts: pd.DataFrame) -> NDArray[np.float64]:
    """Seconds after midnight; 24:00 is the midnight that follows."""
    hour, minute, seconds = (
        pd.to_numeric(parts[name], errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
        for name in ("hour", "minute", "seconds")
    )
    half = parts["half"].str.upper().fillna("").to_numpy(dtype=object)
    wrong = ((half != "") & ((hour < 1) | (hour > 12))) | (hour > 24) | (minute > 59)
    hour = np.where(half == "P", hour % 12 + 12, np.where(half == "A", hour % 12, hour))
    return np.where(wrong, np.nan, hour * 3600 + minute * 60 + np.nan_to_num(seconds))


def _instants(
    year: NDArray[np.float64], month: NDArray[np.float64], day: NDArray[np.float64], time_of_day: NDArray[np.float64]
) -> Instants:
    dates = pd.to_datetime(pd.DataFrame({"year": year, "month": month, "day": day}), errors="coerce")
    return np.asarray((dates + pd.to_timedelta(time_of_day, unit="s")).to_numpy(), dtype="datetime64[ns]")


def _choose(month_first: Instants, day_first: Instants) -> str | None:
    counts = [int((~np.isnat(readings)).sum()) for readings in (month_first, day_first)]
    scores = [(count, _even_steps(readings)) for count, readings in zip(counts, (month_first, day_first), strict=True)]
    if scores[0] == scores[1]:
        return None if counts[0] and (month_first != day_first)[~np.isnat(month_first)].any() else "day first"
    return "month first" if scores[0] > scores[1] else "day first"


def _even_steps(readings: Instants) -> int:
    """How many steps have the commonest length."""
    steps = np.diff(readings[~np.isnat(readings)])
    return int(np.unique(steps, return_counts=True)[1].max()) if len(steps) else 0
