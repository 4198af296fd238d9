"""Typed cells as text, and sheets as tables, whatever format they come from."""

from datetime import date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.utils import get_column_letter

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers.sheets import Sheet, cell_text, column_letters, tables_of


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, None),
        ("  box turtle \x00", "box turtle"),
        (" \xa0 ", None),
        (True, "true"),
        (3, "3"),
        (29.0, "29"),
        (-82.3725, "-82.3725"),
        (0.1 + 0.2, "0.30000000000000004"),
        (float("nan"), None),
        (date(2024, 6, 8), "2024-06-08"),
        (datetime(2024, 6, 8, 7, 40), "2024-06-08T07:40:00"),  # noqa: DTZ001
        (datetime(2024, 6, 8, 7, 39, 59, 999_600), "2024-06-08T07:40:00"),  # noqa: DTZ001
        (datetime(9999, 12, 31, 23, 59, 59, 999_999), "9999-12-31T23:59:59"),  # noqa: DTZ001
        (time(7, 40), "07:40:00"),
        (timedelta(hours=30, minutes=5), "30:05:00"),
    ],
)
def test_a_cell_becomes_text_by_its_type(value, text):
    assert cell_text(value) == text


def test_a_midnight_that_shows_no_clock_is_a_date():
    assert cell_text(datetime(2024, 6, 8), has_clock=False) == "2024-06-08"  # noqa: DTZ001
    assert cell_text(datetime(2024, 6, 8, 7), has_clock=False) == "2024-06-08T07:00:00"  # noqa: DTZ001


@given(st.floats(allow_nan=False, allow_infinity=False, max_value=1e299, min_value=-1e299))
def test_a_number_comes_back_from_its_text(value):
    assert float(cell_text(value)) == value


@given(st.integers(1, 16_384))
def test_columns_are_named_as_openpyxl_names_them(column):
    assert column_letters(column) == get_column_letter(column)


def sheet(*rows, **parts):
    made = Sheet("A", **parts)
    for number, cells in enumerate(rows, start=1):
        made.add(number, cells)
    return made


def test_a_row_is_kept_up_to_its_last_filled_cell_and_a_blank_one_not_at_all():
    assert sheet(["a", None, "b", None], [None, None]).rows == [(1, ["a", None, "b"])]


def test_a_merged_cell_is_given_to_the_rows_beside_it_and_to_no_other():
    made = sheet(["a", "1"], [None, "2"], ["own", "3"], [None, "4"])
    made.fill_down([(1, 1, 1, 3)])
    assert [cells[0] for _, cells in made.rows] == ["a", "a", "own", None]


def test_a_merged_cell_that_is_blank_or_lies_outside_fills_nothing():
    made = sheet([None, "1"], [None, "2"])
    made.fill_down([(1, 1, 1, 2), (99, 1, 99, 2), (1, 5, 1, 9), (1, 0, 1, 2)])
    assert [cells[0] for _, cells in made.rows] == [None, None]
    assert made.notes == []


def test_more_merged_cells_than_could_be_meant_are_given_up_and_said():
    made = sheet(*[["a", "b"] for _ in range(200)])
    made.fill_down([(1, 1, 2, 200)] * 6_000)
    assert any("too many merged cells" in note for note in made.notes)


def test_a_lost_cell_of_a_kept_row_is_a_note_and_of_a_lost_row_held_back():
    made = sheet(
        ["n", "m"], ["1", None], [None, None], ["3", "4"], lost={(2, 2): ("=A1", "is odd"), (3, 1): ("=B1", "is odd")}
    )
    (table,) = tables_of([made], source="a.xlsx", form="test")
    assert [(fault.line, fault.severity) for fault in table.faults] == [(2, "note"), (3, "hold back")]
    assert table.faults[0].reason == "cell B2 is odd"


def test_no_sheet_at_all_is_refused():
    with pytest.raises(UnfitFileError, match="0 sheets, all of them empty"):
        tables_of([], source="a.xlsx", form="test")
