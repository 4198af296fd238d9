"""What openpyxl does not tell of a sheet read row by row: merged cells, and formulas without a stored value."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import IO, TYPE_CHECKING

from defusedxml.ElementTree import iterparse
from openpyxl.utils import range_boundaries
from openpyxl.utils.cell import coordinate_to_tuple

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from roadwatch.records.readers.sheets import Place


@dataclass
class ScannedXlsx:
    """
    What one sheet holds beside its values.

    Parameters
    ----------
    uncalculated
        Place and text of formulas without a stored value.
    merged
        First column, first row, last column and last row of merged cells.
    """

    uncalculated: dict[Place, str] = field(default_factory=dict)
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)


def scan_xlsx(sheet: IO[bytes]) -> ScannedXlsx:
    """
    Look through the XML of a sheet for formulas and merged cells; formulas are not worked out.

    Raises
    ------
    xml.etree.ElementTree.ParseError
        The XML is broken.
    ValueError
        An address is no address of a sheet.
    """
    found = ScannedXlsx()
    row = 0
    for _, element in iterparse(sheet, forbid_dtd=True):
        tag = _tag(element)
        if tag == "row":
            row = int(element.get("r") or row + 1)
            _take_row(element, row, found)
            element.clear()
        elif tag == "mergeCell":
            found.merged.append(_range(element.get("ref") or ""))
    return found


def _take_row(element: Element, row: int, found: ScannedXlsx) -> None:
    column = 0
    for cell in element:
        address = cell.get("r")
        column = coordinate_to_tuple(address)[1] if address else column + 1
        parts = {_tag(part): part for part in cell}
        is_blank = "v" not in parts or (not parts["v"].text and cell.get("t") != "str")
        if "f" in parts and is_blank:
            found.uncalculated[row, column] = f"={parts['f'].text or ''}"


def _range(ref: str) -> tuple[int, int, int, int]:
    left, top, right, bottom = range_boundaries(ref)
    return left or 1, top or 1, right or left or 1, bottom or top or 1


def _tag(element: Element) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""
