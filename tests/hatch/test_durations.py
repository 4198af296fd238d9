from __future__ import annotations

import pandas as pd
import pytest

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.hatch.durations import read_durations


@pytest.fixture
def write(tmp_path):
    def make(text: str | bytes):
        path = tmp_path / "durations.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
        return path

    return make


def test_a_plain_file_is_read(write):
    table = read_durations(write("temp_c,days,clutch,n_eggs\n24,98.5,A,3\n28,64.75,B,\n")).table
    expected = pd.DataFrame({"temp_c": [24.0, 28.0], "days": [98.5, 64.75], "n_eggs": [3.0, 1.0], "clutch": ["A", "B"]})
    pd.testing.assert_frame_equal(table, expected, check_dtype=False)


@pytest.mark.parametrize(
    "text",
    [
        "Temperature;Incubation days\n24,5;98,5\n",
        "\ufeffT\tD\r\n24.5\t98.5\r\n",
        "mother,Temp,duration\nx,24.5,98.5\n\n,,\n",
        "Temp,days,Bemerkung\n24.5,98.5,für später\n".encode("latin-1"),
    ],
)
def test_other_habits_of_writing_are_understood(write, text):
    table = read_durations(write(text)).table
    assert table[["temp_c", "days"]].to_numpy().tolist() == [[24.5, 98.5]]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("hot,60,", "line 3: temperature 'hot' is not a number from 0 to 45"),
        ("82,60,", "line 3: temperature '82'"),
        ("28,,", "line 3: days '' is not a number"),
        ("28,-4,", "line 3: days '-4'"),
        ("28,60,none", "line 3: eggs 'none'"),
        ("28", "line 3: days ''"),
    ],
)
def test_a_row_that_cannot_be_used_is_held_back_with_its_place_and_cure(write, row, words):
    read = read_durations(write(f"temp_c,days,n\n24,98,\n{row}\n"))
    assert len(read.table) == 1
    assert len(read.held_back) == 1
    assert words in read.held_back[0]
    assert "write" in read.held_back[0] or "leave" in read.held_back[0]


def test_a_missing_column_names_those_expected(write):
    with pytest.raises(UnfitFileError, match="no column for days among temp_c, length; write one of days, duration"):
        read_durations(write("temp_c,length\n24,98\n"))


def test_an_empty_file_says_what_belongs_in_it(write):
    with pytest.raises(UnfitFileError, match="is empty; write columns temp_c and days"):
        read_durations(write("\n"))


def test_a_file_that_is_not_there_is_a_wrong_call(tmp_path):
    with pytest.raises(UsageError, match="there is no such file"):
        read_durations(tmp_path / "none.csv")
