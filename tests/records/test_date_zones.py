from datetime import datetime
from zoneinfo import ZoneInfo, available_timezones

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.records.complaints import Misread
from roadwatch.records.date_zones import ReadTime, local_time, zone_of

EASTERN = ZoneInfo("America/New_York")
NOON = datetime.fromisoformat("2025-07-12T12:00:00")
FIRST, LAST = datetime.fromisoformat("1951-01-01"), datetime.fromisoformat("2035-12-31")


@given(st.datetimes(FIRST, LAST), st.sampled_from(sorted(available_timezones() - {"localtime"})))
def test_a_named_zone_is_that_of_the_timezone_database(moment, name):
    if "/" not in name:
        return  # single words are abbreviations here
    moment = moment.replace(microsecond=0)
    there = moment.replace(tzinfo=ZoneInfo(name))
    answer = local_time(moment, offset=name, zone=EASTERN)
    if isinstance(answer, Misread):
        assert "does not exist" in answer.reason
        assert there.utcoffset() != there.replace(fold=1).utcoffset()
    else:
        assert datetime.fromisoformat(answer.iso) == there


@given(st.datetimes(FIRST, LAST), st.integers(-12, 14), st.sampled_from([0, 30, 45]))
def test_an_offset_moves_the_instant_by_itself(moment, hours, minutes):
    moment = moment.replace(microsecond=0)
    offset = f"{'-' if hours < 0 else '+'}{abs(hours):02}:{minutes:02}"
    answer = local_time(moment, offset=offset, zone=EASTERN)
    assert datetime.fromisoformat(answer.iso) == datetime.fromisoformat(f"{moment.isoformat()}{offset}")


@pytest.mark.parametrize("offset", ["UTC-4", "GMT-4", "utc-04:00", "-04", "-0400", "-04:00", "UTC -4"])
def test_one_offset_in_its_written_forms(offset):
    assert local_time(NOON, offset=offset, zone=EASTERN) == ReadTime("2025-07-12T12:00:00-04:00")


@pytest.mark.parametrize("offset", ["+24:00", "-04:75", "UTC+99"])
def test_an_offset_that_cannot_be_is_told(offset):
    assert "that cannot be" in local_time(NOON, offset=offset, zone=EASTERN).reason


def test_zones_without_letters_have_no_abbreviations():
    sao_paulo = zone_of("America/Sao_Paulo")  # the database writes -03
    assert isinstance(local_time(NOON, offset="BRT", zone=sao_paulo), Misread)
    assert local_time(NOON, offset="", zone=sao_paulo).iso == "2025-07-12T12:00:00-03:00"


def test_words_of_a_region_mean_its_clock_in_summer_and_in_winter():
    winter = datetime.fromisoformat("2025-01-12T12:00:00")
    for moment, iso in ((NOON, "2025-07-12T13:00:00-04:00"), (winter, "2025-01-12T13:00:00-05:00")):
        for word in ("CT", "Central", "Central Time"):
            assert local_time(moment, offset=word, zone=EASTERN).iso == iso
    assert local_time(winter, offset="Central Standard Time", zone=EASTERN).iso == "2025-01-12T13:00:00-05:00"
