"""OpenDocument spreadsheets written with odfpy, read back, and read by pandas over odfpy as an independent reader."""

import io
import zipfile
from datetime import date, datetime

import pandas as pd
import pytest
from odf.table import TableCell
from records.readers.sheet_files import HEADER, RECORDS, cell, covered, ods

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import read_file


@pytest.fixture
def sheet(make_file):
    """Write a spreadsheet and read its tables."""

    def make(*args, **options):
        return read_file(make_file("book.ods", ods(*args, **options)))

    return make


@pytest.fixture
def content(make_file):
    """A spreadsheet whose one sheet has these rows as XML."""

    def make(rows, *, before="", manifest=None):
        path = make_file("book.ods", ods())
        with zipfile.ZipFile(path) as archive:
            parts = {name: archive.read(name) for name in archive.namelist()}
        xml = parts["content.xml"].decode()
        start, end = xml.index("<table:table-row"), xml.rindex("</table:table>")
        parts["content.xml"] = (before + xml[:start] + rows + xml[end:]).encode()
        if manifest:
            parts["META-INF/manifest.xml"] = manifest
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, body in parts.items():
                archive.writestr(name, body)
        return path

    return make


ONE = '<table:table-cell office:value-type="float" office:value="1"/>'


def test_cells_become_text_by_their_type_and_lines_are_the_rows_of_the_sheet(sheet):
    (table,) = sheet()
    assert table.source == "book.ods, sheet Crossings"
    assert table.lines.tolist() == [4, 5]
    assert table.rows.to_dict("records") == [
        {"date": "2024-06-08", "latitude": "29.65", "longitude": "-82.37", "species": "box turtle", "count": "1"},
        {"date": "2024-06-09T07:40:01", "latitude": "29.66", "longitude": "-82.38", "species": "slider", "count": None},
    ]


def test_an_independent_reader_sees_the_same_cells(sheet):
    rows = [HEADER, *[[date(2024, 6, day), 29.6 + day / 7, -82.3, f"turtle {day}", day] for day in range(1, 29)]]
    (table,) = sheet(rows)
    other = pd.read_excel(io.BytesIO(ods(rows)), engine="odf")
    assert table.rows["date"].tolist() == other["date"].dt.strftime("%Y-%m-%d").tolist()
    assert table.rows["latitude"].astype(float).tolist() == other["latitude"].tolist()
    assert table.rows["species"].tolist() == other["species"].tolist()


def test_every_sheet_is_a_table_and_an_empty_one_is_said(sheet):
    tables = sheet(sheets={"May": [HEADER, RECORDS[0]], "Empty": [], "June": [HEADER, RECORDS[1]]})
    assert [table.source for table in tables] == ["book.ods, sheet May", "book.ods, sheet June"]
    assert "sheet Empty is empty" in tables[0].notes


def test_a_merged_title_is_passed_over(sheet):
    title = [cell("Turtle survey", numbercolumnsspanned=5), covered(4)]
    (table,) = sheet([title, HEADER, RECORDS[0]])
    assert list(table.rows) == HEADER
    assert table.lines.tolist() == [3]


def test_a_cell_merged_over_rows_stands_beside_each_of_them(sheet):
    rows = [HEADER, [cell(date(2024, 6, 8), numberrowsspanned=2), *RECORDS[0][1:]], [covered(), *RECORDS[1][1:]]]
    (table,) = sheet(rows)
    assert table.rows["date"].tolist() == ["2024-06-08", "2024-06-08"]


def test_a_formula_without_stored_value_is_blank_and_said(sheet):
    (table,) = sheet([HEADER, [*RECORDS[0][:4], TableCell(formula="of:=1+1")]])
    assert table.rows["count"].tolist() == [None]
    assert "cell E2 is a formula without a stored value" in table.faults[0].reason


def test_a_formula_that_shows_an_error_is_blank_and_said_even_where_nought_is_stored(content):
    rows = (
        "<table:table-row><table:table-cell office:value-type='string'><text:p>n</text:p></table:table-cell>"
        "<table:table-cell office:value-type='string'><text:p>m</text:p></table:table-cell></table:table-row>"
        f"<table:table-row>{ONE}<table:table-cell table:formula='of:=1/0' office:value-type='float' office:value='0' "
        "calcext:value-type='error'><text:p>#DIV/0!</text:p></table:table-cell></table:table-row>"
    )
    path = content(rows.replace("calcext:", "xmlns:calcext='urn:x' calcext:"))
    (table,) = read_file(path)
    assert table.rows.to_dict("records") == [{"n": "1", "m": None}]
    assert "shows an error" in table.faults[0].reason


def test_comments_on_cells_are_not_their_text(sheet):
    from odf.office import Annotation
    from odf.text import P

    noted = cell("box turtle")
    remark = Annotation()
    remark.addElement(P(text="is it?"))
    noted.addElement(remark)
    (table,) = sheet([HEADER, [*RECORDS[0][:3], noted, 1]])
    assert table.rows["species"].tolist() == ["box turtle"]


def test_blank_rows_and_columns_repeated_to_the_end_of_the_sheet_are_nothing(content):
    end = "<table:table-cell table:number-columns-repeated='16379'/></table:table-row>"
    header = "".join(
        f"<table:table-cell office:value-type='string'><text:p>{n}</text:p></table:table-cell>" for n in HEADER
    )
    path = content(
        f"<table:table-row>{header}{end}<table:table-row>{ONE * 5}{end}"
        "<table:table-row table:number-rows-repeated='1048574'><table:table-cell "
        "table:number-columns-repeated='16384'/></table:table-row>"
    )
    (table,) = read_file(path)
    assert table.rows.to_dict("records") == [dict.fromkeys(HEADER, "1")]


@pytest.mark.parametrize(
    ("rows", "found"),
    [
        (f"<table:table-row table:number-rows-repeated='1073741824'>{ONE}</table:table-row>", "beyond row 1048576"),
        (
            f"<table:table-row><table:table-cell table:number-columns-repeated='1073741824'/>{ONE}</table:table-row>",
            "or column 16384",
        ),
        (
            f"<table:table-row table:number-rows-repeated='900000'/><table:table-row>{ONE * 5}</table:table-row>",
            "more than 4000000 cells in all sheets, blanks included",
        ),
        (
            f"<table:table-row table:number-rows-repeated='500000'>{ONE}</table:table-row>",
            "500000 filled cells repeated from 1",
        ),
    ],
)
def test_a_few_letters_that_become_millions_of_cells_are_refused(content, rows, found):
    with pytest.raises(UnfitFileError, match=found):
        read_file(content(rows))


def test_many_sheets_of_blanks_are_summed_up(content):
    """The library lays out every sheet at once."""
    tall = f"<table:table-row table:number-rows-repeated='300000'/><table:table-row>{ONE * 5}</table:table-row>"
    more = f"</table:table><table:table table:name='B'>{tall}"
    with pytest.raises(UnfitFileError, match="more than 4000000 cells in all sheets"):
        read_file(content(tall + more + more.replace("'B'", "'C'")))


def test_more_sheets_than_a_book_has_are_refused_before_the_library_opens_it(content):
    more = "".join(f"</table:table><table:table table:name='s{n}'>" for n in range(200))
    with pytest.raises(UnfitFileError, match="more than 200 sheets"):
        read_file(content(more))


def test_a_document_type_is_refused(content):
    with pytest.raises(UnfitFileError, match="with a document type declaration"):
        read_file(content("", before='<!DOCTYPE a [<!ENTITY a "aaaa">]>'))


def test_a_password_is_told(content):
    with pytest.raises(UnfitFileError, match="found a password, expected an open file; save it without a password"):
        read_file(content("", manifest=b"<manifest><encryption-data/></manifest>"))


@pytest.mark.parametrize("rows", ["<table:table-row>", "</a>", ONE.replace('"1"', '"one"')])
def test_a_broken_sheet_is_told_in_one_line(content, rows):
    with pytest.raises(UnfitFileError, match=r"book.ods: found a zip archive that is damaged"):
        read_file(
            content(f"{rows}" if rows != ONE.replace('"1"', '"one"') else f"<table:table-row>{rows}</table:table-row>")
        )


def test_times_of_day_and_truths_are_written_out(sheet):
    stamped = TableCell(valuetype="time", timevalue="PT07H40M00S")
    (table,) = sheet([["date", "time", "gravid"], [datetime(2024, 6, 8, 7, 40), stamped, True]])  # noqa: DTZ001
    assert table.rows.to_dict("records") == [{"date": "2024-06-08T07:40:00", "time": "07:40:00", "gravid": "true"}]


def test_a_table_that_begins_in_another_column_keeps_its_merged_and_lost_cells_in_their_places(make_file):
    rows = [
        [],
        [None, "date", "count", "taxon"],
        [None, cell("2024-06-08", numberrowsspanned="2"), 1, "slider"],
        [None, None, TableCell(formula="of:=1+1"), "cooter"],
    ]
    (table,) = read_file(make_file("book.ods", ods(rows)))
    assert table.rows["date"].tolist() == ["2024-06-08", "2024-06-08"]
    assert table.rows["count"].tolist() == ["1", None]
    assert table.lines.tolist() == [3, 4]
    assert [fault.reason.split(" is ")[0] for fault in table.faults] == ["cell C4"]
