"""OpenDocument spreadsheets: every sheet a table."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.sax import SAXException

from defusedxml.common import DefusedXmlException

from roadwatch.records.readers.archives import damaged_archive, opened_archive
from roadwatch.records.readers.content import name_of
from roadwatch.records.readers.ods_scan import ScannedSheet, TooLargeError, scan_ods
from roadwatch.records.readers.office_parts import look_over
from roadwatch.records.readers.sheets import Sheet, cell_text, tables_of
from roadwatch.records.readers.wording import unfit

if TYPE_CHECKING:
    from pathlib import Path

    from python_calamine import CalamineWorkbook

    from roadwatch.records.tables import RawTable

_UNCALCULATED = (
    "is a formula without a stored value, taken as blank; "
    "open the file in a spreadsheet program, let it calculate, and save it again"
)
_BROKEN = (OSError, ValueError, LookupError, ArithmeticError, TypeError)
"""What the library raises beside errors of its own."""
_FAILED = "is a formula that shows an error, taken as blank; mend it in the sheet"


def read_ods(path: Path) -> list[RawTable]:
    """
    Read every sheet of an OpenDocument spreadsheet that holds a table; lines are the sheet's row numbers.

    Raises
    ------
    UnfitFileError
        The file is damaged, locked by a password or made to harm, or none of its sheets is a table.

    Source
    ------
    opendocument13
    """
    source = name_of(path)
    sheets = _read_sheets(path, _scan(path, source=source), source=source)
    return tables_of(sheets, source=source, form="OpenDocument spreadsheet")


def _scan(path: Path, *, source: str) -> dict[str, ScannedSheet]:
    with opened_archive(path) as archive:
        look_over(archive, form="ods", cells_in=("content.xml",), source=source)
        if "META-INF/manifest.xml" in archive.namelist() and b"encryption-data" in archive.read(
            "META-INF/manifest.xml"
        ):
            raise unfit(source, found="a password", expected="an open file", cure="save it without a password")
        try:
            with archive.open("content.xml") as content:
                return {sheet.name: sheet for sheet in scan_ods(content)}
        except TooLargeError as error:
            raise unfit(
                source,
                found=str(error),
                expected="the cells of the records alone",
                cure="copy the records into a new spreadsheet, or save each sheet as CSV (UTF-8)",
            ) from error
        except (SAXException, DefusedXmlException, LookupError) as error:
            raise damaged_archive(source, error) from error


def _read_sheets(path: Path, scanned: dict[str, ScannedSheet], *, source: str) -> list[Sheet]:
    import python_calamine as calamine

    try:
        with calamine.CalamineWorkbook.from_path(path) as book:
            return [_read_sheet(book, scanned.get(name) or ScannedSheet(name)) for name in book.sheet_names]
    except (*_BROKEN, calamine.CalamineError, calamine.PasswordError, calamine.XmlError, calamine.ZipError) as error:
        raise damaged_archive(source, error) from error


def _read_sheet(book: CalamineWorkbook, scanned: ScannedSheet) -> Sheet:
    sheet = Sheet(scanned.name)
    sheet.lost |= {place: (text, _UNCALCULATED) for place, text in scanned.uncalculated.items()}
    sheet.lost |= {place: (text, _FAILED) for place, text in scanned.errors.items()}
    opened = book.get_sheet_by_name(scanned.name)
    first = (opened.start or (0, 0))[1] + 1
    for number, cells in enumerate(opened.iter_rows(), start=1):
        texts = [None if (number, at) in sheet.lost else cell_text(cell) for at, cell in enumerate(cells, start=first)]
        sheet.add(number, [None] * (first - 1) + texts)
    sheet.fill_down(scanned.merged)
    return sheet
