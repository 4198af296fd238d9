"""Days that a spreadsheet holds as plain numbers, by the calendar of its own workbook."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.records.readers.numbers import as_numbers

if TYPE_CHECKING:
    from roadwatch.records.tables import RawTable

_DAY_WORDS = frozenset({"date", "day", "when", "found", "laid", "seen", "observed", "checked", "time", "at", "on"})
_FIRST, _LAST = 35_064, 71_588
"""Numbers of 2000-01-01 and 2099-12-31 counted from 1904-01-01 ..."""
_LATER = 1_462
"""... and so many more in the usual calendar (ECMA-376, 18.17.4.1)."""


def with_dates_of_serials(table: RawTable, *, is_1904: bool) -> RawTable:
    """
    Write as dates the plain numbers of columns that are days by their name and by all their numbers.

    A column often holds days of both kinds, because some cells lost their format. Read by the usual calendar the days
    of a workbook that counts from 1904-01-01 would lie four years early.

    Source
    ------
    ecma376
    """
    rows, notes = table.rows.copy(), []
    first, last = (_FIRST, _LAST) if is_1904 else (_FIRST + _LATER, _LAST + _LATER)
    for name in rows:
        values = as_numbers(rows[name])
        numbers = values[pd.notna(values)]
        is_day = bool(_DAY_WORDS & set(re.findall(r"[a-z]+", str(name).lower())))
        if is_day and len(numbers) and (numbers >= first).all() and (numbers < last + 1).all():
            texts = [
                cell if pd.isna(value) else _iso(value, is_1904=is_1904)
                for cell, value in zip(rows[name], values, strict=True)
            ]
            rows[name] = pd.Series(texts, dtype=object)
            since = " since 1904-01-01" if is_1904 else ""
            notes.append(f"numbers in column {name} are days{since}, by the workbook's own calendar")
    return replace(table, rows=rows, notes=(*table.notes, *notes)) if notes else table


def _iso(value: float, *, is_1904: bool) -> str:
    from openpyxl.utils.datetime import MAC_EPOCH, WINDOWS_EPOCH, from_excel

    moment = from_excel(value, MAC_EPOCH if is_1904 else WINDOWS_EPOCH)
    assert isinstance(moment, datetime)
    moment = moment.replace(microsecond=0)
    return moment.date().isoformat() if value == int(value) else moment.isoformat()
