"""Calendars as RFC 5545 asks for them, read back by the library and line by line."""

from datetime import date

import pandas as pd
import pytest
from icalendar import Calendar

from roadwatch.share.calendar import rounds_calendar

AS_OF = date(2025, 7, 15)


@pytest.fixture
def visits():
    rows = [
        ("2025-07-16", "n1", "Ada", 1, "caged: look; mind, the dog"),
        ("2025-07-16", "n2", "Ada", 2, "outcome\nline"),
        ("2025-07-16", "n3", "Bo", 1, "ünïcode 🐢"),
        ("2025-07-17", "n1", "Ada", 1, "again"),
    ]
    return pd.DataFrame(rows, columns=["date", "nest_id", "observer", "order", "reason"])


def write(visits, **changes):
    return rounds_calendar(visits, **({"season": "county", "as_of": AS_OF, "cautions": ("Never dig.",)} | changes))


def events(content):
    return list(Calendar.from_ical(content).walk("VEVENT"))


def test_there_is_an_all_day_event_for_each_person_and_day(visits):
    found = events(write(visits))
    assert len(found) == 3
    for event in found:
        assert event["dtstart"].params["VALUE"] == "DATE"  # RFC 5545, 3.6.1: all-day events are DATE values
        assert (event["dtend"].dt - event["dtstart"].dt).days == 1  # and end on the day after, which is not included


def test_an_event_says_who_goes_where_in_which_order_and_that_it_is_for_the_team(visits):
    event = events(write(visits))[0]
    assert event["summary"] == "Nest round of Ada: 2 nests"
    said = str(event["description"])
    assert said.index("Team only") < said.index("1. n1: caged: look; mind, the dog") < said.index("2. n2")
    assert "Never dig." in said


def test_ids_are_unique_and_stay_when_the_plan_changes(visits):
    before = [str(event["uid"]) for event in events(write(visits))]
    after = [str(event["uid"]) for event in events(write(visits.assign(reason="other"), as_of=date(2025, 7, 20)))]
    assert len(set(before)) == 3
    assert before == after


def test_another_season_has_other_ids(visits):
    assert not {str(e["uid"]) for e in events(write(visits))} & {
        str(e["uid"]) for e in events(write(visits, season="other"))
    }


def test_a_later_plan_has_a_higher_sequence(visits):
    early, late = (events(write(visits, as_of=day))[0]["sequence"] for day in (AS_OF, date(2025, 7, 16)))
    assert late == early + 1


def test_the_same_plan_gives_the_same_bytes(visits):
    assert write(visits) == write(visits)


def test_no_position_is_in_it(visits):
    content = write(visits.assign(longitude=-81.912345, latitude=31.712345))
    assert not [event for event in events(content) if "geo" in event or "location" in event]
    assert b"81.9" not in content


def test_lines_end_and_fold_as_the_standard_asks(visits):
    content = write(visits.assign(reason="long " * 60))
    assert b"\n" not in content.replace(b"\r\n", b"")  # RFC 5545, 3.1: lines end with CRLF
    assert max(len(line) for line in content.split(b"\r\n")) <= 75  # octets, without the line break


@pytest.mark.parametrize("name", ["VERSION:2.0", "PRODID:", "CALSCALE:GREGORIAN", "METHOD:PUBLISH"])
def test_the_calendar_names_what_it_is(visits, name):
    assert name.encode() in write(visits)


@pytest.mark.parametrize("name", ["uid", "dtstamp", "dtstart", "sequence", "summary"])
def test_every_event_has_what_the_standard_requires(visits, name):
    assert all(name in event for event in events(write(visits)))


def test_text_comes_back_as_it_was_written(visits):
    assert "ünïcode 🐢" in str(events(write(visits))[1]["description"])


def test_an_empty_plan_is_an_empty_calendar(visits):
    assert events(write(visits.iloc[:0])) == []
