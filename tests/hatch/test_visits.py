from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from roadwatch.hatch.visits import ENDED, HATCHED, REMARKED, Visited, last_outcomes
from roadwatch.records.fields import fields_of

TODAY = date(2024, 8, 1)


def visits(*rows: tuple[str, str, str]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=["nest_id", "checked_at", "outcome"])


def test_every_outcome_of_the_field_table_is_thought_of():
    told = {*ENDED, *HATCHED, *REMARKED, "intact", "unknown"}
    assert told == set(fields_of("checks")["outcome"].choices)


@pytest.mark.parametrize("outcome", ENDED)
def test_an_ending_outcome_gives_its_sentence_with_the_day(outcome):
    found = last_outcomes(visits(("N1", "2024-07-01T09:00:00-04:00", outcome)), as_of=TODAY)["N1"]
    assert found.ended is not None
    assert found.ended.startswith("no window: ")
    assert "2024-07-01" in found.ended
    assert found.remark is None


@pytest.mark.parametrize("outcome", REMARKED)
def test_other_outcomes_leave_the_window_and_a_remark(outcome):
    found = last_outcomes(visits(("N1", "2024-07-01", outcome)), as_of=TODAY)["N1"]
    assert found.ended is None
    assert found.remark is not None
    assert "2024-07-01" in found.remark


@pytest.mark.parametrize("outcome", ["intact", "unknown"])
def test_an_intact_nest_has_nothing_settled(outcome):
    assert last_outcomes(visits(("N1", "2024-07-01", outcome)), as_of=TODAY) == {}


def test_no_sentence_ever_says_that_silence_is_failure():
    assert not any("not emerged" in words or "nothing" in words for words in ENDED.values())


def test_later_visits_are_not_known_yet():
    assert last_outcomes(visits(("N1", "2024-08-02", "emerged")), as_of=TODAY) == {}


def test_a_visit_on_the_day_itself_is_known():
    assert "N1" in last_outcomes(visits(("N1", "2024-08-01T20:00:00-04:00", "emerged")), as_of=TODAY)


def test_an_ending_stands_whatever_later_visits_say():
    table = visits(("N1", "2024-07-01", "depredated_full"), ("N1", "2024-07-09", "lost_marker"))
    assert last_outcomes(table, as_of=TODAY)["N1"] == Visited("depredated_full", "2024-07-01")


def test_the_latest_of_several_remarks_is_told():
    table = visits(("N1", "2024-07-09", "flooded"), ("N1", "2024-07-01", "depredated_partial"))
    assert last_outcomes(table, as_of=TODAY)["N1"] == Visited("flooded", "2024-07-09")


@pytest.mark.parametrize("table", [None, pd.DataFrame(), visits()])
def test_no_visits_settle_nothing(table):
    assert last_outcomes(table, as_of=TODAY) == {}


def test_visits_without_day_or_outcome_are_passed_over():
    table = visits(("N1", None, "emerged"), ("N1", "2024-07-01", None), (None, "2024-07-01", "emerged"))  # type: ignore[arg-type]
    assert last_outcomes(table, as_of=TODAY) == {}


@pytest.mark.parametrize("outcome", HATCHED)
def test_hatchlings_seen_in_the_nest_show_that_it_hatched_whatever_else_is_remarked(outcome):
    table = visits(("N1", "2024-07-01", outcome), ("N1", "2024-07-09", "flooded"))
    found = last_outcomes(table, as_of=TODAY)["N1"]
    assert found == Visited(outcome, "2024-07-01")
    assert found.hatched
    assert (found.ended, found.remark) == (None, None)
