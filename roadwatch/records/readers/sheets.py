"""Sheets of a spreadsheet become tables: titles above the header are passed over, cells become text."""

from __future__ import annotations

import json
from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field, replace
from datetime import MAXYEAR, date, datetime, time, timedelta
from typing import TYPE_CHECKING

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers.delimited import SplitText
from roadwatch.records.readers.headed import table_of
from roadwatch.records.readers.limits import MOST_MERGED_ROWS, MOST_TABLES
from roadwatch.records.readers.numbers import number_text
from roadwatch.records.readers.serials import with_dates_of_serials
from roadwatch.records.readers.text_files import read_temperatures
from roadwatch.records.readers.wording import counted, unfit
from roadwatch.records.tables import RawTable, RowFault

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

ERROR_VALUES = frozenset(
    {"#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NULL!", "#NUM!", "#GETTING_DATA", "#SPILL!"}
)
"""What a cell shows whose formula fails (ECMA-376, part 1, 18.18.11, and the common programs)."""

Place = tuple[int, int]
"""Row and column, from 1 as the spreadsheet counts them."""


@dataclass
class Sheet:
    """
    One sheet as a format's reader gives it.

    Parameters
    ----------
    rows
        Number of each row that is not blank, and its cells from column A on.
    lost
        Cells without a usable value: what the file holds there, and why it cannot be used.
    is_1904
        Days are counted from 1904-01-01; None where the format does not count them.
    """

    name: str
    rows: list[tuple[int, list[str | None]]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    lost: dict[Place, tuple[str, str]] = field(default_factory=dict)
    is_1904: bool | None = None

    def add(self, number: int, cells: Sequence[str | None]) -> None:
        """Keep a row up to its last filled cell; a blank one is left out."""
        last = next((at for at in range(len(cells), 0, -1) if cells[at - 1]), 0)
        if last:
            self.rows.append((number, list(cells[:last])))

    def fill_down(self, ranges: Iterable[tuple[int, int, int, int]]) -> None:
        """
        Give each row the value of the merged cell that stands beside it.

        Parameters
        ----------
        ranges
            First column, first row, last column and last row of each merged cell.
        """
        numbers = [number for number, _ in self.rows]
        n_filled, budget = 0, MOST_MERGED_ROWS
        for column, top, _, bottom in ranges:
            at, end = bisect_left(numbers, top), bisect_right(numbers, bottom)
            budget -= end - at
            if budget < 0:
                self.notes.append("too many merged cells; some are read as blank below their first row")
                break
            if end - at > 1 and numbers[at] == top:
                n_filled += self._fill_column(column, at, end)
        if n_filled:
            over = "it" if n_filled == 1 else "them"
            self.notes.append(f"{counted(n_filled, 'row takes', 'rows take')} a value from a cell merged over {over}")

    def _fill_column(self, column: int, at: int, end: int) -> int:
        top = self.rows[at][1]
        value = top[column - 1] if 0 < column <= len(top) else None
        if value is None:
            return 0
        n_filled = 0
        for _, cells in self.rows[at + 1 : end]:
            cells.extend([None] * (column - len(cells)))
            if cells[column - 1] is None:
                cells[column - 1] = value
                n_filled += 1
        return n_filled


def cell_text(value: object, *, has_clock: bool = True) -> str | None:
    """
    Write a typed cell as text: numbers in their shortest exact form, dates and times in ISO 8601.

    Parameters
    ----------
    value
        Text, number, truth, date, time or span of time; None for a blank.
    has_clock
        The cell shows a time of day; a midnight that shows none is a date.

    >>> cell_text(29.0), cell_text(True), cell_text(datetime(2024, 6, 8), has_clock=False)
    ('29', 'true', '2024-06-08')
    """
    if value is None or isinstance(value, str):
        return (value or "").replace("\x00", "").strip() or None
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return number_text(value)
    return _time_text(value, has_clock=has_clock) or str(value)


def tables_of(sheets: Sequence[Sheet], *, source: str, form: str) -> list[RawTable]:
    """
    Lay out the sheets of a file; one that is empty or no table is left out, which the first table says.

    Raises
    ------
    UnfitFileError
        No sheet is a table, there are more than a book has, or its temperatures could be in two units.
    """
    if len(sheets) > MOST_TABLES:
        raise unfit(
            source, found=counted(len(sheets), "sheet"), expected=f"at most {MOST_TABLES}", cure="save those meant"
        )
    tables: list[RawTable] = []
    left_out: list[str] = []
    refusals: list[UnfitFileError] = []
    for sheet in sheets:
        if not sheet.rows:
            left_out.append(f"sheet {sheet.name} is empty")
            continue
        try:
            tables.append(_table(sheet, source=f"{source}, sheet {sheet.name}", form=form))
        except UnfitFileError as error:
            refusals.append(error)
            left_out.append(
                f"sheet {sheet.name} left out: {str(error).removeprefix(f'{source}, sheet {sheet.name}: ')}"
            )
    if not tables:
        raise refusals[0] if refusals else _empty(source, len(sheets))
    return [replace(tables[0], notes=(*tables[0].notes, *left_out)), *tables[1:]]


def _table(sheet: Sheet, *, source: str, form: str) -> RawTable:
    split = SplitText(source, ",", short_rows_are_said=False, notes=[f"format: {form}", *sheet.notes])
    split.row_word, split.cure_of_long_rows = "row", "name the column above the last cells, or clear them"
    for number, cells in sheet.rows:
        split.records.append(cells)
        split.lines.append(number)
        split.originals.append(json.dumps(cells, ensure_ascii=False))
    table = table_of(split)
    names = [str(name) for name in table.rows]
    originals = [_original(names, row) for row in table.rows.itertuples(index=False, name=None)]
    told = replace(table, originals=originals, faults=(*table.faults, *_lost_cells(sheet, table, originals)))
    return read_temperatures(told if sheet.is_1904 is None else with_dates_of_serials(told, is_1904=sheet.is_1904))


def _original(names: Sequence[str], row: Sequence[str | None]) -> str:
    """The filled cells of a row as one line of JSON."""
    return json.dumps({name: cell for name, cell in zip(names, row, strict=True) if cell}, ensure_ascii=False)


def _lost_cells(sheet: Sheet, table: RawTable, originals: Sequence[str]) -> list[RowFault]:
    """A note for each lost cell of a kept row; a row that has nothing else is held back."""
    original_of: Mapping[int, str] = dict(zip(table.lines.tolist(), originals, strict=True))
    told_already = {fault.line for fault in table.faults}
    first = min(original_of, default=0)
    return [
        RowFault(
            source=table.source,
            line=row,
            original=original_of.get(row, json.dumps({column_letters(column): found[:200]}, ensure_ascii=False)),
            column=column_letters(column),
            found=found[:60],
            reason=f"cell {column_letters(column)}{row} {why}",
            severity="note" if row in original_of else "hold back",
        )
        for (row, column), (found, why) in sorted(sheet.lost.items())
        if row in original_of or (row > first and row not in told_already)
    ]


def column_letters(column: int) -> str:
    """
    Name a column as a spreadsheet does.

    >>> column_letters(1), column_letters(28)
    ('A', 'AB')
    """
    letters = ""
    while column > 0:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def _time_text(value: object, *, has_clock: bool) -> str | None:
    if isinstance(value, datetime):
        half = timedelta(microseconds=500_000 if value.year < MAXYEAR else 0)
        rounded = (value + half).replace(microsecond=0)
        return rounded.isoformat() if has_clock or rounded.time() != time() else rounded.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return value.replace(microsecond=0).isoformat()
    if isinstance(value, timedelta):
        minutes, seconds = divmod(round(value.total_seconds()), 60)
        return f"{minutes // 60:02d}:{minutes % 60:02d}:{seconds:02d}"
    return None


def _empty(source: str, n_sheets: int) -> UnfitFileError:
    return unfit(
        source,
        found="one sheet, which is empty" if n_sheets == 1 else f"{n_sheets} sheets, all of them empty",
        expected="a sheet with a header and rows",
        cure="save the spreadsheet again with its records",
    )
