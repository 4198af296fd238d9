"""Workbooks written with openpyxl, read back; dates of both calendars against openpyxl's own conversion and by hand."""

import zipfile
from datetime import date, datetime, time

import pytest
from openpyxl.utils.datetime import MAC_EPOCH, to_excel
from records.readers.sheet_files import HEADER, RECORDS, TITLE, xlsx

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import read_file


@pytest.fixture
def book(make_file):
    """Write a workbook and read its tables."""

    def make(*args, name="book.xlsx", **options):
        return read_file(make_file(name, xlsx(*args, **options)))

    return make


@pytest.fixture
def repacked(make_file):
    """A workbook with some of its parts written anew."""

    def make(changes, **options):
        path = make_file("book.xlsx", xlsx(**options))
        with zipfile.ZipFile(path) as archive:
            parts = {name: archive.read(name) for name in archive.namelist()}
        for name, change in changes.items():
            parts[name] = change(parts.get(name, b""))
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, body in parts.items():
                archive.writestr(name, body)
        return path

    return make


SHEET_1 = "xl/worksheets/sheet1.xml"


def with_cells(rows):
    """Change a sheet's XML to other rows."""
    return lambda _: (
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
        + rows
        + b"</sheetData></worksheet>"
    )


def swollen(piece, *, n_bytes):
    """A piece of XML over and over, with a number now and then, so that it packs about 100 times."""
    block = b"".join(
        b"<a>%06d</a>" % (n * 7919 % 1_000_003) + piece * 80 for n in range(n_bytes // (80 * len(piece) + 13))
    )
    return block.ljust(n_bytes)


def test_cells_become_text_by_their_type_and_lines_are_the_rows_of_the_sheet(book):
    (table,) = book()
    assert table.source == "book.xlsx, sheet Crossings"
    assert table.lines.tolist() == [4, 5]
    assert table.rows.to_dict("records") == [
        {"date": "2024-06-08", "latitude": "29.65", "longitude": "-82.37", "species": "box turtle", "count": "1"},
        {"date": "2024-06-09T07:40:01", "latitude": "29.66", "longitude": "-82.38", "species": "slider", "count": None},
    ]


def test_originals_are_the_filled_cells_of_a_row_as_json(book):
    (table,) = book()
    assert table.originals[1] == (
        '{"date": "2024-06-09T07:40:01", "latitude": "29.66", "longitude": "-82.38", "species": "slider"}'
    )


def test_a_merged_title_above_the_header_is_passed_over_and_said(book):
    (table,) = book(merged=["A1:E1"])
    assert list(table.rows) == HEADER
    assert 'header on row 3, after: ["Turtle survey 2024"]' in table.notes


def test_every_sheet_is_a_table_and_an_empty_one_is_said(book):
    tables = book(sheets={"May": [HEADER, RECORDS[0]], "Empty": [], "June, late": [HEADER, RECORDS[1]]})
    assert [table.source for table in tables] == ["book.xlsx, sheet May", "book.xlsx, sheet June, late"]
    assert "sheet Empty is empty" in tables[0].notes


def test_a_sheet_that_is_no_table_is_left_out_and_said(book):
    (table,) = book(sheets={"May": [HEADER, RECORDS[0]], "Read me": [["Please fill in the other sheet"]]})
    assert any(note.startswith("sheet Read me left out: found ") for note in table.notes)


def test_a_workbook_of_empty_sheets_is_refused(book):
    with pytest.raises(UnfitFileError, match=r"book.xlsx: found 2 sheets, all of them empty"):
        book(sheets={"A": [], "B": []})


def test_a_workbook_without_any_table_is_refused_with_the_reason_of_its_first_sheet(book):
    with pytest.raises(UnfitFileError, match=r"book.xlsx, sheet A: found no row of two cells or more"):
        book(sheets={"A": [["hello"]], "B": []})


def test_a_hidden_sheet_is_read_and_said(book):
    tables = book(sheets={"May": [HEADER, RECORDS[0]], "Old": [HEADER, RECORDS[1]]}, hidden=["Old"])
    assert "the sheet is hidden in the workbook" in tables[1].notes


@pytest.mark.parametrize("is_1904", [False, True])
def test_dates_are_right_in_workbooks_of_both_calendars(book, is_1904):
    days = [date(2024, 6, 8), datetime(2024, 2, 29, 23, 59, 59), datetime(2000, 1, 1, 12), time(7, 40)]  # noqa: DTZ001
    (table,) = book([["found", "n"], *[[day, 1] for day in days]], is_1904=is_1904)
    assert table.rows["found"].tolist() == ["2024-06-08", "2024-02-29T23:59:59", "2000-01-01T12:00:00", "07:40:00"]


def test_days_left_as_numbers_in_a_1904_workbook_are_its_own_days(book):
    """2024-06-08 is day 45451 of the usual calendar and 1462 less in the other (ECMA-376, 18.17.4.1)."""
    assert to_excel(date(2024, 6, 8), MAC_EPOCH) == 45451 - 1462
    (table,) = book([["date", "count"], [45451 - 1462, 1], [45451 - 1462 + 0.25, 2]], is_1904=True)
    assert table.rows["date"].tolist() == ["2024-06-08", "2024-06-08T06:00:00"]
    assert any("days since 1904-01-01" in note for note in table.notes)


def test_days_left_as_numbers_beside_dates_are_days_of_the_usual_calendar(book):
    """Some cells of a column often lose their format; 2024-06-08 is day 45451 (ECMA-376, 18.17.4.1)."""
    (table,) = book([["date", "time", "count"], [date(2024, 6, 7), time(7, 40), 1], [45451, "8:15", 2]])
    assert table.rows["date"].tolist() == ["2024-06-07", "2024-06-08"]
    assert "numbers in column date are days, by the workbook's own calendar" in table.notes


def test_numbers_that_are_no_days_stay_numbers(book):
    (table,) = book([["date", "count"], [45451, 45451], [8, 45452]])
    assert table.rows["date"].tolist() == ["45451", "8"]
    assert table.rows["count"].tolist() == ["45451", "45452"]


def test_a_formula_that_nothing_has_calculated_is_blank_and_said(book):
    (table,) = book([HEADER, [*RECORDS[0][:4], "=1+1"]])
    assert table.rows["count"].tolist() == [None]
    (fault,) = table.faults
    assert (fault.line, fault.found, fault.severity) == (2, "=1+1", "note")
    assert "cell E2 is a formula without a stored value, taken as blank; open the workbook" in fault.reason


def test_a_row_of_nothing_but_uncalculated_formulas_is_held_back(book):
    (table,) = book([["n", "m"], [1, 2], ["=A2", "=B2"], [3, 4]])
    assert table.lines.tolist() == [2, 4]
    assert {(fault.line, fault.severity) for fault in table.faults} == {(3, "hold back")}


def test_a_formula_with_a_stored_value_gives_that_value(repacked):
    rows = (
        b'<row r="1"><c r="A1" t="str"><v>date</v></c><c r="B1" t="str"><v>count</v></c></row>'
        b'<row r="2"><c r="A2" t="str"><f>"2024-06-08"</f><v>2024-06-08</v></c><c r="B2"><f>1+1</f><v>2</v></c></row>'
    )
    (table,) = read_file(repacked({SHEET_1: with_cells(rows)}))
    assert table.rows.to_dict("records") == [{"date": "2024-06-08", "count": "2"}]
    assert table.faults == ()


def test_an_error_that_a_cell_shows_is_blank_and_said(book):
    (table,) = book([HEADER, [*RECORDS[0][:4], "#REF!"]])
    assert table.rows["count"].tolist() == [None]
    assert "shows the error #REF!" in table.faults[0].reason


def test_a_cell_merged_over_rows_stands_beside_each_of_them(book):
    rows = [HEADER, RECORDS[0], [None, *RECORDS[1][1:]], [None, *RECORDS[1][1:]]]
    (table,) = book(rows, merged=["A2:A4"])
    assert table.rows["date"].tolist() == ["2024-06-08"] * 3
    assert "2 rows take a value from a cell merged over them" in table.notes


def test_a_table_that_begins_in_another_column_keeps_its_merged_and_lost_cells_in_their_places(book):
    date = RECORDS[0][0]
    rows = [[], [None, "date", "count", "taxon"], [None, date, 1, "slider"], [None, None, "=1+1", "cooter"]]
    (table,) = book(rows, merged=["B3:B4"])
    assert table.rows["date"].tolist() == ["2024-06-08", "2024-06-08"]
    assert table.rows["count"].tolist() == ["1", None]
    assert table.lines.tolist() == [3, 4]
    assert [fault.reason.split(" is ")[0] for fault in table.faults] == ["cell C4"]


def test_a_midnight_whose_format_shows_the_clock_is_a_time_and_another_is_a_day(book):
    midnight = datetime(2024, 6, 8)  # noqa: DTZ001  # a sheet has no zone
    (table,) = book([["found", "n"], [midnight, 1], [midnight.date(), 2]])
    assert table.rows["found"].tolist() == ["2024-06-08T00:00:00", "2024-06-08"]


def test_a_value_far_from_the_table_is_refused_with_the_cell_to_clear(book):
    rows = [HEADER, *RECORDS, *[[]] * 250, [*[None] * 16_383, "x"]]
    with pytest.raises(
        UnfitFileError, match=r"as far as row 254 and column 16384: .*clear the cells far from the table"
    ):
        book(rows)


def test_styles_out_of_range_are_no_matter_and_nothing_is_printed(repacked, capfd):
    path = repacked({"xl/styles.xml": lambda xml: xml.replace(b'xfId="0"', b'xfId="99"')})
    assert len(read_file(path)[0].rows) == 2
    assert capfd.readouterr() == ("", "")


def test_a_wrong_statement_of_the_sheets_size_loses_no_row(repacked):
    path = repacked({SHEET_1: lambda xml: xml.replace(b'ref="A1:E5"', b'ref="A1"')})
    assert len(read_file(path)[0].rows) == 2


def test_blank_rows_are_no_rows_and_blank_ends_no_fault(book):
    (table,) = book([HEADER, RECORDS[0], [None] * 5, RECORDS[1]])
    assert table.lines.tolist() == [2, 4]
    assert not any("fewer than" in note for note in table.notes)


def test_a_row_longer_than_its_header_is_held_back(book):
    (table,) = book([HEADER, RECORDS[0], [*RECORDS[1], "what is this"]])
    assert table.faults[0].line == 3
    assert "6 cells where the header names 5" in table.faults[0].reason


def test_temperatures_of_a_logger_are_known_in_a_sheet_too(book):
    rows = [["Date Time", "Temp (F)"], [datetime(2024, 6, 8, 1), 68.0], [datetime(2024, 6, 8, 2), 50.0]]  # noqa: DTZ001
    (table,) = book(sheets={"nest 12": rows}, name="loggers.xlsx")
    assert table.kind == "temperatures"
    assert table.rows["temp_c"].tolist() == ["20", "10"]
    assert table.rows["series_id"].tolist() == ["loggers nest 12"] * 2


@pytest.mark.parametrize(
    ("rows", "found"),
    [
        (b'<row r="99999999"><c r="A1"><v>1</v></c></row>', "cells beyond row 1048576"),
        (b'<row r="&#57;9999999"><c r="A1"><v>1</v></c></row>', "cells beyond row 1048576"),
        (b'<row r="1"><c r="AAAA1"><v>1</v></c></row>', "cells beyond row 1048576 or column 16384"),
    ],
)
def test_cells_far_beyond_a_sheet_are_refused_before_they_are_counted(repacked, rows, found):
    with pytest.raises(UnfitFileError, match=found):
        read_file(repacked({SHEET_1: with_cells(rows)}))


def test_the_namespaces_that_the_common_programs_write_are_no_addresses(repacked):
    """A worksheet as they write it declares the prefix r (ECMA-376, part 1, annex L)."""
    spaces = b'<worksheet xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships" '
    path = repacked({SHEET_1: lambda xml: xml.replace(b"<worksheet ", spaces)})
    assert len(read_file(path)[0].rows) == 2


def test_rows_that_are_wide_blanks_are_refused(repacked):
    rows = b"".join(b'<row><c r="XFD%d"><v>1</v></c></row>' % n for n in range(1, 700))
    with pytest.raises(UnfitFileError, match=r"as far as row 245 and column 16384: more than 4000000 cells"):
        read_file(repacked({SHEET_1: with_cells(rows)}))


@pytest.mark.parametrize("part", [SHEET_1, "xl/workbook.xml", "xl/sharedStrings.xml", "[Content_Types].xml"])
def test_a_document_type_is_refused_in_any_part(repacked, part):
    bomb = b'<!DOCTYPE a [<!ENTITY a "aa"><!ENTITY b "&a;&a;"><!ENTITY s SYSTEM "file:///etc/passwd">]>'
    with pytest.raises(UnfitFileError, match="with a document type declaration"):
        read_file(repacked({part: lambda xml: bomb + xml}))


def test_a_part_in_another_encoding_is_refused(repacked):
    with pytest.raises(UnfitFileError, match="not written in UTF-8"):
        read_file(repacked({SHEET_1: lambda xml: xml.decode().encode("utf-16")}))


def test_a_sheet_packed_far_beyond_what_records_are_is_refused(repacked):
    with pytest.raises(UnfitFileError, match=r"12 MB of cells packed into .* MB, expected cells of at most 15 times"):
        read_file(repacked({SHEET_1: lambda xml: xml + swollen(b"<row><c/></row>", n_bytes=12_000_000)}))


def test_styles_that_outgrow_the_records_are_refused(repacked):
    with pytest.raises(UnfitFileError, match=r"6 MB of xl/styles.xml, which holds no cells"):
        read_file(repacked({"xl/styles.xml": lambda xml: xml + swollen(b"<xf/>", n_bytes=6_000_000)}))


@pytest.mark.parametrize("part", [SHEET_1, "xl/workbook.xml", "xl/styles.xml", "xl/_rels/workbook.xml.rels"])
def test_a_broken_part_is_told_in_one_line(repacked, part):
    with pytest.raises(UnfitFileError, match=r"book.xlsx: found a zip archive that is damaged"):
        read_file(repacked({part: lambda xml: xml[: len(xml) // 2]}))


def test_more_sheets_than_a_book_has_are_refused(book):
    with pytest.raises(UnfitFileError, match=r"a part xl/workbook.xml of more than 200 sheets"):
        book(sheets={f"s{n}": [] for n in range(201)})


def test_the_title_row_of_the_fixture_is_no_record():
    assert len(TITLE) + len(RECORDS) == 5
