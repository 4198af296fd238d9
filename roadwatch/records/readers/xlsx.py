"""XLSX workbooks: every sheet a table, dates by the workbook's own calendar, formulas by their stored values."""

from __future__ import annotations

import warnings
import zipfile
from contextlib import closing
from typing import TYPE_CHECKING, TypedDict
from xml.etree.ElementTree import ParseError

from roadwatch.records.readers.archives import BROKEN_ZIP, damaged_archive, opened_archive
from roadwatch.records.readers.content import name_of
from roadwatch.records.readers.limits import MOST_GRID_CELLS
from roadwatch.records.readers.office_parts import look_over
from roadwatch.records.readers.sheets import ERROR_VALUES, Sheet, cell_text, tables_of
from roadwatch.records.readers.wording import unfit
from roadwatch.records.readers.xlsx_scan import ScannedXlsx, scan_xlsx

if TYPE_CHECKING:
    from pathlib import Path

    from openpyxl.cell.cell import Cell, MergedCell
    from openpyxl.workbook.workbook import Workbook

    from roadwatch.records.readers.office_parts import Marks
    from roadwatch.records.tables import RawTable


class _Light(TypedDict):
    read_only: bool
    keep_links: bool


_LIGHT: _Light = {"read_only": True, "keep_links": False}
"""Rows one by one, and no word of other workbooks."""
_PART = "_worksheet_path"
"""Which part of the archive a sheet is; openpyxl tells it nowhere else."""
_CELL_PARTS = ("xl/worksheets/", "xl/sharedStrings")
_BROKEN = (
    *BROKEN_ZIP,
    ParseError,
    ArithmeticError,
    AssertionError,
    AttributeError,
    LookupError,
    TypeError,
    MemoryError,
)
"""What openpyxl raises for workbooks that break their own rules."""


def read_xlsx(path: Path) -> list[RawTable]:
    """
    Read every sheet of a workbook that holds a table; lines are the sheet's row numbers.

    Raises
    ------
    UnfitFileError
        The workbook is damaged or made to harm, or none of its sheets is a table.

    Source
    ------
    ecma376
    """
    source = name_of(path)
    with opened_archive(path) as archive:
        marks = look_over(archive, form="xlsx", cells_in=_CELL_PARTS, source=source)
    try:
        sheets = _read_sheets(path, marks)
    except _TooLargeError as error:
        raise _too_large(source, error) from error
    except _BROKEN as error:
        raise damaged_archive(source, error) from error
    return tables_of(sheets, source=source, form="XLSX spreadsheet")


class _TooLargeError(Exception):
    """The sheets hold more than the limits; the message says of what."""


def _read_sheets(path: Path, marks: Marks) -> list[Sheet]:
    from openpyxl import load_workbook

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of formats and extensions, which are not read
        with path.open("rb") as stream, closing(load_workbook(stream, data_only=True, **_LIGHT)) as book:
            names = [name for name in book.sheetnames if hasattr(book[name], "iter_rows")]
            sheets = [_read_sheet(book, name) for name in names]
            parts = {name: str(getattr(book[name], _PART)) for name in names}
        with zipfile.ZipFile(path) as archive:
            for sheet in sheets:
                if marks.get(parts[sheet.name]):
                    with archive.open(parts[sheet.name]) as opened:
                        _complete(sheet, scan_xlsx(opened))
    return sheets


def _read_sheet(book: Workbook, name: str) -> Sheet:
    opened = book[name]
    opened.reset_dimensions()
    sheet = Sheet(name, is_1904=book.epoch.year == 1904)
    if opened.sheet_state != "visible":
        sheet.notes.append("the sheet is hidden in the workbook")
    budget = MOST_GRID_CELLS
    for number, cells in enumerate(opened.iter_rows(), start=1):
        budget -= len(cells)
        if budget < 0:
            raise _TooLargeError(f"more than {MOST_GRID_CELLS} cells in one sheet, blanks included")
        if cells:
            sheet.add(number, [_text(cell, sheet) for cell in cells])
    return sheet


def _complete(sheet: Sheet, scanned: ScannedXlsx) -> None:
    for place, formula in scanned.uncalculated.items():
        sheet.lost.setdefault(place, (formula, _UNCALCULATED))
    sheet.fill_down(scanned.merged)


def _text(cell: Cell | MergedCell, sheet: Sheet) -> str | None:
    value = cell.value
    if value is None:
        return None
    if isinstance(value, str):
        if cell.data_type == "e" or value in ERROR_VALUES:
            sheet.lost[cell.row or 0, cell.column or 0] = (
                value,
                f"shows the error {value}, taken as blank; mend it in the sheet",
            )
            return None
        return cell_text(value)
    if cell.data_type != "d":
        return cell_text(value)
    return cell_text(value, has_clock="h" in cell.number_format.lower())


_UNCALCULATED = (
    "is a formula without a stored value, taken as blank; "
    "open the workbook in a spreadsheet program, let it calculate, and save it again"
)


def _too_large(source: str, error: _TooLargeError) -> Exception:
    return unfit(
        source,
        found=str(error),
        expected="what one workbook of records holds",
        cure="save each sheet as CSV (UTF-8), or copy the records alone into a new workbook",
    )
