"""A header names the columns; rows that do not fit it are told."""

import pytest

from roadwatch.errors import UnfitFileError


def test_a_plain_table_keeps_names_cells_lines_and_originals(read_text):
    table = read_text("taxon,Count Seen\nwood turtle,1\nbox turtle,\n")
    assert table.rows.to_dict("list") == {"taxon": ["wood turtle", "box turtle"], "Count Seen": ["1", None]}
    assert table.lines.tolist() == [2, 3]
    assert table.originals == ["wood turtle,1", "box turtle,"]
    assert table.source == "records.csv"
    assert table.kind is None


def test_a_row_with_too_many_cells_is_held_back_with_its_wording(read_text):
    table = read_text("a,b\n1,2\n3,4,5\n6,7\n")
    assert table.rows["a"].tolist() == ["1", "6"]
    (fault,) = table.faults
    assert (fault.line, fault.original, fault.found, fault.severity) == (3, "3,4,5", "3 cells", "hold back")
    assert "put text that holds the separator in quotation marks" in fault.reason


def test_blank_cells_beyond_the_header_are_no_fault(read_text):
    table = read_text("a,b\n1,2,,\n")
    assert (table.rows["b"].tolist(), table.faults) == (["2"], ())


def test_short_rows_are_kept_with_blanks_and_said(read_text):
    table = read_text("a,b,c\n1,2\n3,4,5\n6\n")
    assert table.rows["c"].tolist() == [None, "5", None]
    assert "fewer than 3 cells on lines 2, 4; the rest is blank" in table.notes


def test_a_last_row_that_breaks_off_is_held_back(read_text):
    table = read_text("a,b,c\n1,2,3\n4,5,6\n7,")
    assert table.rows["a"].tolist() == ["1", "4"]
    assert "the file ends inside this row, after 2 of 3 cells" in table.faults[0].reason


def test_a_last_row_without_a_line_end_is_fine_when_whole(read_text):
    assert read_text("a,b\n1,2\n3,4").rows["b"].tolist() == ["2", "4"]


def test_columns_of_one_name_are_told_apart(read_text):
    table = read_text("notes,n,notes\nx,1,y\n")
    assert list(table.rows) == ["notes", "n", "notes (2)"]
    assert any("more than once" in note for note in table.notes)


def test_a_column_without_name_is_numbered_when_it_holds_something(read_text):
    assert list(read_text("a,,b,\n1,2,3,\n").rows) == ["a", "column 2", "b"]


def test_title_lines_before_the_header_are_said(read_text):
    table = read_text("Spring counts\n\na,b,c\n1,2,3\n")
    assert table.lines.tolist() == [4]
    assert "header on line 3, after: Spring counts" in table.notes


def test_decimal_commas_are_flagged_and_cells_stay_as_written(read_text):
    table = read_text("lat;lon;notes\n42,37;-72,51;wet, cold\n")
    assert table.decimal_comma
    assert table.rows["lat"].tolist() == ["42,37"]
    assert "numbers are written with a decimal comma" in table.notes


def test_quoted_decimal_commas_in_a_comma_file_are_flagged(read_text):
    assert read_text('lat,lon\n"42,37","-72,51"\n').decimal_comma


def test_decimal_points_are_no_decimal_commas(read_text):
    assert not read_text("lat;lon\n42.37;-72,51\n").decimal_comma


BARE = [
    "2024-06-08,42.37,-72.51,slider\n2024-06-09,42.37,-72.51,cooter\n",
    "2024-06-08,42.37,-72.51,turtle,alive\n2024-06-09,42.37,-72.51,cooter,dead\n",  # two words that also name columns
    "6/8/2024 07:40;42,37;-72,51;slider\n6/9/2024 07:40;42,37;-72,51;cooter\n",
]
"""Tables whose first line is a record."""


@pytest.mark.parametrize("text", ["1,2\n3,4\n", "2024-06-08,42.37,-72.51\n2024-06-09,42.37,-72.51\n", *BARE])
def test_values_in_place_of_a_header_are_refused(read_text, text):
    with pytest.raises(UnfitFileError, match="found values where the column names should stand"):
        read_text(text)


def test_names_that_nobody_knows_are_still_a_header(read_text):
    assert list(read_text("colour,weight 2.5\nred,3\n").rows) == ["colour", "weight 2.5"]
    assert list(read_text("date,lat,lon,2024-06-08\n2024-06-09,42.37,-72.51,x\n").rows)[3] == "2024-06-08"


def test_a_header_without_rows_is_refused(read_text):
    with pytest.raises(UnfitFileError, match=r"found a header \(a, b\) and no rows, expected at least one row"):
        read_text("a,b\n")


def test_emoji_and_accents_come_through(read_text):
    assert read_text("observer,notes\nZoë,🐢 at the culvert\n").rows["notes"].tolist() == ["🐢 at the culvert"]
