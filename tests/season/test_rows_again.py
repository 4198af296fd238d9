"""Rows put together from their kept cells read as they did in their file."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.records.dates import zone_of
from roadwatch.records.file_habits import FileHabits
from roadwatch.records.tables import RawTable
from roadwatch.season.rows_again import (
    cells_of,
    columns_in,
    habits_in,
    reading_of,
    table_from_cells,
    with_values,
)

TIMEZONE = "America/New_York"


def raw_table() -> RawTable:
    columns = {"lng": ["-81.9", None, "-81.8"], "lat": ["31.7", "?", ""], "notes": [None, "a,b", "x"]}
    return RawTable.of_columns("c.csv", columns, lines=[2, 3, 7])


def test_cells_of_some_lines_leave_blanks_out():
    assert cells_of(raw_table(), [3, 7]) == {3: {"lat": "?", "notes": "a,b"}, 7: {"lng": "-81.8", "notes": "x"}}


def test_a_line_that_the_reader_could_not_cut_has_no_cells():
    assert cells_of(raw_table(), [5]) == {}


def test_two_columns_of_one_name_are_both_kept():
    table = raw_table()
    twice = RawTable(
        table.source, table.rows.set_axis(["x", "x", "notes"], axis="columns"), table.lines, table.originals
    )
    assert cells_of(twice, [2]) == {2: {"x": "-81.9", "x (2)": "31.7"}}


def test_a_table_made_of_cells_is_the_one_they_came_from():
    table = raw_table()
    originals = dict(zip(table.lines.tolist(), table.originals, strict=True))
    again = table_from_cells(
        "c.csv", cells_of(table, table.lines.tolist()), columns=["lng", "lat", "notes"], originals=originals
    )
    assert again.rows.fillna("").equals(table.rows.fillna(""))
    assert again.lines.tolist() == [2, 3, 7]
    assert again.originals == table.originals


def test_a_column_that_was_added_by_hand_comes_last():
    again = table_from_cells("c.csv", {2: {"taxon": "slider", "lat": "1"}}, columns=["lat", "lng"], originals={2: "x"})
    assert list(again.rows.columns) == ["lat", "lng", "taxon"]


HABITS = st.builds(
    FileHabits,
    st.just(zone_of(TIMEZONE)),
    order=st.sampled_from([None, "day first", "month first"]),
    years=st.none() | st.tuples(st.integers(1990, 2020), st.integers(2021, 2030)),
    decimal_comma=st.booleans(),
    per_cent=st.frozensets(st.sampled_from(["id_confidence", "count"])),
    utc=st.frozensets(st.sampled_from(["observed_at", "at"])),
)


@given(HABITS)
def test_habits_come_back_from_json_as_they_went_in(habits):
    reading = json.loads(json.dumps(reading_of(raw_table(), habits, tables=3)))
    assert habits_in(reading, timezone=TIMEZONE) == habits
    assert columns_in(reading) == ["lng", "lat", "notes"]
    assert reading["tables"] == 3


def test_a_reading_that_nobody_kept_gives_nothing():
    assert habits_in({}, timezone=TIMEZONE) is None
    assert columns_in({}) == []


@pytest.mark.parametrize(
    ("cells", "values", "expected"),
    [
        ({"lng": "81.9", "lat": "31.7"}, {"longitude": "-81.9"}, {"lat": "31.7", "longitude": "-81.9"}),
        ({"date": "x", "time": "8:00"}, {"observed_at": "2025-05-12"}, {"observed_at": "2025-05-12"}),
        ({"notes": "a"}, {"taxon": "slider"}, {"notes": "a", "taxon": "slider"}),
        ({"colour": "red"}, {"colour": "blue"}, {"colour": "blue"}),
        ({"taxon": "trutle"}, {}, {"taxon": "trutle"}),
    ],
    ids=[
        "another name of the field",
        "day and time in two columns",
        "a new column",
        "a column that we do not know",
        "none",
    ],
)
def test_a_value_takes_the_place_of_all_columns_that_feed_its_field(cells, values, expected):
    assert with_values(cells, values, "crossings") == expected
