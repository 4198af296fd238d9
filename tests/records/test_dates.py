import re
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.errors import UsageError
from roadwatch.records.complaints import Misread
from roadwatch.records.dates import ReadTime, day_order, has_clock, is_only_clock, read_time, split_time, zone_of

EASTERN = ZoneInfo("America/New_York")
CENTRAL = ZoneInfo("America/Chicago")
FIRST, LAST = datetime.fromisoformat("1951-01-01"), datetime.fromisoformat("2035-12-31")


def iso(text, *, zone=EASTERN, order=None, **options):
    answer = read_time(text, zone=zone, order=order, **options)
    assert isinstance(answer, ReadTime), answer
    return answer.iso


def why_not(text, *, zone=EASTERN, order=None):
    answer = read_time(text, zone=zone, order=order)
    assert isinstance(answer, Misread), answer
    return answer.reason


@pytest.mark.parametrize(
    "text",
    [
        *("2025-05-12", "2025/05/12", "2025.5.12", "20250512", "12 May 2025", "May 12, 2025", "12-May-2025"),
        *("12th May 2025", "may 12 2025", "Monday, 12 May 2025", "Mon May 12, 2025", "12May2025"),
    ],
)
def test_one_day_in_its_written_forms(text):
    assert iso(text) == "2025-05-12"


@pytest.mark.parametrize(
    "text",
    [
        *("2025-05-12T19:40", "2025-05-12 19:40:00", "2025-05-12 7:40 pm", "May 12, 2025 at 7:40 PM"),
        *("2025-05-12T19:40:00.250", "2025-05-12 1940", "20250512T194000", "12 May 2025, 7:40p.m."),
        *("2025-05-12T19:40:00-04:00", "2025-05-12T19:40-0400", "2025-05-12T23:40Z", "2025-05-13T01:40:00+02:00"),
    ],
)
def test_one_moment_in_its_written_forms_is_local_time_with_its_offset(text):
    assert iso(text) == "2025-05-12T19:40:00-04:00"


@pytest.mark.parametrize(("text", "hour"), [("12:05 am", 0), ("12:05 pm", 12), ("1:05 am", 1), ("11:05 pm", 23)])
def test_noon_and_midnight_in_twelve_hours(text, hour):
    assert iso(f"2025-05-12 {text}") == f"2025-05-12T{hour:02}:05:00-04:00"


def test_a_time_of_utc_can_belong_to_the_day_before():
    assert iso("2025-06-01T02:30:00Z")[:10] == "2025-05-31"
    assert iso("2025-06-01 02:30", is_utc=True) == "2025-05-31T22:30:00-04:00"


def test_a_day_field_leaves_the_hour_out():
    assert iso("2025-05-12 19:40", day_only=True) == "2025-05-12"
    assert iso("2025-05-13T01:00Z", day_only=True) == "2025-05-12"


@pytest.mark.parametrize(
    ("text", "order", "day"),
    [
        ("6/8/2025", "month first", "2025-06-08"),
        ("6/8/2025", "day first", "2025-08-06"),
        ("6-8-2025", "day first", "2025-08-06"),
        ("13/6/2025", "month first", "2025-06-13"),  # can be read in one way only
        ("6/13/2025", "day first", "2025-06-13"),
        ("5/5/2025", None, "2025-05-05"),
    ],
)
def test_day_and_month_follow_the_order_of_the_file(text, order, day):
    assert iso(text, order=order) == day


def test_a_day_that_can_be_read_in_two_ways_shows_both():
    assert why_not("6/8/2025").startswith("can be 2025-06-08 or 2025-08-06, and the file does not tell which")


def test_the_order_is_inferred_from_what_can_be_read_in_one_way_only():
    told = day_order(["6/8/2025", "13/6/2025 7:40 pm", "2025-01-31", "soon"])
    assert (told.order, told.note) == ("day first", "dates are read as day/month/year: 1 can be nothing else")
    assert day_order(["6/8/2025", "6/13/2025", "12/31/2024"]).order == "month first"


def test_a_file_that_contradicts_itself_has_no_order():
    told = day_order(["13/6/2025", "6/13/2025", "6/8/2025"])
    assert told.order is None
    assert "some dates can only be day/month (1), some only month/day (1)" in told.note


@pytest.mark.parametrize("text", ["12/5/2025", "5/12/2025", "12/12/2025", "1/1/2025"])
def test_twelve_can_be_a_month(text):
    assert day_order([text]).order is None


def test_a_file_that_does_not_tell_says_so_only_where_it_matters():
    assert day_order(["6/8/2025"]).note == "no date tells whether day or month stands first"
    assert day_order(["2025-06-08"]).note == ""
    assert day_order([]).order is None


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("25/12/25", "has a year of two digits"),
        ("12-May-25", "has a year of two digits"),
        ("2025-05", "names no day"),
        ("2025", "names only a year"),
        ("2025-05-12/2025-05-14", "is a span of time"),
        ("07:40", "has no date"),
        ("7 pm", "has no date"),
        ("2025-02-29", "is not a day of the calendar"),
        ("31/4/2025", "is not a day of the calendar"),
        ("13/13/2025", "is not a day of the calendar"),
        ("0000-01-01", "is not a day of the calendar"),
        ("2025-05-12 25:00", "has a time of day that does not exist"),
        ("2025-05-12 13:40 pm", "has an hour with am or pm that is not 1 to 12"),
        ("2025-05-12 7", "has an hour without minutes"),
        ("2025-05-12T07:40+30:00", "has an offset '+30:00' that cannot be"),
        ("2025-05-12T07:40+02:75", "has an offset '+02:75' that cannot be"),
        ("12 marble 2025", "is not a date that can be read for sure"),
        ("yesterday", "is not a date that can be read for sure"),
        ("2025-05/12", "is a span of time"),
        ("", "is not a date that can be read for sure"),
    ],
)
def test_what_is_no_date_is_told_with_its_reason(text, reason):
    assert why_not(text).startswith(reason)


def test_the_day_number_of_spreadsheets_is_that_of_the_date_system_of_1900():
    # ECMA-376 part 1, 18.17.4.1: in the 1900 date system serial 1 is 1900-01-01; 36526 is 2000-01-01 (from memory)
    assert iso("36526") == "2000-01-01"
    assert iso("45789") == "2025-05-12"
    assert iso("73050") == "2099-12-31"
    for other in ("36525", "73051", "4578", "457890"):
        assert isinstance(read_time(other, zone=EASTERN, order=None), Misread)


@pytest.mark.parametrize(
    ("serial", "clock"), [("45789.5", "12:00:00"), ("45789.3194444444", "07:40:00"), ("45789,75", "18:00:00")]
)
def test_the_fraction_of_a_day_number_is_the_time_of_day(serial, clock):
    assert iso(serial) == f"2025-05-12T{clock}-04:00"
    assert iso("45789.0") == "2025-05-12"


def test_day_numbers_in_a_file_are_said():
    assert day_order(["45789", "2025-05-13"]).note == "numbers such as 45789 are spreadsheet days"
    assert day_order(["45789", "13/6/2025"]).note.endswith("; numbers such as 45789 are spreadsheet days")


# ISO 8601:2004, 4.2.3: 24:00 is the end of a day and the same instant as 00:00 of the next (from memory).
def test_the_end_of_a_day_is_the_first_instant_of_the_next():
    assert iso("2025-05-12 24:00") == "2025-05-13T00:00:00-04:00"
    assert iso("2025-12-31T24:00:00") == "2026-01-01T00:00:00-05:00"
    assert "time of day that does not exist" in why_not("2025-05-12 24:01")
    assert "time of day that does not exist" in why_not("9999-12-31 24:00")


def test_a_year_of_two_digits_is_read_only_among_the_years_that_the_file_writes_in_full():
    span = day_order(["5/31/24", "6/1/2023", "2025-07-01", "20240612"]).years
    assert span == (2023, 2025)
    assert iso("5/12/25", order="month first", years=span) == "2025-05-12"
    assert iso("12-May-24", years=span) == "2024-05-12"
    for text in ("5/12/26", "12-May-22"):
        answer = read_time(text, zone=EASTERN, order="month first", years=span)
        assert "has a year of two digits" in answer.reason
    assert day_order(["5/31/24"]).years is None


def test_a_year_of_two_digits_that_is_only_likely_is_proposed():
    answer = read_time("5/12/25 7:40", zone=EASTERN, order="month first")
    assert (answer.reason[:24], answer.proposal) == ("has a year of two digits", "2025-05-12T07:40:00-04:00")
    assert read_time("12-May-25", zone=EASTERN, order=None).proposal == "2025-05-12"


def test_three_numbers_of_two_digits_may_have_their_year_in_front_and_nothing_is_proposed():
    answer = read_time("25-05-12", zone=EASTERN, order="day first", years=(2012, 2025))
    assert (answer.reason[:24], answer.proposal) == ("has a year of two digits", "")
    assert day_order(["25-05-12"]).order is None  # 25 is no evidence of a day in front


def test_a_day_of_two_readings_is_told_in_words_without_a_proposal():
    answer = read_time("6/8/25", zone=EASTERN, order=None)
    assert answer == Misread("can be 2025-06-08 or 2025-08-06, and the file does not tell which; write year-month-day")


# RFC 5322, section 4.3: EST is -0500, EDT -0400, CST -0600, CDT -0500, MST -0700, MDT -0600, PST -0800, PDT -0700.
@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("2025-05-12 07:40 EDT", "2025-05-12T07:40:00-04:00"),
        ("2025-01-12 07:40 EST", "2025-01-12T07:40:00-05:00"),
        ("2025-05-12 7:40 pm CDT", "2025-05-12T20:40:00-04:00"),
        ("2025-05-12 07:40 MST", "2025-05-12T10:40:00-04:00"),
        ("2025-05-12 07:40 pdt", "2025-05-12T10:40:00-04:00"),
        ("2025-05-12 07:40 UTC", "2025-05-12T03:40:00-04:00"),
        ("2025-05-12 07:40 GMT", "2025-05-12T03:40:00-04:00"),
        ("2025-05-12 07:40 ET", "2025-05-12T07:40:00-04:00"),
        ("2025-05-12 07:40 Eastern", "2025-05-12T07:40:00-04:00"),
        ("2025-05-12 07:40 Central Time", "2025-05-12T08:40:00-04:00"),
        ("2025-05-12 07:40 Eastern Daylight Time", "2025-05-12T07:40:00-04:00"),
        ("2025-05-12 07:40 America/Chicago", "2025-05-12T08:40:00-04:00"),
        ("2025-05-12T07:40[America/Chicago]", "2025-05-12T08:40:00-04:00"),
    ],
)
def test_a_zone_behind_the_time_is_followed_where_it_means_one_thing(text, found):
    assert iso(text) == found


@pytest.mark.parametrize("word", ["IST", "BST", "AST", "XYZ", "Mars/Olympus", "local"])
def test_a_zone_that_can_be_several_or_none_is_held_back(word):
    assert word in why_not(f"2025-05-12 07:40 {word}")
    assert "offset" in why_not(f"2025-05-12 07:40 {word}")


def test_the_season_s_own_abbreviation_means_the_season_s_zone():
    assert iso("2025-07-12 07:40 BST", zone=ZoneInfo("Europe/London")) == "2025-07-12T07:40:00+01:00"
    assert iso("2025-07-12 07:40 AKDT", zone=ZoneInfo("America/Anchorage")) == "2025-07-12T07:40:00-08:00"


def test_standard_time_written_in_summer_is_held_back_with_the_time_on_the_wall_proposed():
    answer = read_time("2025-07-12 07:40 EST", zone=EASTERN, order=None)
    assert answer.proposal == "2025-07-12T07:40:00-04:00"
    assert "it is 2025-07-12T07:40:00-04:00 by the clock or 2025-07-12T08:40:00-04:00 by the word" in answer.reason
    assert iso("2025-07-12 07:40 CST") == "2025-07-12T09:40:00-04:00"  # another region's word, which may be meant


def test_the_later_of_two_times_on_the_clock_has_the_later_offset():
    answer = read_time("2025-11-02 01:30 (second time)", zone=EASTERN, order=None)
    assert answer == ReadTime("2025-11-02T01:30:00-05:00")
    assert iso("2025-11-02 03:30 (second time)") == "2025-11-02T03:30:00-05:00"


def test_a_leap_day_is_a_day():
    assert iso("2024-02-29") == "2024-02-29"


# Clocks of the eastern United States went forward on 9 March 2025 at 2:00 and back on 2 November 2025 at 2:00
# (Energy Policy Act of 2005: second Sunday of March, first Sunday of November).
def test_an_hour_that_clocks_skip_is_refused():
    assert "does not exist in America/New_York" in why_not("2025-03-09 02:30")
    assert iso("2025-03-09 03:00") == "2025-03-09T03:00:00-04:00"
    assert iso("2025-03-09 01:59") == "2025-03-09T01:59:00-05:00"


def test_an_hour_that_comes_twice_is_the_first_with_a_remark():
    answer = read_time("2025-11-02 01:30", zone=EASTERN, order=None)
    assert isinstance(answer, ReadTime)
    assert answer.iso == "2025-11-02T01:30:00-04:00"
    assert "came twice" in answer.remark
    assert read_time("2025-11-02 02:00", zone=EASTERN, order=None) == ReadTime("2025-11-02T02:00:00-05:00")


def test_an_hour_with_its_offset_is_never_doubtful():
    assert iso("2025-11-02T01:30-05:00") == "2025-11-02T01:30:00-05:00"


def test_the_offset_is_that_of_the_season_s_timezone():
    assert iso("2025-01-12 07:40") == "2025-01-12T07:40:00-05:00"
    assert iso("2025-07-12 07:40", zone=CENTRAL) == "2025-07-12T07:40:00-05:00"


@given(st.datetimes(FIRST, LAST), st.sampled_from([EASTERN, CENTRAL, ZoneInfo("UTC")]))
def test_local_times_agree_with_the_timezone_database(moment, zone):
    moment = moment.replace(microsecond=0)
    answer = read_time(moment.isoformat(sep=" "), zone=zone, order=None)
    aware = moment.replace(tzinfo=zone)
    if aware.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != moment:
        assert isinstance(answer, Misread)  # the round trip through UTC moves an hour that was skipped
    else:
        assert isinstance(answer, ReadTime)
        assert datetime.fromisoformat(answer.iso) == aware


@given(st.datetimes(FIRST, LAST, timezones=st.just(UTC)))
def test_times_with_an_offset_keep_their_instant(moment):
    moment = moment.replace(microsecond=0)
    assert datetime.fromisoformat(iso(moment.isoformat())) == moment


@given(st.dates())
def test_every_day_of_the_calendar_is_read_back(day):
    assert iso(day.isoformat()) == day.isoformat()
    assert iso(f"{day.month}/{day.day}/{day.year:04}", order="month first") == str(day)


@given(st.text() | st.from_regex(r"[0-9]{1,4}[-/ ][0-9]{1,2}[-/ ][0-9]{1,4}( [0-9:apm]{1,8})?", fullmatch=True))
def test_any_text_is_iso_text_or_a_misreading(text):
    answer = read_time(text, zone=EASTERN, order="month first")
    assert isinstance(answer, Misread) or re.fullmatch(r"\d{4}-\d\d-\d\d(T.+)?", answer.iso)
    assert day_order([text]).order in (None, "month first", "day first")


def test_an_unknown_timezone_is_the_caller_s_fault():
    with pytest.raises(UsageError, match="timezone 'Mars/Olympus' is not known; write a name of the IANA database"):
        zone_of("Mars/Olympus")
    with pytest.raises(UsageError, match="is not known"):
        zone_of("../etc/passwd")


def test_a_written_time_knows_its_parts():
    written = split_time("13/6/2025 7:40 pm -04:00")
    assert (written.one, written.two, written.year) == (13, 6, 2025)
    assert (written.clock, written.offset) == ((19, 40, 0), "-04:00")


@pytest.mark.parametrize(
    ("text", "clock", "only"),
    [("2025-05-12", False, False), ("2025-05-12 07:40", True, False), ("7:40 am", False, True)],
)
def test_dates_with_and_without_a_clock(text, clock, only):
    assert (has_clock(text), is_only_clock(text)) == (clock, only)
