"""Corrections: the original stays, the trace is complete, and nonsense is refused."""

import sqlite3
from contextlib import closing

import pytest
from records.store_cases import LATER, crossing, new_season, put

from roadwatch.errors import UsageError


@pytest.fixture
def season(tmp_path):
    made = new_season(tmp_path)
    put(made, [crossing(record_id="c1", seen_hinge="present")])
    return made


def amend(season, *, kind="crossings", key="c1", field="latitude", new="29.7", why="read from the photograph"):
    return season.add_changes(kind, key, {field: new}, who="Ana", when=LATER, why=why)[field]


def test_a_correction_says_what_stood_there_before(season):
    assert amend(season) == "29.6512"
    assert amend(season, new="29.8") == "29.7"
    assert amend(season, field="notes", new="x") is None
    assert amend(season, field="carapace_mm", new="110") is None


def test_the_trace_says_who_when_what_and_why(season):
    amend(season)
    assert season.changes().to_dict("records") == [
        {
            "who": "Ana",
            "changed_at": LATER,
            "kind": "crossings",
            "record_key": "c1",
            "field": "latitude",
            "old": "29.6512",
            "new": "29.7",
            "why": "read from the photograph",
        }
    ]


def test_what_was_first_stored_is_not_overwritten(season):
    amend(season)
    with closing(sqlite3.connect(season.path)) as connection:
        assert connection.execute("SELECT latitude FROM crossings").fetchall() == [(29.6512,)]


def test_a_character_seen_can_be_amended(season):
    assert amend(season, field="seen_hinge", new="looked_absent") == "present"
    assert season.read("crossings")["seen_hinge"].tolist() == ["looked_absent"]


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"kind": "roads"}, "'roads' are not records; amend one of crossings"),
        ({"key": "c2"}, "no record 'c2' among its crossings; check the name"),
        ({"field": "colour"}, "'colour' cannot be amended in crossings; see 'roadwatch fields crossings'"),
        ({"field": "record_id"}, "'record_id' cannot be amended"),
        ({"field": "taxon_as_written", "new": "x"}, "'taxon_as_written' cannot be amended"),
        ({"field": "record_key"}, "'record_key' cannot be amended"),
        ({"field": "taxon = 1; --"}, "cannot be amended"),
        ({"new": "N45.1"}, "latitude 'N45.1' does not fit"),
        ({"field": "gravid", "new": "perhaps"}, "gravid 'perhaps' does not fit"),
        ({"why": "  "}, "a correction needs its reason; say why"),
    ],
    ids=lambda case: str(case)[:30],
)
def test_a_correction_that_cannot_be_is_refused_and_leaves_no_trace(season, wrong, message):
    with pytest.raises(UsageError, match=message):
        amend(season, **wrong)
    assert len(season.changes()) == 0
