import pandas as pd
import pytest
from records.record_cases import TIMEZONE, context

from roadwatch.records.checks import accept_rows
from roadwatch.records.readers.loggers import REPEATED_HOUR_COLUMN
from roadwatch.records.tables import RawTable
from roadwatch.records.time_cells import SECOND_TIME_COLUMN, days_of_parts, joined_times, with_second_times


def texts(*cells):
    return pd.Series(cells, dtype=object)


def blank_as_none(column):
    return [None if pd.isna(cell) else cell for cell in column]


def test_an_hour_is_put_behind_a_date_that_has_none():
    main = texts("2025-05-12", "2025-05-12 08:00", None, "5/12/2025")
    clock = texts("07:40", "07:40", "07:40", None)
    joined = joined_times(main, clock=clock, day=None)
    assert blank_as_none(joined) == ["2025-05-12 07:40", "2025-05-12 08:00", None, "5/12/2025"]


def test_a_day_is_put_before_a_mere_hour():
    main = texts("07:40", "2025-05-13 09:00", "7 am", None)
    day = texts("2025-05-12", "2025-05-12", None, "2025-05-12")
    joined = joined_times(main, clock=None, day=day)
    assert blank_as_none(joined) == ["2025-05-12 07:40", "2025-05-13 09:00", "7 am", None]


def test_without_either_nothing_changes():
    main = texts("2025-05-12", None)
    assert blank_as_none(joined_times(main, clock=None, day=None)) == ["2025-05-12", None]


def test_year_month_and_day_are_joined_where_all_are_there():
    year, month, day = (
        texts("2025", "2025.0", "2025", None),
        texts("5", "5.0", "May", "5"),
        texts("12", "12", "12", "1"),
    )
    assert blank_as_none(days_of_parts(year, month, day)) == ["2025-5-12", "2025-5-12", "12 May 2025", None]


@pytest.mark.parametrize(
    ("columns", "found"),
    [
        ({"year": "2025", "month": "5", "day": "12"}, "2025-05-12"),
        ({"year": "2025", "month": "May", "day": "12", "eventTime": "07:40"}, "2025-05-12T07:40:00-04:00"),
        ({"eventDate": "2025-05-13", "year": "2025", "month": "5", "day": "12"}, "2025-05-13"),
        ({"eventDate": None, "year": "2025", "month": "5", "day": "12"}, "2025-05-12"),
        ({"date": None, "Year": "2025", "Month": "05", "Day": "12", "time": "7:40"}, "2025-05-12T07:40:00-04:00"),
    ],
)
def test_a_day_in_three_columns_of_darwin_core_is_read(columns, found):
    # eventDate, eventTime, year, month and day are terms of Darwin Core (names from memory)
    place = {"decimalLongitude": ["-82.3"], "decimalLatitude": ["29.6"], "scientificName": ["Trachemys scripta"]}
    raw = RawTable.of_columns("dwc.csv", {**{name: [cell] for name, cell in columns.items()}, **place})
    accepted = accept_rows(raw, "crossings", timezone=TIMEZONE, context=context())
    assert accepted.table["observed_at"].tolist() == [found]
    assert accepted.table["other"].tolist() == [None]


@pytest.mark.parametrize(
    ("columns", "found"),
    [
        ({"observed_at": "2025-05-12 07:40", "timezone": "CDT"}, "2025-05-12T08:40:00-04:00"),
        ({"date": "2025-05-12", "time": "07:40", "UTC offset": "-05:00"}, "2025-05-12T08:40:00-04:00"),
        ({"date": "2025-05-12", "time": "07:40", "tz": "UTC-5"}, "2025-05-12T08:40:00-04:00"),
        ({"date": "2025-05-12", "time": "07:40", "tz": "America/Chicago"}, "2025-05-12T08:40:00-04:00"),
        ({"date": "2025-05-12T07:40:00-04:00", "tz": "CDT"}, "2025-05-12T07:40:00-04:00"),
        ({"date": "2025-05-12", "tz": "CDT"}, "2025-05-12"),
    ],
)
def test_a_timezone_in_a_column_of_its_own_is_followed_where_a_time_has_none(columns, found):
    place = {"lon": ["-82.3"], "lat": ["29.6"], "species": ["slider"]}
    raw = RawTable.of_columns("club.csv", {**{name: [cell] for name, cell in columns.items()}, **place})
    accepted = accept_rows(raw, "crossings", timezone=TIMEZONE, context=context())
    assert accepted.table["observed_at"].tolist() == [found]


@pytest.mark.parametrize(
    ("start", "end", "started_at", "ended_at"),
    [
        (None, None, "2025-05-12", None),
        ("NA", None, "2025-05-12", None),
        ("07:40", None, "2025-05-12T07:40:00-04:00", None),
        (None, "09:10", "2025-05-12", "2025-05-12T09:10:00-04:00"),
    ],
)
def test_a_search_whose_start_is_blank_began_on_its_day(start, end, started_at, ended_at):
    cells = {"search_id": "s1", "date": "2025-05-12", "start": start, "end": end, "method": "foot", "roads": "A 1"}
    raw = RawTable.of_columns("searches.csv", {name: [cell] for name, cell in cells.items()})
    accepted = accept_rows(raw, "searches", timezone=TIMEZONE, context=context())
    assert accepted.table["started_at"].tolist() == [started_at]
    assert accepted.table["ended_at"].tolist() == [ended_at]


def test_the_name_of_the_repeated_hour_is_that_of_the_logger_s_reader():
    assert SECOND_TIME_COLUMN == REPEATED_HOUR_COLUMN


def test_only_the_later_of_two_times_is_marked():
    marked = with_second_times(texts("01:30", "01:30", None), texts(None, "yes", "yes"))
    assert blank_as_none(marked) == ["01:30", "01:30 (second time)", None]


def test_the_later_of_two_times_of_a_logger_has_the_later_offset():
    # clocks of the eastern United States went back on 2 November 2025 at 2:00
    times = ["2025-11-02 01:30", "2025-11-02 01:30", "2025-11-02 02:30"]
    columns = {"series_id": ["L"] * 3, "at": times, "temp_c": ["20"] * 3, SECOND_TIME_COLUMN: [None, "yes", None]}
    raw = RawTable.of_columns("logger.csv", columns, kind="temperatures")
    accepted = accept_rows(raw, "temperatures", timezone=TIMEZONE, context=context())
    assert accepted.table["at"].tolist() == [
        "2025-11-02T01:30:00-04:00",
        "2025-11-02T01:30:00-05:00",
        "2025-11-02T02:30:00-05:00",
    ]
    assert [fault.line for fault in accepted.faults] == [2]  # the first of the two is said to be taken


@pytest.mark.parametrize(
    ("day", "joined"),
    [  # 45780 is 2025-05-03: 45658 is 2025-01-01 in spreadsheets, and May 3 comes 122 days later
        ("45780", "2025-05-03 8:15"),
        ("45780.5", "45780.5"),
        ("5/3/2025 0:00:00", "5/3/2025 8:15"),
        ("2025-05-03T00:00:00", "2025-05-03 8:15"),
        ("5/3/2025 12:00:00 AM", "5/3/2025 8:15"),
        ("5/3/2025 10:00", "5/3/2025 10:00"),
        ("2025-05-03T00:00:00Z", "2025-05-03T00:00:00Z"),
    ],
)
def test_a_day_that_a_program_wrote_takes_the_hour_of_its_own_column(day, joined):
    assert list(joined_times(texts(day), clock=texts("8:15"), day=None)) == [joined]


def test_a_midnight_without_an_hour_beside_it_stays():
    assert list(joined_times(texts("5/3/2025 0:00:00"), clock=texts(None), day=None)) == ["5/3/2025 0:00:00"]


def test_a_spreadsheet_day_beside_its_hour_is_read():
    columns = {"date": ["45780"], "time": ["8:15"], "species": ["turtle"], "lat": ["29.6"], "lon": ["-82.3"]}
    accepted = accept_rows(RawTable.of_columns("a.csv", columns), "crossings", timezone=TIMEZONE, context=context())
    assert list(accepted.table["observed_at"]) == ["2025-05-03T08:15:00-04:00"]
