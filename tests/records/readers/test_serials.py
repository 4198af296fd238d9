"""Days since 1904-01-01 left as plain numbers, against Python's own calendar."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from roadwatch.records.readers.serials import with_dates_of_1904
from roadwatch.records.tables import RawTable


def read(name, cells):
    return with_dates_of_1904(RawTable.of_columns("a.xlsx", {name: cells})).rows[name].tolist()


@given(st.dates(date(2000, 1, 1), date(2099, 12, 31)))
def test_a_number_is_so_many_days_after_the_first_of_1904(day):
    number = (day - date(1904, 1, 1)) / timedelta(days=1)
    assert read("date found", [f"{number:.0f}"]) == [day.isoformat()]


def test_a_fraction_is_the_time_of_day():
    assert read("checked_at", ["43989.75"]) == ["2024-06-08T18:00:00"]


def test_dates_already_written_out_stay_beside_numbers():
    assert read("date", ["2024-06-08", "43989", None]) == ["2024-06-08", "2024-06-08", None]


def test_other_numbers_stay_numbers():
    assert read("count", ["43989"]) == ["43989"]
    assert read("laid", ["12", "43989"]) == ["12", "43989"]
    assert read("found", ["yes"]) == ["yes"]
