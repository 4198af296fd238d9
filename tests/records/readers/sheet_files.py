"""Spreadsheets written with openpyxl and odfpy, writers independent of our readers; records are invented."""

from __future__ import annotations

import io
from datetime import date, datetime
from typing import TYPE_CHECKING

from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import CoveredTableCell, Table, TableCell, TableRow
from odf.text import P
from openpyxl import Workbook
from openpyxl.utils.datetime import CALENDAR_MAC_1904

if TYPE_CHECKING:
    from collections.abc import Sequence

HEADER = ["date", "latitude", "longitude", "species", "count"]
RECORDS: list[list[object]] = [
    [date(2024, 6, 8), 29.65, -82.37, "box turtle", 1],
    [datetime(2024, 6, 9, 7, 40, 1), "29.66", "-82.38", "slider", None],  # noqa: DTZ001  # a sheet has no zone
]
TITLE = [["Turtle survey 2024"], [], HEADER]


def xlsx(
    rows: Sequence[Sequence[object]] | None = None,
    *,
    sheets: dict[str, Sequence[Sequence[object]]] | None = None,
    merged: Sequence[str] = (),
    is_1904: bool = False,
    hidden: Sequence[str] = (),
) -> bytes:
    """A workbook: one sheet Crossings with a title above its header, or the sheets that are given."""
    book = Workbook()
    if is_1904:
        book.epoch = CALENDAR_MAC_1904
    del book["Sheet"]
    given = sheets or {"Crossings": [*TITLE, *RECORDS] if rows is None else rows}
    for name, cells in given.items():
        sheet = book.create_sheet(name)
        for row in cells:
            sheet.append(list(row))
        for one in merged:
            sheet.merge_cells(one)
        if name in hidden:
            sheet.sheet_state = "hidden"
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def ods(
    rows: Sequence[Sequence[object]] | None = None, *, sheets: dict[str, Sequence[Sequence[object]]] | None = None
) -> bytes:
    """An OpenDocument spreadsheet of the same shape; a cell may be an element of odfpy."""
    document = OpenDocumentSpreadsheet()
    given = sheets or {"Crossings": [*TITLE, *RECORDS] if rows is None else rows}
    for name, cells in given.items():
        table = Table(name=name)
        for row in cells:
            line = TableRow()
            for value in row:
                line.addElement(value if hasattr(value, "qname") else cell(value))
            table.addElement(line)
        document.spreadsheet.addElement(table)
    stream = io.BytesIO()
    document.save(stream)
    return stream.getvalue()


def cell(value: object, **attributes: object) -> TableCell:
    """A cell of the type of its value."""
    if value is None:
        return TableCell(**attributes)
    if isinstance(value, bool):
        made = TableCell(valuetype="boolean", booleanvalue=str(value).lower(), **attributes)
    elif isinstance(value, int | float):
        made = TableCell(valuetype="float", value=str(value), **attributes)
    elif isinstance(value, date):
        made = TableCell(valuetype="date", datevalue=value.isoformat(), **attributes)
    else:
        made = TableCell(valuetype="string", **attributes)
    made.addElement(P(text=str(value)))
    return made


def covered(n_cells: int = 1) -> CoveredTableCell:
    """Cells that lie under a merged one."""
    return CoveredTableCell(numbercolumnsrepeated=n_cells)
