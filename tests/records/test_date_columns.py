from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roadwatch.records.date_columns import FEWEST_AT_ONCE, local_times
from roadwatch.records.dates import ReadTime, read_time

EASTERN = ZoneInfo("America/New_York")
FIRST, LAST = datetime.fromisoformat("1902-01-01"), datetime.fromisoformat("2035-12-31")
FORMS = [
    *("%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M", "%m/%d/%Y %H:%M", "%m/%d/%Y %I:%M %p"),
    *("%m/%d/%Y %I:%M:%S %p", "%d/%m/%Y %H:%M", "%Y-%m-%d", "%d %b %Y %H:%M", "%Y-%m-%dT%H:%M:%S-04:00", "%Y-%m"),
]
ODD = st.sampled_from(
    ["", "24:00", "2025-05-12T24:00", "13/6/2025 7:40", "6/13/2025 13:40 pm", "2025-02-30 10:00", "x"]
)


def many(texts):
    """These texts among enough others of the same form that they are read at once."""
    return [*texts, *(f"2024-05-12T07:{k // 60 % 60:02}:{k % 60:02}" for k in range(FEWEST_AT_ONCE))]


@given(
    st.lists(
        st.tuples(st.datetimes(FIRST, LAST), st.sampled_from(FORMS)),
        min_size=1,
        max_size=30,
    ),
    st.lists(ODD, max_size=4),
    st.sampled_from(["month first", "day first", None]),
    st.sampled_from([EASTERN, ZoneInfo("UTC"), ZoneInfo("Australia/Lord_Howe")]),
)
@settings(max_examples=60, deadline=None)
def test_what_is_read_at_once_is_what_is_read_one_by_one(moments, odd, order, zone):
    texts = list(dict.fromkeys([*(moment.strftime(form) for moment, form in moments), *odd]))
    for text, iso in local_times(many(texts), zone=zone, order=order).items():
        assert read_time(text, zone=zone, order=order) == ReadTime(iso)


@pytest.mark.parametrize("text", ["2025-03-09T02:30:00", "2025-11-02T01:30:00", "2025-05-12T25:00:00", "2025-05-12"])
def test_what_needs_a_word_is_left_to_reading_one_by_one(text):
    # clocks of the eastern United States: forward on 9 March 2025, back on 2 November 2025, at 2:00
    assert text not in local_times(many([text]), zone=EASTERN, order=None)


def test_common_forms_are_read():
    days = [f"6/{day}/2025 {hour}:{minute:02} pm" for day in range(1, 31) for hour in (1, 9) for minute in (0, 30)]
    found = local_times(days, zone=EASTERN, order="month first")
    assert len(found) == len(days)
    assert found["6/8/2025 9:30 pm"] == "2025-06-08T21:30:00-04:00"
    assert local_times(days, zone=EASTERN, order=None) == {}


def test_few_times_are_left_to_reading_one_by_one():
    assert local_times(["2025-05-12T07:40:00"], zone=EASTERN, order=None) == {}
