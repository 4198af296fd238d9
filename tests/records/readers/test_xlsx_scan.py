"""Merged cells and formulas in the XML of a sheet, form after ECMA-376, part 1, 18.3."""

import io
from xml.etree.ElementTree import ParseError

import pytest
from defusedxml.common import DTDForbidden

from roadwatch.records.readers.xlsx_scan import scan_xlsx

SPACE = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'


def scan(rows, after="", before=""):
    xml = f"{before}<worksheet {SPACE}><sheetData>{rows}</sheetData>{after}</worksheet>"
    return scan_xlsx(io.BytesIO(xml.encode()))


@pytest.mark.parametrize(
    ("cell", "is_uncalculated"),
    [
        ("<c r='B3'><f>A1+1</f></c>", True),
        ("<c r='B3'><f>A1+1</f><v/></c>", True),
        ("<c r='B3'><f>A1+1</f><v>2</v></c>", False),
        ("<c r='B3' t='str'><f>\"\"</f><v></v></c>", False),
        ("<c r='B3'><v/></c>", False),
    ],
)
def test_a_formula_counts_as_uncalculated_where_no_value_is_stored(cell, is_uncalculated):
    assert scan(f"<row r='3'>{cell}</row>").uncalculated == ({(3, 2): "=A1+1"} if is_uncalculated else {})


def test_rows_and_cells_without_address_are_counted():
    assert scan("<row/><row><c/><c><f>X</f></c></row>").uncalculated == {(2, 2): "=X"}


def test_a_shared_formula_is_not_worked_out():
    found = scan("<row r='1'><c r='A1'><f t='shared' si='0'>B1</f></c><c r='B1'><f t='shared' si='0'/></c></row>")
    assert found.uncalculated == {(1, 1): "=B1", (1, 2): "="}


def test_merged_cells_are_ranges_of_columns_and_rows():
    merged = "<mergeCells><mergeCell ref='A2:C4'/><mergeCell ref='D7'/></mergeCells>"
    assert scan("", merged).merged == [(1, 2, 3, 4), (4, 7, 4, 7)]


def test_broken_xml_and_document_types_are_refused():
    with pytest.raises(ParseError, match="mismatched tag"):
        scan("<row>")
    with pytest.raises(DTDForbidden, match="a"):
        scan("", before="<!DOCTYPE a>")
