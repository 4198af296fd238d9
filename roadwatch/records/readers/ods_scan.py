"""An OpenDocument sheet looked over before it is opened: its size, cells that span rows, formulas without a value."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import IO, TYPE_CHECKING
from xml.sax.handler import ContentHandler

from defusedxml import sax as defused_sax

from roadwatch.records.readers.limits import (
    FREE_REPEATED_CELLS,
    LAST_COLUMN,
    LAST_ROW,
    MOST_DENSE_CELLS,
    MOST_REPEATED_TIMES,
    MOST_TABLES,
)

if TYPE_CHECKING:
    from xml.sax.xmlreader import AttributesImpl

    from roadwatch.records.readers.sheets import Place


class TooLargeError(Exception):
    """The sheets would become larger than the limits; the message says how."""


@dataclass
class ScannedSheet:
    """
    What one sheet holds.

    Parameters
    ----------
    last_row, last_column
        Of its filled cells.
    uncalculated, errors
        Place and text of formulas without a stored value, and of those that failed.
    merged
        First column, first row, last column and last row of cells that span rows.
    """

    name: str
    last_row: int = 0
    last_column: int = 0
    uncalculated: dict[Place, str] = field(default_factory=dict)
    errors: dict[Place, str] = field(default_factory=dict)
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)


def scan_ods(content: IO[bytes]) -> list[ScannedSheet]:
    """
    Look over the sheets of an OpenDocument file.

    Parameters
    ----------
    content
        Its ``content.xml``.

    Raises
    ------
    TooLargeError
        The sheets hold, or repeat, more cells than the limits.
    defusedxml.common.DefusedXmlException
        A document type is declared.
    xml.sax.SAXParseException
        The XML is broken.
    """
    scan = _Scan()
    defused_sax.parse(content, scan, forbid_dtd=True)
    return scan.sheets


class _Scan(ContentHandler):
    """Counts rows and cells with their repetitions (OpenDocument 1.3, part 3, 19.675 and 19.679)."""

    def __init__(self) -> None:
        super().__init__()
        self.sheets: list[ScannedSheet] = []
        self._depth_of_table = 0
        self._row = self._n_rows = self._column = self._filled_to = 0
        self._n_written = self._n_filled = self._n_in_row = 0

    def startElement(self, name: str, attrs: AttributesImpl[str]) -> None:  # noqa: N802  # the name that the parser calls
        """Take a beginning sheet, row or cell."""
        kind = name.rpartition(":")[2]
        if kind == "table":
            self._depth_of_table += 1
            if self._depth_of_table == 1:
                if len(self.sheets) == MOST_TABLES:
                    raise TooLargeError(f"more than {MOST_TABLES} sheets")
                self.sheets.append(ScannedSheet(_local(attrs, "name") or f"{len(self.sheets) + 1}"))
                self._row = self._n_rows = 0
        elif self._depth_of_table == 1 and kind == "table-row":
            self._row += self._n_rows
            self._n_rows = _count(_local(attrs, "number-rows-repeated"))
            self._column = self._filled_to = self._n_in_row = 0
        elif self._depth_of_table == 1 and kind in ("table-cell", "covered-table-cell"):
            self._take_cell(attrs)

    def endElement(self, name: str) -> None:  # noqa: N802  # the name that the parser calls
        """Take the end of a sheet or row."""
        kind = name.rpartition(":")[2]
        if kind == "table":
            self._depth_of_table -= 1
        elif kind == "table-row" and self._depth_of_table == 1:
            self._end_row()

    def _take_cell(self, attrs: AttributesImpl[str]) -> None:
        repeated = _count(_local(attrs, "number-columns-repeated"))
        formula, value_type = _local(attrs, "formula"), _local(attrs, "value-type")
        place = (self._row + 1, self._column + 1)
        if formula and not value_type:
            self.sheets[-1].uncalculated[place] = formula
        elif attrs.get("calcext:value-type") == "error":
            self.sheets[-1].errors[place] = formula or "error"
        if formula or value_type:
            self._filled_to = self._column + repeated
            self._n_written += 1
            self._n_in_row += repeated
        rows = _count(_local(attrs, "number-rows-spanned"))
        if rows > 1:
            left, top = self._column + 1, self._row + 1
            self.sheets[-1].merged.append((left, top, left, top + rows - 1))
        self._column += repeated

    def _end_row(self) -> None:
        if not self._filled_to:
            return
        sheet = self.sheets[-1]
        sheet.last_row = self._row + self._n_rows
        sheet.last_column = max(sheet.last_column, self._filled_to)
        self._n_filled += self._n_in_row * self._n_rows
        if sheet.last_row > LAST_ROW or sheet.last_column > LAST_COLUMN:
            raise TooLargeError(f"cells beyond row {LAST_ROW} or column {LAST_COLUMN}")
        if sum(one.last_row * one.last_column for one in self.sheets) > MOST_DENSE_CELLS:
            raise TooLargeError(f"more than {MOST_DENSE_CELLS} cells in all sheets, blanks included")
        if self._n_filled > max(FREE_REPEATED_CELLS, MOST_REPEATED_TIMES * self._n_written):
            raise TooLargeError(f"{self._n_filled} filled cells repeated from {self._n_written}")


def _local(attrs: AttributesImpl[str], name: str) -> str | None:
    """An attribute of a table or cell, whatever prefix its namespace has."""
    for prefix in ("table:", "office:"):
        if prefix + name in attrs:
            return attrs[prefix + name]
    return None


def _count(text: str | None) -> int:
    """A repetition; what is no number counts once, as the reader that follows takes it."""
    return max(1, int(text)) if text and text.isdecimal() and len(text) < 12 else 1
