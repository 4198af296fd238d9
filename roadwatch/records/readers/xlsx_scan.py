"""What a reader of values does not tell of a sheet: its size, merged cells, failed formulas, cells with a clock."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache
from typing import IO, TYPE_CHECKING
from xml.parsers import expat

from openpyxl.utils import column_index_from_string, range_boundaries

from roadwatch.records.readers.limits import MOST_DENSE_CELLS

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

    from roadwatch.records.readers.sheets import Place

_ADDRESS = re.compile(r"\$?([A-Za-z]{1,3})\$?([0-9]{1,7})")


class TooLargeError(Exception):
    """The sheet would become larger than the limits; the message says how."""


@dataclass
class ScannedXlsx:
    """
    What one sheet holds beside its values.

    Parameters
    ----------
    uncalculated, errors
        Place and text of formulas without a stored value, and of cells that show an error.
    merged
        First column, first row, last column and last row of merged cells.
    clocks
        Places whose number format shows a time of day.
    last_row, last_column
        Of the cells that hold something.
    """

    uncalculated: dict[Place, str] = field(default_factory=dict)
    errors: dict[Place, str] = field(default_factory=dict)
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)
    clocks: set[Place] = field(default_factory=set)
    last_row: int = 0
    last_column: int = 0


def scan_xlsx(sheet: IO[bytes], *, clock_styles: Collection[str] = ()) -> ScannedXlsx:
    """
    Look through the XML of a sheet; formulas are not worked out.

    Parameters
    ----------
    sheet
        The part of the archive.
    clock_styles
        Numbers of the cell formats, as text, that show a time of day.

    Raises
    ------
    xml.parsers.expat.ExpatError
        The XML is broken.
    ValueError
        An address is no address of a sheet, or a document type is declared.
    TooLargeError
        Laid out with its blanks the sheet has more cells than the limit.

    Source
    ------
    ecma376
    """
    scan = _Scan(frozenset(clock_styles))
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = scan.start
    parser.CharacterDataHandler = scan.take_text
    parser.StartDoctypeDeclHandler = _refuse_document_type
    parser.ParseFile(sheet)
    scan.end_cell()
    return scan.found


@dataclass
class _Cell:
    """The cell that is being read, once it needs a second look: its type, and the texts of its formula and value."""

    is_text: bool
    is_error: bool
    texts: dict[str, str] = field(default_factory=dict)


class _Scan:
    """Takes elements as they begin; a cell ends where the next one, a row or the sheet does."""

    def __init__(self, clock_styles: frozenset[str]) -> None:
        self.found = ScannedXlsx()
        self._clock_styles = clock_styles
        self._row = self._column = 0
        self._cell: _Cell | None = None
        self._is_text = self._is_error = False
        self._within = ""
        self._take: dict[str, Callable[[dict[str, str]], None]] = {
            "row": self._start_row,
            "c": self._start_cell,
            "f": self._start_formula,
            "v": self._start_value,
            "is": self._start_value,
            "mergeCell": self._take_merged,
        }

    def start(self, name: str, attrs: dict[str, str]) -> None:
        """Take a beginning element, whatever the prefix of its namespace."""
        self._within = ""
        take = self._take.get(name) or (self._take.get(name.rpartition(":")[2]) if ":" in name else None)
        if take is not None:
            take(attrs)

    def take_text(self, text: str) -> None:
        """Keep the text of a formula or of its value."""
        if self._within and self._cell is not None:
            self._cell.texts[self._within] += text

    def end_cell(self) -> None:
        """Tell what the cell was."""
        cell = self._cell
        if cell is None:
            return
        self._cell, place = None, (self._row, self._column)
        value, formula = cell.texts.get("v", "").strip(), cell.texts.get("f")
        if cell.is_error and value:
            self.found.errors[place] = value
        elif formula is not None and not value and not (cell.is_text and "v" in cell.texts):
            self.found.uncalculated[place] = f"={formula.strip()}"

    def _start_row(self, attrs: dict[str, str]) -> None:
        self.end_cell()
        self._row, self._column = int(attrs.get("r", self._row + 1)), 0

    def _start_cell(self, attrs: dict[str, str]) -> None:
        if self._cell is not None:
            self.end_cell()
        address = attrs.get("r")
        self._row, self._column = _place(address) if address else (self._row, self._column + 1)
        kind = attrs.get("t")
        self._is_text, self._is_error = kind == "str", kind == "e"
        if attrs.get("s") in self._clock_styles:
            self.found.clocks.add((self._row, self._column))

    def _start_value(self, _: dict[str, str]) -> None:
        found = self.found
        if self._row > found.last_row or self._column > found.last_column:
            found.last_row, found.last_column = max(found.last_row, self._row), max(found.last_column, self._column)
            if found.last_row * found.last_column > MOST_DENSE_CELLS:
                raise TooLargeError(
                    f"something written as far as row {found.last_row} and column {found.last_column}: "
                    f"more than {MOST_DENSE_CELLS} cells, blanks included"
                )
        if self._cell is not None or self._is_error:
            self._keep("v")

    def _start_formula(self, _: dict[str, str]) -> None:
        self._keep("f")

    def _keep(self, part: str) -> None:
        if self._cell is None:
            self._cell = _Cell(self._is_text, self._is_error)
        self._cell.texts.setdefault(part, "")
        self._within = part

    def _take_merged(self, attrs: dict[str, str]) -> None:
        self.end_cell()
        left, top, right, bottom = range_boundaries(attrs.get("ref") or "")
        self.found.merged.append((left or 1, top or 1, right or left or 1, bottom or top or 1))


def _place(address: str) -> Place:
    parts = _ADDRESS.fullmatch(address)
    if parts is None:
        msg = f"{address[:20]!r} is no address of a cell"
        raise ValueError(msg)
    return int(parts[2]), _column(parts[1])


@lru_cache(maxsize=1024)
def _column(letters: str) -> int:
    return column_index_from_string(letters)


def _refuse_document_type(*_: object) -> None:
    msg = "a document type is declared"
    raise ValueError(msg)
