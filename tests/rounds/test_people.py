"""Who can come when, as people write it."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from roadwatch.errors import NotEnoughDataError
from roadwatch.rounds.people import UNNAMED, available_days, team_of

MONDAY = date(2025, 7, 14)  # a Monday by the calendar


def days(cell, n_days=7):
    return np.flatnonzero(available_days(cell, first_day=MONDAY, n_days=n_days)[0]).tolist()


@pytest.fixture
def people():
    def make(**changes):
        row = {
            "observer": "Ada",
            "start_longitude": -81.9,
            "start_latitude": 31.7,
            "days": "Mo;We",
            "hours_per_day": 3.0,
            "may_open_nests": True,
        }
        return pd.DataFrame([row | changes])

    return make


def team(table, n_days=7):
    return team_of(table, first_day=MONDAY, n_days=n_days)


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        ("Mo;We;Sa", [0, 2, 5]),
        ("mon; wed", [0, 2]),
        ("Tuesday", [1]),
        ("Su", [6]),
        ("2025-07-15;2025-07-20", [1, 6]),
        ("Mo;2025-07-16", [0, 2]),
        ("daily", [0, 1, 2, 3, 4, 5, 6]),
        ("Mo,Tu", [0, 1]),
        ("", []),
        (None, []),
        ("2025-07-13", []),  # the day before
        ("2025-07-21", []),  # the day after the span
    ],
)
def test_days_are_read_as_written(cell, expected):
    assert days(cell) == expected


def test_weekdays_come_again_each_week():
    assert days("Mo", n_days=16) == [0, 7, 14]


def test_a_word_that_is_no_day_is_told_and_not_used(people):
    found = team(people(days="Mo;someday"))
    assert found.available[0].tolist() == [True, *[False] * 6]
    assert any("'someday'" in note and "Mo;We;Sa" in note for note in found.notes)


def test_hours_become_minutes_and_a_blank_is_no_limit_and_is_said(people):
    assert team(people()).day_minutes.tolist() == [180.0]
    found = team(people(hours_per_day=np.nan))
    assert np.isinf(found.day_minutes[0])
    assert any("No hours are known of Ada" in note for note in found.notes)


def test_a_start_that_is_not_known_is_said(people):
    found = team(people(start_longitude=np.nan, start_latitude=np.nan))
    assert any("No start is known of Ada" in note for note in found.notes)


@pytest.mark.parametrize(("cell", "may"), [(True, True), (False, False), (None, False), (np.nan, False)])
def test_only_a_stated_permit_opens_nests(people, cell, may):
    found = team(people(may_open_nests=cell))
    assert found.may_open.tolist() == [may]
    assert any("Nobody on file may open nests" in note for note in found.notes) is not may


def test_without_people_there_is_one_unnamed_observer_and_it_says_so():
    found = team(pd.DataFrame())
    assert found.names == (UNNAMED,)
    assert found.available.all()
    assert "one unnamed observer" in found.notes[0]


def test_nobody_with_a_day_in_the_span_is_not_enough(people):
    with pytest.raises(NotEnoughDataError, match="none of the 1 people on file has a day from 2025-07-14"):
        team(people(days="2024-01-01"))


def test_the_order_of_people_does_not_matter(people):
    table = pd.concat([people(), people(observer="Bo", days="Fr")])
    assert team(table).names == team(table.iloc[::-1]).names == ("Ada", "Bo")
