"""Parts of a spreadsheet archive, looked over as bytes."""

import io
import zipfile

import pytest
from records.readers.fuzz_files import zip_of
from records.readers.sheet_files import ods, xlsx

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers.limits import FREE_SHEET_MB, LARGEST_PART_MB, MOST_TIMES_PACKED
from roadwatch.records.readers.office_parts import look_over

CELLS = ("xl/worksheets/", "xl/sharedStrings")
SHEET = "xl/worksheets/sheet1.xml"


def look(members, *, form="xlsx"):
    with zipfile.ZipFile(io.BytesIO(zip_of(members))) as archive:
        return look_over(archive, form=form, cells_in=CELLS, source="a.xlsx")


@pytest.mark.parametrize("body", [xlsx(), ods()])
def test_honest_spreadsheets_pass(body):
    with zipfile.ZipFile(io.BytesIO(body)) as archive:
        assert not any(look_over(archive, form="xlsx", cells_in=CELLS, source="a.xlsx").values())


def test_formulas_and_merged_cells_are_marked_by_part():
    marks = look({SHEET: b"<row><c><f>A1</f></c></row>", "xl/worksheets/sheet2.xml": b'<mergeCell ref="A1:B2"/>'})
    assert marks == {SHEET: {"formulas"}, "xl/worksheets/sheet2.xml": {"merged cells"}}


@pytest.mark.parametrize("tag", [b"<font/>", b"<formatting/>", b"<mergeCells/>", b"text f >"])
def test_other_words_are_no_formulas(tag):
    assert look({SHEET: tag}) == {SHEET: set()}


def test_marks_are_seen_across_the_pieces_that_are_read():
    body = b" " * ((1 << 20) - 2) + b"<!DOCTYPE a>"
    with pytest.raises(UnfitFileError, match="document type declaration"):
        look({SHEET: b"<a>" + bytes(range(32, 60)) * 40_000, "xl/styles.xml": body})


@pytest.mark.parametrize(
    ("address", "is_beyond"),
    [(b"XFD1048576", False), (b"A9999999", False), (b"ABCD1", True), (b"A99999999", True), (b"&#65;1", True)],
)
def test_addresses_longer_than_a_sheet_has_are_refused(address, is_beyond):
    cell = b'<c r="' + address + b'"/>'
    if not is_beyond:
        assert look({SHEET: cell}) == {SHEET: set()}
        return
    with pytest.raises(UnfitFileError, match="cells beyond row 1048576 or column 16384"):
        look({SHEET: cell})


def test_a_prefix_called_r_is_no_address():
    assert look({SHEET: b'<worksheet xmlns:r="http://schemas.openxmlformats.org/x">'}) == {SHEET: set()}


def test_small_spreadsheets_may_be_packed_as_much_as_they_like():
    assert look({SHEET: b"<c/>" * 200_000})
    assert FREE_SHEET_MB * 1_000_000 > 800_000


def test_the_limits_leave_room_above_what_was_measured():
    """Measured on invented records: XLSX 6 to 12 times, OpenDocument 28 times, 2 MB of styles are 20,000."""
    assert MOST_TIMES_PACKED["xlsx"] > 12
    assert MOST_TIMES_PACKED["ods"] > 2 * 28
    assert LARGEST_PART_MB >= 2
