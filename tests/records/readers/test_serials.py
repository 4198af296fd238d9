"""Days left as plain numbers in both calendars, against Python's own calendar and openpyxl."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st
from openpyxl.utils.datetime import to_excel

from roadwatch.records.readers.serials import with_dates_of_serials
from roadwatch.records.tables import RawTable


def read(name, cells, *, is_1904=True):
    return with_dates_of_serials(RawTable.of_columns("a.xlsx", {name: cells}), is_1904=is_1904).rows[name].tolist()


@given(st.dates(date(2000, 1, 1), date(2099, 12, 31)))
def test_a_number_is_so_many_days_after_the_first_of_1904(day):
    number = (day - date(1904, 1, 1)) / timedelta(days=1)
    assert read("date found", [f"{number:.0f}"]) == [day.isoformat()]


@given(st.dates(date(2000, 1, 1), date(2099, 12, 31)))
def test_in_the_usual_calendar_a_number_is_the_day_that_openpyxl_writes_so(day):
    assert read("date found", [f"{to_excel(day):.0f}"], is_1904=False) == [day.isoformat()]


def test_the_number_of_a_day_is_another_in_each_calendar():
    """2024-06-08 is day 45451 of the usual calendar and 1462 less in the other (ECMA-376, 18.17.4.1)."""
    assert read("date", ["45451"], is_1904=False) == read("date", ["43989"]) == ["2024-06-08"]


def test_a_fraction_is_the_time_of_day():
    assert read("checked_at", ["43989.75"]) == ["2024-06-08T18:00:00"]


def test_dates_already_written_out_stay_beside_numbers():
    assert read("date", ["2024-06-08", "43989", None]) == ["2024-06-08", "2024-06-08", None]


def test_other_numbers_stay_numbers():
    assert read("count", ["43989"]) == ["43989"]
    assert read("laid", ["12", "43989"]) == ["12", "43989"]
    assert read("found", ["yes"]) == ["yes"]
