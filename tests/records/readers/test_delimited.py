"""Rows of a text table keep their line numbers and their wording (quoting after RFC 4180)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers.delimited import split_text
from roadwatch.records.readers.limits import LONGEST_CELL
from roadwatch.records.readers.text import DecodedText


def split(text):
    return split_text(DecodedText(text, "UTF-8"), source="a.csv")


def test_rows_know_the_line_a_person_sees():
    cut = split("a,b\n1,2\n\n3,4\n")
    assert list(zip(cut.lines, cut.records, strict=True)) == [(1, ["a", "b"]), (2, ["1", "2"]), (4, ["3", "4"])]


def test_a_quoted_text_may_run_over_lines():
    cut = split('a,b\n"first\nsecond",2\n3,4\n')
    assert cut.records[1] == ["first\nsecond", "2"]
    assert cut.lines == [1, 2, 4]
    assert cut.originals[1] == '"first\nsecond",2'


def test_a_doubled_quotation_mark_is_one():
    assert split('a,b\n"a ""big"" one",2\n').records[1] == ['a "big" one', "2"]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_line_ends_of_every_system_are_known(end):
    cut = split(f"a,b{end}1,2{end}3,4{end}")
    assert cut.records == [["a", "b"], ["1", "2"], ["3", "4"]]
    assert cut.originals[2] == "3,4"


@pytest.mark.parametrize("sign", ["\x0b", "\x0c", "\x1e", "\u2028", "\x85"])
def test_other_signs_do_not_end_a_line(sign):
    assert split(f"a,b\n1{sign}2,3\n").records[1] == [f"1{sign}2", "3"]


def test_cells_are_stripped_and_blanks_are_none():
    assert split("a,b,c\n  1 ,,  \n").records[1] == ["1", None, None]


def test_a_space_before_a_quoted_cell_does_no_harm():
    assert split('a,b\n1, "x, y"\n').records[1] == ["1", "x, y"]


def test_rows_of_separators_alone_are_no_rows():
    assert len(split("a,b\n,\n1,2\n").records) == 2


def test_a_quotation_mark_left_open_at_the_end_holds_back_its_line_only():
    cut = split('a,b\n1,2\n3,"open\n5,6\n')
    assert cut.records[1:] == [["1", "2"], ["5", "6"]]
    assert [(fault.line, fault.original) for fault in cut.faults] == [(3, '3,"open')]
    assert "quotation mark" in cut.faults[0].reason


def test_a_quotation_mark_left_open_on_the_last_line_is_seen():
    cut = split('a,b\n1,2\n3,"open')
    assert [fault.line for fault in cut.faults] == [3]


def test_an_open_quotation_mark_does_not_swallow_the_rows_up_to_the_next_one():
    cut = split('a,b\n1,"open\n3,4\n5,"good"\n7,8\n')
    assert cut.records[1:] == [["3", "4"], ["5", "good"], ["7", "8"]]
    assert [fault.line for fault in cut.faults] == [2]


def test_an_inch_sign_inside_a_cell_is_no_quotation():
    assert split('a,b\n5" shell,2\n3,4\n').records[1:] == [['5" shell', "2"], ["3", "4"]]


def test_a_huge_unclosed_cell_is_one_fault_and_the_rest_is_read():
    cut = split('a,b\n1,"open\n' + "3,4\n" * 50_000)
    assert len(cut.records) == 50_001
    assert [fault.line for fault in cut.faults] == [2]


def test_zero_bytes_are_taken_out_and_said():
    cut = split("a,b\n1\x00,2\n")
    assert cut.records[1] == ["1", "2"]
    assert "zero bytes taken out of line 2" in cut.notes


def test_encoding_and_separator_are_stated():
    assert split("a;b\n1;2\n").notes == ["encoding: UTF-8", "separator: semicolon"]


def test_a_declared_separator_line_is_not_a_row():
    cut = split("sep=;\na;b\n1;2\n")
    assert cut.lines == [2, 3]


def test_a_single_column_is_refused():
    with pytest.raises(UnfitFileError, match=r"a.csv: found one column only, expected columns separated by"):
        split("just text\nand more\n")


@pytest.mark.parametrize("cell", ["x" * (LONGEST_CELL + 1), '"' + "x" * (LONGEST_CELL + 1) + '"'])
def test_one_cell_beyond_the_limit_holds_back_its_row_only(cell):
    cut = split(f"a,b\n1,2\n3,{cell}\n4,5\n")
    assert cut.records == [["a", "b"], ["1", "2"], ["4", "5"]]
    (fault,) = cut.faults
    assert (fault.line, fault.severity, fault.original) == (3, "hold back", f"3,{cell}")
    assert fault.reason.startswith("a cell is longer than 131072 characters")


@given(st.lists(st.lists(st.text(alphabet='ab",;\n x', max_size=6), min_size=2, max_size=2), min_size=1, max_size=8))
def test_every_line_that_holds_something_is_in_a_row_or_a_fault(rows):
    lines = ["a,b", *(",".join(row) for row in rows)]
    text = "\n".join(lines) + "\n"
    cut = split(text)
    told = "\n".join([*cut.originals, *(fault.original for fault in cut.faults)])
    for line in text.splitlines():
        if line.strip(',; "\n'):
            assert line in told


def test_notes_over_several_lines_survive_in_a_file_whose_every_cell_is_quoted():
    cut = split('"Counts of spring"\n"a","b"\n"1","x\ny"\n"2","z"\n')
    assert cut.records[1:] == [["a", "b"], ["1", "x\ny"], ["2", "z"]]
    assert cut.faults == []
