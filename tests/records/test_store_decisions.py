"""Decisions about pairs of records are kept among the corrections of both, and the latest holds."""

import pytest
from records.store_cases import LATER, NOW, crossing, new_season, put

from roadwatch.errors import UsageError


@pytest.fixture
def season(tmp_path):
    season = new_season(tmp_path)
    put(season, [crossing(record_id=f"c{k}", latitude=29.0 + k / 100) for k in range(4)])
    return season


def decide(season, *pairs, word="yes", when=NOW, why="one animal in both photographs"):
    season.decide(pairs, word, who="Ana", when=when, why=why)


def test_nothing_is_decided_in_a_new_season(season):
    assert season.decisions().empty
    assert list(season.decisions()) == ["record_a", "record_b", "word", "who", "changed_at", "why"]


def test_the_order_of_the_two_names_does_not_matter(season):
    decide(season, ("c2", "c1"))
    decide(season, ("c1", "c2"), word="no", when=LATER)
    (row,) = season.decisions().to_dict("records")
    assert row == {
        "record_a": "c1",
        "record_b": "c2",
        "word": "no",
        "who": "Ana",
        "changed_at": LATER,
        "why": "one animal in both photographs",
    }
    assert season.changes()["old"].tolist() == ["undecided", "undecided", "yes", "yes"]


def test_a_decision_changes_no_field_of_a_record(season):
    before = season.read("crossings")
    decide(season, ("c1", "c2"))
    assert season.read("crossings").equals(before)


def test_all_pairs_are_kept_or_none(season):
    with pytest.raises(UsageError, match="holds no record 'c9'"):
        decide(season, ("c1", "c2"), ("c3", "c9"))
    assert season.decisions().empty
    assert season.changes().empty


def test_a_reason_is_asked_for(season):
    with pytest.raises(UsageError, match="needs its reason"):
        decide(season, ("c1", "c2"), why="")


def test_a_decision_taken_back_is_no_longer_listed(season):
    decide(season, ("c1", "c2"), ("c1", "c3"))
    decide(season, ("c3", "c1"), word="undecided")
    assert season.decisions()[["record_a", "record_b"]].to_numpy().tolist() == [["c1", "c2"]]


def test_a_decision_does_not_return_with_a_record_that_left(season):
    put(season, [crossing(record_id="late")], file="b.csv")
    decide(season, ("c1", "late"))
    season.undo(2, who="Ana", when=LATER, why="")
    assert season.decisions().empty
    put(season, [crossing(record_id="late")], file="b.csv", ingested_at=LATER)
    assert season.decisions().empty
    assert [row["undone_at"] for row in season.trace("crossings", "c1").changes] == [LATER]


def test_names_that_look_like_the_field_itself_are_kept_apart(season):
    strange = "same animal as c1"
    put(season, [crossing(record_id=strange)], file="b.csv")
    decide(season, ("c1", strange))
    assert season.decisions()[["record_a", "record_b"]].to_numpy().tolist() == [["c1", strange]]
