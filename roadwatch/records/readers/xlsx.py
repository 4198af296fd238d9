"""XLSX workbooks: every sheet a table, dates by the workbook's own calendar, formulas by their stored values."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING
from xml.etree.ElementTree import ParseError
from xml.parsers.expat import ExpatError

from defusedxml.common import DefusedXmlException

from roadwatch.records.readers.archives import BROKEN_ZIP, damaged_archive, opened_archive
from roadwatch.records.readers.content import name_of
from roadwatch.records.readers.office_parts import look_over
from roadwatch.records.readers.sheets import ERROR_VALUES, Sheet, cell_text, tables_of
from roadwatch.records.readers.wording import unfit
from roadwatch.records.readers.xlsx_book import look_into_book
from roadwatch.records.readers.xlsx_scan import ScannedXlsx, TooLargeError, scan_xlsx

if TYPE_CHECKING:
    from pathlib import Path

    from python_calamine import CalamineWorkbook, SheetMetadata

    from roadwatch.records.tables import RawTable

_CELL_PARTS = ("xl/worksheets/", "xl/sharedStrings")
_BROKEN = (
    *BROKEN_ZIP,
    ParseError,
    ExpatError,
    DefusedXmlException,
    ArithmeticError,
    LookupError,
    TypeError,
    MemoryError,
)
"""What looking into a workbook can raise that breaks the rules of its format."""


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
    scanned, is_1904 = _scan(path, source=source)
    return tables_of(
        _read_sheets(path, scanned, is_1904=is_1904, source=source), source=source, form="XLSX spreadsheet"
    )


def _scan(path: Path, *, source: str) -> tuple[dict[str, ScannedXlsx], bool]:
    """What each sheet holds beside its values, and whether the workbook counts days from 1904."""
    with opened_archive(path) as archive:
        looked_over = look_over(archive, form="xlsx", cells_in=_CELL_PARTS, source=source)
        try:
            book = look_into_book(archive)
            scanned = {}
            for name, part in book.parts.items():
                if part in looked_over and "worksheets/" in part:
                    with archive.open(part) as opened:
                        scanned[name] = scan_xlsx(opened, clock_styles=book.clock_styles)
        except TooLargeError as error:
            raise unfit(
                source,
                found=str(error),
                expected="what one workbook of records holds",
                cure="clear the cells far from the table, or copy the records alone into a new workbook",
            ) from error
        except _BROKEN as error:
            raise damaged_archive(source, error) from error
    return scanned, book.is_1904


def _read_sheets(path: Path, scanned: dict[str, ScannedXlsx], *, is_1904: bool, source: str) -> list[Sheet]:
    import python_calamine as calamine

    failures = (calamine.CalamineError, calamine.PasswordError, calamine.XmlError, calamine.ZipError)
    try:
        with calamine.CalamineWorkbook.from_path(path) as book:
            return [
                _read_sheet(book, sheet, scanned[sheet.name], is_1904=is_1904)
                for sheet in book.sheets_metadata
                if sheet.name in scanned
            ]
    except (*_BROKEN, *failures) as error:
        raise damaged_archive(source, error) from error


def _read_sheet(book: CalamineWorkbook, told: SheetMetadata, scanned: ScannedXlsx, *, is_1904: bool) -> Sheet:
    sheet = Sheet(told.name, is_1904=is_1904)
    if str(told.visible) != "SheetVisibleEnum.Visible":
        sheet.notes.append("the sheet is hidden in the workbook")
    sheet.lost |= {place: (formula, _UNCALCULATED) for place, formula in scanned.uncalculated.items()}
    sheet.lost |= {place: _error(shown) for place, shown in scanned.errors.items()}
    opened = book.get_sheet_by_name(told.name)
    first = (opened.start or (0, 0))[1] + 1
    for number, cells in enumerate(opened.iter_rows(), start=1):
        texts = [_text(cell, (number, at), sheet, scanned) for at, cell in enumerate(cells, start=first)]
        sheet.add(number, [None] * (first - 1) + texts)
    sheet.fill_down(scanned.merged)
    return sheet


def _text(value: object, place: tuple[int, int], sheet: Sheet, scanned: ScannedXlsx) -> str | None:
    if value == "":
        return None
    if isinstance(value, str) and value in ERROR_VALUES:
        sheet.lost[place] = _error(value)
        return None
    if type(value) is date and place in scanned.clocks:
        return f"{value.isoformat()}T00:00:00"
    return cell_text(value)


def _error(shown: str) -> tuple[str, str]:
    return shown, f"shows the error {shown}, taken as blank; mend it in the sheet"


_UNCALCULATED = (
    "is a formula without a stored value, taken as blank; "
    "open the workbook in a spreadsheet program, let it calculate, and save it again"
)
