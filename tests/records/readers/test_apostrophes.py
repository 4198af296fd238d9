"""What the writer puts before a cell, the reader takes off, and nothing else."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.records.readers import read_file
from roadwatch.records.readers.apostrophes import as_written_by_us, with_apostrophe, without_apostrophe
from roadwatch.records.tables import RawTable

ODD = st.text(st.sampled_from("'=+-@|% \t1.eE5x\ufeff"), max_size=8)


@given(text=st.one_of(ODD, st.text()))
def test_any_text_comes_back_as_it_was(text):
    assert without_apostrophe(with_apostrophe(text)) == text


@given(text=st.one_of(ODD, st.text()), other=st.one_of(ODD, st.text()))
def test_two_texts_never_become_one(text, other):
    assert (with_apostrophe(text) == with_apostrophe(other)) == (text == other)


@given(text=st.one_of(ODD, st.text()))
def test_nothing_that_is_written_begins_as_a_formula_unless_it_is_a_number(text):
    told = with_apostrophe(text)
    if told.lstrip("\ufeff \t\r\n")[:1] in {"=", "+", "-", "@"}:
        assert float(told.strip()) == float(text.strip())


@pytest.mark.parametrize("text", ["-82.3", "+5", "-.5", "1e-3", "-1E+05", "'tis", "O'Brien's", "", "a=b", "''"])
def test_numbers_and_plain_words_get_no_apostrophe(text):
    assert with_apostrophe(text) == text


@pytest.mark.parametrize("text", ["=1+1", "'=1+1", "''=1+1", "@here", "- shell", "\t=1", "\uff1d1"])
def test_what_a_spreadsheet_would_compute_gets_one(text):
    assert with_apostrophe(text) == "'" + text


def table(**columns):
    return RawTable.of_columns("t.csv", columns)


def test_only_the_rows_of_a_file_for_the_team_are_changed():
    told = as_written_by_us(table(notes=["'=1", "'=1", None], access=["team only", None, "team only"]))
    assert told.rows["notes"].tolist() == ["=1", "'=1", None]


@pytest.mark.parametrize("columns", [{"notes": ["'=1"]}, {"notes": ["'=1"], "access": ["by boat"]}])
def test_files_of_other_people_stay_as_they_are(columns):
    told = as_written_by_us(table(**columns))
    assert told.rows["notes"].tolist() == ["'=1"]


def test_names_of_columns_are_bare_again_and_originals_stay():
    told = as_written_by_us(table(**{"'=odd": ["'@a"], "access": ["team only"]}))
    assert told.rows.columns.tolist() == ["=odd", "access"]
    assert told.originals == ["'@a,team only"]


def test_a_file_is_read_so(tmp_path):
    file = tmp_path / "t.csv"
    file.write_text("record_id,notes,access\r\na,'=1+1,team only\r\nb,'=1+1,\r\n", encoding="utf-8", newline="")
    (read,) = read_file(file)
    assert read.rows["notes"].tolist() == ["=1+1", "'=1+1"]
    assert read.originals[0] == "a,'=1+1,team only"
