"""A header and the rows under it become a table; rows that do not fit are held back or said."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.columns import match_columns
from roadwatch.records.fields import KINDS
from roadwatch.records.readers.limits import LONGEST_NAME, MOST_COLUMNS, MOST_PADDED_CELLS, MOST_PADDED_TIMES
from roadwatch.records.readers.separators import has_decimal_comma
from roadwatch.records.readers.wording import counted, line_list, unfit
from roadwatch.records.tables import RawTable, RowFault

if TYPE_CHECKING:
    from collections.abc import Collection

    from roadwatch.records.readers.delimited import SplitText

_HEADER_WITHIN_ROWS = 30
_LONGEST_VALUE = 60
_DATE_OR_DECIMAL = re.compile(r"\d{1,4}([-/.])\d{1,2}\1\d{1,4}([T\s].*)?|[+-]?\d+[.,]\d+")
_VALUE = re.compile(r"[+-]?[\d.,:/\-\sTZ]*\d[\d.,:/\-\sTZ]*")


def table_of(split: SplitText) -> RawTable:
    """
    Find the header of a cut text and lay the rows under it.

    Raises
    ------
    UnfitFileError
        There is no header, or no row under it.
    """
    header_at = _find_header(split)
    notes = list(split.notes)
    if header_at:
        before = "; ".join(split.originals[:header_at])[:200]
        notes.append(f"header on {split.row_word} {split.lines[header_at]}, after: {before}")
    header = split.records[header_at]
    refuse_odd_columns(header, source=split.source)
    _refuse_padding(split, len(header), header_at)
    names = _column_names(header, notes)
    rows, kept, faults = _fit_rows(split, len(names), header_at + 1, notes)
    named = [name for name in names if name]
    columns = {
        name or f"column {at + 1}": [row[at] for row in rows]
        for at, name in enumerate(names)
        if name or any(row[at] for row in rows)
    }
    if not rows and not faults:
        raise unfit(
            split.source,
            found=f"a header ({', '.join(named)[:80]}) and no rows",
            expected="at least one row",
            cure="fill in the rows, or leave the file out",
        )
    comma = _may_hold_commas(split) and has_decimal_comma(columns.values())
    if comma:
        notes.append("numbers are written with a decimal comma")
    return RawTable(
        source=split.source,
        rows=pd.DataFrame({name: pd.Series(cells, dtype=object) for name, cells in columns.items()}),
        lines=np.asarray([split.lines[at] for at in kept], dtype=np.int64),
        originals=[split.originals[at] for at in kept],
        notes=tuple(notes),
        faults=(*split.faults, *faults),
        decimal_comma=comma,
    )


def refuse_odd_columns(names: Collection[str | None], *, source: str) -> None:
    """
    Refuse a table with more columns, or longer names of columns, than tables have.

    Raises
    ------
    UnfitFileError
        A limit is passed.
    """
    longest = max((len(name) for name in names if name), default=0)
    if len(names) > MOST_COLUMNS or longest > LONGEST_NAME:
        raise unfit(
            source,
            found=f"{counted(len(names), 'column')}, one with a name of {longest} characters",
            expected=f"at most {MOST_COLUMNS} columns with names of at most {LONGEST_NAME} characters",
            cure="check that the first line holds the names of the columns and that lines end where rows end",
        )


def _refuse_padding(split: SplitText, width: int, header_at: int) -> None:
    """Rows of a few letters must not become a table of millions of blanks."""
    n_padded = width * (len(split.records) - header_at)
    if n_padded > max(MOST_PADDED_CELLS, MOST_PADDED_TIMES * sum(map(len, split.records))):
        raise unfit(
            split.source,
            found=f"{counted(len(split.records), 'row')}, most of them far shorter than the header of {width} columns",
            expected="rows as long as the header",
            cure="check that the first line holds the names of the columns",
        )


def _find_header(split: SplitText) -> int:
    """The first row that fills at least half of the usual width; title lines come before it."""
    widths = Counter(len(record) for record in split.records[:500])
    usual = max(widths.items(), key=lambda item: (item[1], item[0]))[0] if widths else 0
    for at, record in enumerate(split.records[:_HEADER_WITHIN_ROWS]):
        filled = [cell for cell in record if cell]
        if len(filled) >= max(2, usual / 2):
            if _is_of_values(filled):
                break
            return at
    found = "values where the column names should stand" if usual > 1 else "no row of two cells or more"
    raise unfit(
        split.source,
        found=found,
        expected="a header",
        cure=f"put the names of the columns in {split.row_word} 1",
    )


def _is_of_values(filled: list[str]) -> bool:
    """A row of nothing but values, or of more days and decimal numbers than names that are known, is no header."""
    short = [cell for cell in filled if len(cell) <= _LONGEST_VALUE]
    n_values = sum(_DATE_OR_DECIMAL.fullmatch(cell) is not None for cell in short)
    if n_values and n_values >= max(len(match_columns(list(dict.fromkeys(short)), kind)) for kind in KINDS):
        return True
    return len(short) == len(filled) and all(_VALUE.fullmatch(cell) for cell in filled)


def _column_names(header: list[str | None], notes: list[str]) -> list[str | None]:
    names: list[str | None] = []
    for cell in header:
        name, copy = cell and " ".join(cell.split()), 1
        while name and name in names:
            copy += 1
            name = f"{cell} ({copy})"
        if copy > 1:
            notes.append(f"column {cell} stands more than once; the later one is called {name}")
        names.append(name)
    return names


def _fit_rows(
    split: SplitText, width: int, first: int, notes: list[str]
) -> tuple[list[list[str | None]], list[int], list[RowFault]]:
    """Pad short rows, trim blank ends, hold back rows with more cells than the header names."""
    rows: list[list[str | None]] = []
    kept: list[int] = []
    short: list[int] = []
    faults: list[RowFault] = []
    for at in range(first, len(split.records)):
        row = split.records[at]
        if len(row) > width:
            if any(row[width:]):
                faults.append(_too_long(split, at, width))
                continue
            row = row[:width]
        elif len(row) < width:
            short.append(at)
            row = row + [None] * (width - len(row))
        rows.append(row)
        kept.append(at)
    if short == [len(split.records) - 1] and not split.ends_with_newline and len(kept) > 1:
        faults.append(_cut_short(split, short[0], width))
        return rows[:-1], kept[:-1], faults
    if short and split.short_rows_are_said:
        notes.append(f"fewer than {width} cells on {line_list([split.lines[at] for at in short])}; the rest is blank")
    return rows, kept, faults


def _too_long(split: SplitText, at: int, width: int) -> RowFault:
    cells = counted(len(split.records[at]), "cell")
    return RowFault(
        source=split.source,
        line=split.lines[at],
        original=split.originals[at],
        column="",
        found=cells,
        reason=f"{cells} where the header names {width}; {split.cure_of_long_rows}",
    )


def _cut_short(split: SplitText, at: int, width: int) -> RowFault:
    n_cells = len(split.records[at])
    return RowFault(
        source=split.source,
        line=split.lines[at],
        original=split.originals[at],
        column="",
        found=counted(n_cells, "cell"),
        reason=f"the file ends inside this row, after {n_cells} of {width} cells; copy or export the file again",
    )


def _may_hold_commas(split: SplitText) -> bool:
    return split.separator != "," or any('"' in original for original in split.originals[:200])
