"""Merged cells, formulas, errors and size in the XML of a sheet, form after ECMA-376, part 1, 18.3."""

import io
from xml.parsers.expat import ExpatError

import pytest

from roadwatch.records.readers.limits import LAST_ROW, MOST_DENSE_CELLS
from roadwatch.records.readers.xlsx_scan import TooLargeError, scan_xlsx

SPACE = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'


def scan(rows, after="", before="", **options):
    xml = f"{before}<worksheet {SPACE}><sheetData>{rows}</sheetData>{after}</worksheet>"
    return scan_xlsx(io.BytesIO(xml.encode()), **options)


@pytest.mark.parametrize(
    ("cell", "is_uncalculated"),
    [
        ("<c r='B3'><f>A1+1</f></c>", True),
        ("<c r='B3'><f>A1+1</f><v/></c>", True),
        ("<c r='B3'><f>A1+1</f><v>2</v></c>", False),
        ("<c r='B3'><v>2</v><f>A1+1</f></c>", True),
        ("<c r='B3' t='str'><f>\"\"</f><v></v></c>", False),
        ("<c r='B3'><v/></c>", False),
    ],
)
def test_a_formula_counts_as_uncalculated_where_no_value_is_stored_after_it(cell, is_uncalculated):
    assert scan(f"<row r='3'>{cell}</row>").uncalculated == ({(3, 2): "=A1+1"} if is_uncalculated else {})


def test_rows_and_cells_without_address_are_counted():
    assert scan("<row/><row><c/><c><f>X</f></c></row>").uncalculated == {(2, 2): "=X"}


def test_a_shared_formula_is_not_worked_out():
    found = scan("<row r='1'><c r='A1'><f t='shared' si='0'>B1</f></c><c r='B1'><f t='shared' si='0'/></c></row>")
    assert found.uncalculated == {(1, 1): "=B1", (1, 2): "="}


def test_the_prefix_of_the_namespace_may_be_any():
    cell = "<x:row r='3'><x:c r='B3'><x:f>A1+1</x:f></x:c></x:row>"
    xml = f"<x:worksheet xmlns:x='a'><x:sheetData>{cell}</x:sheetData></x:worksheet>"
    assert scan_xlsx(io.BytesIO(xml.encode())).uncalculated == {(3, 2): "=A1+1"}


def test_a_cell_that_shows_an_error_is_told_with_what_it_shows():
    cells = "<c r='A1' t='e'><f>1/0</f><v>#DIV/0!</v></c><c r='B1' t='e'><v>#N/A</v></c><c r='C1' t='e'/>"
    found = scan(f"<row r='1'>{cells}</row>")
    assert found.errors == {(1, 1): "#DIV/0!", (1, 2): "#N/A"}
    assert found.uncalculated == {}


def test_line_ends_between_the_elements_are_no_part_of_a_formula():
    found = scan("<row r='1'>\n<c r='A1'>\n<f>1+1</f>\n</c>\n</row>\n")
    assert found.uncalculated == {(1, 1): "=1+1"}


def test_merged_cells_are_ranges_of_columns_and_rows():
    merged = "<mergeCells><mergeCell ref='A2:C4'/><mergeCell ref='D7'/></mergeCells>"
    assert scan("", merged).merged == [(1, 2, 3, 4), (4, 7, 4, 7)]


def test_cells_whose_format_shows_a_clock_are_told():
    cells = "<c r='A1' s='1'><v>1</v></c><c r='B1' s='2'><v>1</v></c><c r='C1'><v>1</v></c>"
    assert scan(f"<row r='1'>{cells}</row>", clock_styles={"2"}).clocks == {(1, 2)}


def test_the_size_is_that_of_the_cells_that_hold_something():
    rows = "<row r='2'><c r='C2'><v>1</v></c><c r='D2' t='inlineStr'><is><t>a</t></is></c><c r='ZZ900' s='4'/></row>"
    found = scan(rows)
    assert (found.last_row, found.last_column) == (2, 4)


def test_a_value_far_from_the_table_is_too_large_before_it_is_laid_out():
    assert LAST_ROW * 16 > MOST_DENSE_CELLS
    with pytest.raises(TooLargeError, match="as far as row 1048576 and column 16: more than 4000000 cells"):
        scan(f"<row r='1'><c r='P1'><v>1</v></c></row><row r='{LAST_ROW}'><c r='A{LAST_ROW}'><v>1</v></c></row>")


@pytest.mark.parametrize("address", ["1A", "A", "7", "ABCD1", "A12345678", "A1:B2", "Ä1", "A١"])
def test_an_address_that_is_none_is_refused(address):
    with pytest.raises(ValueError, match="is no address of a cell"):
        scan(f"<row r='1'><c r='{address}'><v>1</v></c></row>")


def test_broken_xml_and_document_types_are_refused():
    with pytest.raises(ExpatError, match="mismatched tag"):
        scan("<row>")
    with pytest.raises(ValueError, match="a document type is declared"):
        scan("", before="<!DOCTYPE a>")
