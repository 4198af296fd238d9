"""Everything the season knows of how a record came to be."""

import pytest
from records.store_cases import LATER, NOW, crossing, fault, new_season, put

from roadwatch.errors import UsageError


@pytest.fixture
def season(tmp_path):
    return new_season(tmp_path)


def test_every_row_that_told_of_a_record_is_listed_in_the_order_of_batches(season):
    put(season, [crossing(record_id="c1"), crossing(record_id="c1")])
    put(season, [crossing(record_id="c2"), crossing(record_id="c1")], file="b.csv", ingested_at=LATER)
    sources = season.trace("crossings", "c1").sources
    assert [(row["batch"], row["file_name"], row["line"], row["ingested_at"]) for row in sources] == [
        (1, "crossings.csv", 2, NOW),
        (1, "crossings.csv", 3, NOW),
        (2, "b.csv", 3, LATER),
    ]
    assert {row["how"] for row in sources} == {"stored"}


def test_remarks_and_corrections_belong_to_the_record(season):
    notes = [fault(2, reason="far from a road", severity="note"), fault(3, reason="other", severity="note")]
    put(season, [crossing(record_id="c1"), crossing(record_id="c2")], held_back=notes)
    season.add_changes("crossings", "c1", {"notes": "x", "latitude": "29.7"}, who="Ana", when=LATER, why="y")
    trace = season.trace("crossings", "c1")
    assert [row["reason"] for row in trace.remarks] == ["far from a road"]
    assert [(row["field"], row["old"], row["new"]) for row in trace.changes] == [
        ("notes", None, "x"),
        ("latitude", "29.6512", "29.7"),
    ]


def test_a_name_of_two_kinds_is_told_apart(season):
    put(season, [crossing(record_id="x1")])
    check = {"search_id": "x1", "started_at": "2025-05-12", "method": "car"}
    put(season, [check], kind="searches", file="s.csv")
    assert season.kinds_of("x1") == ["crossings", "searches"]
    assert [row["file_name"] for row in season.trace("searches", "x1").sources] == ["s.csv"]
    season.undo(2, who="Ana", when=LATER, why="")
    assert season.kinds_of("x1") == ["crossings", "searches"]
    assert not season.trace("searches", "x1").is_stored


def test_a_record_that_never_was_is_told(season):
    assert season.kinds_of("c9") == []
    with pytest.raises(UsageError, match="holds no record 'c9' among its crossings; check the name"):
        season.trace("crossings", "c9")
