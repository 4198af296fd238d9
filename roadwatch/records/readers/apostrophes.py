"""Cells that a spreadsheet would compute: an apostrophe is put before them in CSV and taken off when they come back."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from roadwatch.records.tables import RawTable

MARK, TEAM_MARK = "access", "team only"
"""Column, and what stands in it in every row of a file that was written for the team."""

_LIVE = re.compile(r"['\s\x00-\x1f\ufeff]*[=+\-@\uff1d\uff0b\uff0d\uff20|%]")
"""Apostrophes before such a character count too: one that somebody wrote must not be taken for ours."""

_NUMBER = re.compile(r"\s*[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*")


def with_apostrophe(text: str) -> str:
    r"""
    Put an apostrophe before text that a spreadsheet would take for a formula; numbers stay as they are.

    >>> with_apostrophe("=1+1"), with_apostrophe("-82.3"), with_apostrophe("'=1+1"), with_apostrophe("'tis")
    ("'=1+1", '-82.3', "''=1+1", "'tis")
    """
    return "'" + text if _LIVE.match(text) and not _NUMBER.fullmatch(text) else text


def without_apostrophe(text: str) -> str:
    r"""
    Take off what :func:`with_apostrophe` put there, for any text, and nothing else.

    >>> without_apostrophe("'=1+1"), without_apostrophe("''=1+1"), without_apostrophe("'tis"), without_apostrophe("-1")
    ('=1+1', "'=1+1", "'tis", '-1')
    """
    return text[1:] if text.startswith("'") and _LIVE.match(text[1:]) else text


def as_written_by_us(table: RawTable) -> RawTable:
    """
    Take our apostrophes off the rows that a file for the team holds; everybody else's stay as they are.

    Parameters
    ----------
    table
        Rows of a text file.

    Returns
    -------
    The table, with the original of each row untouched.
    """
    if MARK not in table.rows:
        return table
    ours = table.rows[MARK] == TEAM_MARK
    if not ours.any():
        return table
    rows = table.rows.rename(columns=without_apostrophe)
    return replace(table, rows=rows.apply(lambda cells: _bare(cells).where(ours, cells)))


def _bare(cells: pd.Series) -> pd.Series:
    return cells.map(without_apostrophe, na_action="ignore").astype(object).where(cells.notna(), None)
