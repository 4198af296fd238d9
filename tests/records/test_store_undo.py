"""A batch is taken back as a whole, with the trace of all it told."""

import json

import pytest
from records.store_cases import LATER, crossing, different_crossings, fault, new_season, put

from roadwatch.errors import UsageError


@pytest.fixture
def season(tmp_path):
    return new_season(tmp_path)


def undo(season, number, why=""):
    return season.undo(number, who="Ana", when=LATER, why=why)


def test_records_leave_with_all_their_values(season):
    put(season, [crossing(record_id="c1", seen_hinge="present", other='{"Röhre": "x"}')])
    before = season.read("crossings").drop(columns="geometry").iloc[0].dropna().to_dict()
    assert undo(season, 1).withdrawn == 1
    (left,) = season.trace("crossings", "c1").withdrawn
    assert json.loads(left["content"]) == before
    assert (left["batch"], left["withdrawn_at"]) == (1, LATER)


def test_a_batch_without_records_can_be_undone(season):
    put(season, different_crossings(1), held_back=[fault(2)])
    done = undo(season, 1)
    assert (done.withdrawn, done.dropped) == (0, 1)
    assert season.held_rows() == []


def test_known_rows_of_an_undone_batch_leave_nothing_behind(season):
    put(season, [crossing(record_id="c1")])
    put(season, [crossing(record_id="c1")], file="b.csv")
    done = undo(season, 2)
    assert (done.withdrawn, done.kept) == (0, 0)
    assert season.known("crossings") == {"c1"}


def test_the_heir_counts_the_record_as_its_own(season):
    put(season, [crossing(record_id="c1"), crossing(record_id="c2")])
    put(season, [crossing(record_id="c1")], file="b.csv")
    assert undo(season, 1).kept == 1
    heir = season.batches().iloc[1]
    assert (heir["accepted"], heir["known"]) == (1, 0)
    assert season.read("crossings")["batch"].tolist() == [2.0]


def test_remarks_of_an_undone_batch_are_no_longer_shown(season):
    put(season, [crossing(record_id="c1")], held_back=[fault(2, severity="note")])
    assert len(season.remarks()) == 1
    undo(season, 1)
    assert season.remarks().empty


def test_corrections_hold_again_for_nobody_when_the_record_comes_back(season):
    put(season, [crossing(record_id="c1")])
    season.add_changes("crossings", "c1", {"latitude": "29.7"}, who="Ana", when=LATER, why="x")
    assert undo(season, 1).corrections == 1
    put(season, [crossing(record_id="c1")])
    assert season.read("crossings")["latitude"].tolist() == [29.6512]
    assert season.changes().empty
    assert [row["undone_at"] for row in season.trace("crossings", "c1").changes] == [LATER]


def test_corrections_of_a_record_that_stays_hold(season):
    put(season, [crossing(record_id="c1")])
    put(season, [crossing(record_id="c1")], file="b.csv")
    season.add_changes("crossings", "c1", {"latitude": "29.7"}, who="Ana", when=LATER, why="x")
    assert undo(season, 1).corrections == 0
    assert season.read("crossings")["latitude"].tolist() == [29.7]


def test_a_later_undo_takes_only_its_own_corrections(season):
    """The table of withdrawn records keeps every earlier undo."""
    put(season, [crossing(record_id="c1")])
    undo(season, 1)
    put(season, [crossing(record_id="c1")])
    season.add_changes("crossings", "c1", {"latitude": "29.7"}, who="Ana", when=LATER, why="x")
    assert season.undo(2, who="Ben", when="2025-07-01T00:00:00-04:00", why="").corrections == 1
    assert len(season.trace("crossings", "c1").withdrawn) == 2


def test_rows_mended_by_an_undone_batch_are_held_back_again(season):
    put(season, different_crossings(1), held_back=[fault(5)])
    put(season, [crossing(record_id="m1")], file="mended.csv", mends={2: (1, 5)})
    assert undo(season, 2).reopened == 1
    assert [row.held_back_id for row in season.held_rows()] == ["h1-5"]
    first = season.batches().iloc[0]
    assert (first["known"], first["held_back"]) == (0, 1)


def test_what_an_undone_batch_held_back_does_not_wait_again(season):
    put(season, different_crossings(1), held_back=[fault(5)])
    put(season, [crossing(record_id="m1")], file="mended.csv", mends={2: (1, 5)})
    undo(season, 1)
    done = undo(season, 2)
    assert (done.withdrawn, done.reopened) == (1, 0)
    assert season.held_rows() == []


def test_an_undone_file_is_new_again(season):
    put(season, different_crossings(2))
    undo(season, 1)
    again = put(season, different_crossings(2))
    assert (again.batch, again.accepted) == (2, 2)
    with pytest.raises(UsageError, match=r"batch 1 .* was undone already"):
        undo(season, 1)
    assert len(season.read("crossings")) == 2


@pytest.mark.parametrize("number", [0, 5, -1])
def test_a_batch_that_is_none_is_told(season, number):
    with pytest.raises(UsageError, match=f"the season holds no batch {number}"):
        undo(season, number)
