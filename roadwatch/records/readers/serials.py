"""Days that a spreadsheet of the 1904 calendar holds as plain numbers."""

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
"""Numbers of 2000-01-01 and 2099-12-31 counted from 1904-01-01."""


def with_dates_of_1904(table: RawTable) -> RawTable:
    """
    Write as dates the plain numbers of columns that are days by their name and by all their values.

    Such a workbook counts days from 1904-01-01; read as those of the usual calendar they would lie four years early.

    Source
    ------
    ecma376
    """
    rows, notes = table.rows.copy(), []
    for name in rows:
        values = as_numbers(rows[name])
        numbers = values[pd.notna(values)]
        is_day = bool(_DAY_WORDS & set(re.findall(r"[a-z]+", str(name).lower())))
        if is_day and len(numbers) and (numbers >= _FIRST).all() and (numbers <= _LAST + 1).all():
            texts = [cell if pd.isna(value) else _iso(value) for cell, value in zip(rows[name], values, strict=True)]
            rows[name] = pd.Series(texts, dtype=object)
            notes.append(f"numbers in column {name} are days since 1904-01-01, by the workbook's own calendar")
    return replace(table, rows=rows, notes=(*table.notes, *notes))


def _iso(value: float) -> str:
    from openpyxl.utils.datetime import MAC_EPOCH, from_excel

    moment = from_excel(value, MAC_EPOCH)
    assert isinstance(moment, datetime)
    moment = moment.replace(microsecond=0)
    return moment.date().isoformat() if value == int(value) else moment.isoformat()
