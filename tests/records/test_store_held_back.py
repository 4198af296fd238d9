"""Rows held back: kept with all that is needed to read them once more, and closed, never deleted."""

import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest
from records.store_cases import LATER, NOW, as_read, batch_of, crossing, different_crossings, fault, new_season, put

from roadwatch.errors import UsageError
from roadwatch.records.store_held_back import split_held_back_id
from roadwatch.records.tables import Repair


@pytest.fixture
def season(tmp_path):
    return new_season(tmp_path)


def test_a_row_keeps_cells_columns_at_fault_and_proposal(season):
    faults = [
        replace(fault(5), proposal={"latitude": "45.1"}),
        replace(fault(5, reason="taxon 'trutle' is not known"), column="taxon"),
        fault(9),
    ]
    reading = {"columns": ["lat", "notes"], "tables": 1}
    put(season, different_crossings(1), held_back=faults, cells={5: {"lat": "N45.1"}}, reading=reading)
    first, second = season.held_rows()
    assert (first.held_back_id, first.columns, first.proposal) == ("h1-5", "latitude, taxon", {"latitude": "45.1"})
    assert (first.cells, first.reading) == ({"lat": "N45.1"}, reading)
    assert (second.cells, second.proposal) == (None, {})


@pytest.mark.parametrize("text", ["3-70", "h3-70", " H3-70 "])
def test_an_id_is_batch_and_line(text):
    assert split_held_back_id(text) == (3, 70)


@pytest.mark.parametrize("text", ["", "3", "h3", "3-", "-70", "3-70-1", "c12", "h3-7\u0661", "3-" + "9" * 30])
def test_other_text_is_no_id(text):
    assert split_held_back_id(text) is None


def test_a_row_is_found_by_its_id_also_when_it_is_settled(season):
    rows = as_read(different_crossings(2))
    held = [replace(fault(3), original=rows["original"].iloc[1])]
    put(season, rows[rows["line"] != 3], sha256="f" * 64, held_back=held)
    assert season.find_held_row("h1-3").settled_how is None
    season.write_batch(batch_of(rows, sha256="f" * 64, ingested_at=LATER))
    row = season.find_held_row("1-3")
    assert (row.settled_how, row.settled_in) == ("read again", 1)
    assert row.record_key == season.read("crossings")["record_key"].iloc[1]


@pytest.mark.parametrize("text", ["h1-4", "h2-3", "x"])
def test_an_id_that_is_none_is_told(season, text):
    put(season, different_crossings(1), held_back=[fault(3)])
    with pytest.raises(UsageError, match=f"no row held back is called '{text}'; 'roadwatch problems' lists them"):
        season.find_held_row(text)


def test_open_settled_and_all_rows_can_be_asked_for(season):
    rows = as_read(different_crossings(3))
    held = [replace(fault(line), original=rows["original"].iloc[line - 2]) for line in (3, 4)]
    put(season, rows[rows["line"] == 2], sha256="f" * 64, held_back=held)
    season.write_batch(batch_of(rows, sha256="f" * 64, held_back=held[1:]))
    ids = [[row.held_back_id for row in season.held_rows(is_settled=state)] for state in (False, True, None)]
    assert ids == [["h1-4"], ["h1-3"], ["h1-3", "h1-4"]]


def test_reasons_of_rows_still_held_back_are_those_of_today(season):
    rows = as_read(different_crossings(2))
    held = [replace(fault(3), original=rows["original"].iloc[1])]
    put(season, rows[rows["line"] == 2], sha256="f" * 64, held_back=held, cells={3: {"lat": "N45.1"}})
    told = [replace(held[0], reason="another reason")]
    put(season, rows[rows["line"] == 2], sha256="f" * 64, held_back=told)
    (row,) = season.held_rows()
    assert (row.reasons, row.cells) == ("another reason", {"lat": "N45.1"})


def test_a_mended_row_closes_the_one_held_back_and_moves_its_count(season):
    put(season, different_crossings(1), held_back=[fault(5), fault(9)])
    mended = put(season, [crossing(record_id="m1")], file="mended.csv", mends={2: (1, 5)})
    assert season.find_held_row("h1-5").record_key == "m1"
    assert [row.held_back_id for row in season.held_rows()] == ["h1-9"]
    first = season.batches().iloc[0]
    assert (first["accepted"], first["known"], first["held_back"], first["rows_in"]) == (1, 1, 1, 3)
    assert mended.accepted == 1


def test_a_row_that_was_closed_meanwhile_is_not_counted_twice(season):
    put(season, different_crossings(1), held_back=[fault(5)])
    for name in ("one.csv", "two.csv"):
        put(season, [crossing(record_id="m1")], file=name, mends={2: (1, 5)})
    assert season.batches()["held_back"].tolist() == [0, 0, 0]
    assert season.find_held_row("h1-5").settled_in == 2


def test_a_repair_goes_into_the_changes_with_the_value_as_stored(season):
    repair = Repair(2, "the words", "longitude", "82.3725", "-82.3725000", "the sign was lost")
    report = put(season, [crossing(record_id="c1")], repairs=[repair, replace(repair, line=7)])
    assert report.repairs == (repair,)
    assert season.changes().to_dict("records") == [
        {
            "who": "roadwatch",
            "changed_at": NOW,
            "kind": "crossings",
            "record_key": "c1",
            "field": "longitude",
            "old": "82.3725",
            "new": "-82.3725",
            "why": "the sign was lost",
        }
    ]
    assert season.read("crossings")["longitude"].tolist() == [-82.3725]


def test_a_repair_of_a_record_already_known_is_not_recorded_again(season):
    put(season, [crossing(record_id="c1")])
    repair = Repair(2, "x", "longitude", "82.3725", "-82.3725", "the sign was lost")
    assert put(season, [crossing(record_id="c1")], file="b.csv", repairs=[repair]).repairs == ()
    assert season.changes().empty


def test_a_failure_in_storing_leaves_no_change_behind(season):
    repair = Repair(2, "x", "longitude", "82.3725", None, None)  # type: ignore[arg-type]  # no reason: SQL refuses it
    with pytest.raises(sqlite3.IntegrityError, match="changes"):
        put(season, [crossing(record_id="c1")], repairs=[repair])
    with closing(sqlite3.connect(season.path)) as connection:
        assert connection.execute(
            "SELECT (SELECT count(*) FROM batches), (SELECT count(*) FROM crossings)"
        ).fetchone() == (
            0,
            0,
        )
