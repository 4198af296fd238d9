"""Times of whole columns at once: the few forms that most files use, each agreeing with reading cell by cell."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Sequence
    from zoneinfo import ZoneInfo

    from roadwatch.records.dates import Order

_ISO = ("%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M")
_CLOCKS = ("%H:%M", "%H:%M:%S", "%I:%M %p", "%I:%M:%S %p")
_DAYS: dict[Order | None, str] = {"month first": "%m/%d/%Y", "day first": "%d/%m/%Y"}

FEWEST_AT_ONCE = 100
"""Fewer distinct times are read one by one."""


def local_times(texts: Sequence[str], *, zone: ZoneInfo, order: Order | None) -> dict[str, str]:
    """
    Read those of many times that have a common form and can be read in one way only.

    Parameters
    ----------
    texts
        Distinct cells of a column of times.
    zone
        Timezone of the season.
    order
        Order of day and month in this file.

    Returns
    -------
    Text to ISO 8601 text with offset. What is not here is left to reading one by one: other forms, days without a time,
    times with an offset, and hours that the clock skips or shows twice.
    """
    found: dict[str, str] = {}
    if len(texts) < FEWEST_AT_ONCE:
        return found
    rest = pd.Series(texts, dtype=object)
    rest = rest[rest.str.len() <= 22]
    days = f"{_DAYS[order]} " if order in _DAYS else ""
    for form in (*_ISO, *((days + clock for clock in _CLOCKS) if days else ())):
        if len(rest) < FEWEST_AT_ONCE:
            break
        moments = pd.to_datetime(rest, format=form, errors="coerce").astype("datetime64[s]")
        local = moments.dt.tz_localize(zone, ambiguous="NaT", nonexistent="NaT")
        is_read = local.notna()
        found |= dict(zip(rest[is_read], _iso(moments[is_read], local[is_read]), strict=True))
        rest = rest[moments.isna()]
    return found


def _iso(moments: pd.Series, local: pd.Series) -> list[str]:
    """ISO text of (n,) local times, the offset written once for each of the few there are."""
    naive = moments.to_numpy().astype("datetime64[s]")
    behind = naive - local.dt.tz_convert(None).to_numpy().astype("datetime64[s]")
    codes, offsets = pd.factorize(behind.astype(np.int64))
    endings = np.array([_offset_text(int(seconds)) for seconds in offsets], dtype=object)
    texts = np.datetime_as_string(naive, unit="s").astype(object)
    return list(texts + endings[codes]) if len(texts) else []


def _offset_text(seconds: int) -> str:
    sign, size = ("-" if seconds < 0 else "+"), abs(seconds)
    minutes, rest = divmod(size, 60)
    return f"{sign}{minutes // 60:02}:{minutes % 60:02}" + (f":{rest:02}" if rest else "")
