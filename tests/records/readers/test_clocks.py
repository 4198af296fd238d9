# ruff: noqa: DTZ001  # a logger's clock has no zone
"""Times as loggers write them, against Python's own strftime."""

from datetime import datetime, timedelta

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roadwatch.records.readers.clocks import iso_texts, offset_in_name, read_clock

FORMS = [
    ("%m/%d/%y %I:%M:%S %p", "month first"),
    ("%m/%d/%Y %I:%M %p", "month first"),
    ("%d.%m.%Y %H:%M", "day first"),
    ("%d/%m/%Y %H:%M:%S", "day first"),
    ("%Y-%m-%d %H:%M:%S", "year first"),
    ("%Y-%m-%dT%H:%M:%S", "year first"),
    ("%Y/%m/%d %H:%M", "year first"),
]


def hourly(start, n_readings, form):
    moments = [start + timedelta(hours=hour) for hour in range(n_readings)]
    return moments, pd.Series([moment.strftime(form) for moment in moments], dtype=object)


@pytest.mark.parametrize(("form", "order"), FORMS)
@settings(max_examples=10, deadline=None)
@given(
    start=st.datetimes(datetime(1995, 1, 1), datetime(2060, 1, 1)).map(
        lambda t: t.replace(minute=0, second=0, microsecond=0)
    )
)
def test_thirty_days_of_hours_are_read_in_every_form(form, order, start):
    moments, cells = hourly(start, 24 * 30, form)
    clock = read_clock(cells)
    assert clock is not None
    assert clock.order == order
    assert iso_texts(clock, cells, offset=None) == [moment.isoformat() for moment in moments]


def test_even_steps_tell_the_order_where_no_day_is_above_twelve():
    moments, cells = hourly(datetime(2024, 6, 8), 60, "%m/%d/%y %H:%M")
    clock = read_clock(cells)
    assert clock is not None
    assert clock.order == "month first"
    assert iso_texts(clock, cells, offset=None)[-1] == moments[-1].isoformat()


def test_a_single_ambiguous_day_is_not_guessed():
    assert read_clock(pd.Series(["06/08/24 01:00", "06/08/24 02:00"])) is None


@pytest.mark.parametrize(
    ("written", "iso"),
    [
        ("06/30/24 12:00:00 AM", "2024-06-30T00:00:00"),
        ("06/30/24 12:00:00 PM", "2024-06-30T12:00:00"),
        ("06/30/24 01:05:00 pm", "2024-06-30T13:05:00"),
        ("06/30/24 1:05 p.m.", "2024-06-30T13:05:00"),
        ("2024-06-30 24:00", "2024-07-01T00:00:00"),
        ("2024-06-30T13:05:00.250", "2024-06-30T13:05:00"),
        ("2024-06-30T13:05:00-04:00", "2024-06-30T13:05:00-04:00"),
        ("2024-06-30T13:05:00Z", "2024-06-30T13:05:00Z"),
        ("06/30/99 01:00", "1999-06-30T01:00:00"),
    ],
)
def test_odd_hours_years_and_offsets_are_understood(written, iso):
    cells = pd.Series([written])
    clock = read_clock(cells)
    assert clock is not None
    assert iso_texts(clock, cells, offset=None) == [iso]


@pytest.mark.parametrize("written", ["yesterday", "2024-02-30 10:00", "2024-06-30 13:00 PM", "2024-06-30 25:00", None])
def test_what_is_no_time_stays_as_written(written):
    cells = pd.Series(["2024-06-30 10:00", written], dtype=object)
    clock = read_clock(cells)
    assert clock is not None
    assert iso_texts(clock, cells, offset=None) == ["2024-06-30T10:00:00", written]


def test_an_offset_of_the_header_is_put_on_each_time():
    cells = pd.Series(["2024-06-30 10:00"])
    clock = read_clock(cells)
    assert clock is not None
    assert iso_texts(clock, cells, offset="-04:00") == ["2024-06-30T10:00:00-04:00"]


@pytest.mark.parametrize(
    ("name", "offset"),
    [("Date Time, GMT-04:00", "-04:00"), ("time (UTC+5:30)", "+05:30"), ("Time, GMT+1", "+01:00"), ("Date Time", None)],
)
def test_an_offset_in_a_name_is_read(name, offset):
    assert offset_in_name(name) == offset
