"""Rows of a newer batch close those held back before only where nothing is guessed."""

import pytest
from records.store_cases import crossing, fault, new_season, put


@pytest.fixture
def season(tmp_path):
    """One record, and line 3 held back."""
    season = new_season(tmp_path)
    put(season, [crossing(record_id="c1")], held_back=[fault(3)])
    return season


def open_ids(season):
    return [row.held_back_id for row in season.held_rows()]


def test_a_row_is_replaced_by_a_new_record(season):
    report = put(season, [crossing(record_id="c2")], file="b.csv", replaces={2: (1, 3)})
    assert (report.replaced, open_ids(season)) == (1, [])
    row = season.find_held_row("h1-3")
    assert (row.settled_how, row.settled_in, row.record_key) == ("replaced", 2, "c2")


def test_a_record_that_the_older_copy_told_of_replaces_nothing(season):
    report = put(season, [crossing(record_id="c1")], file="b.csv", replaces={2: (1, 3)})
    assert (report.known, report.replaced, open_ids(season)) == (1, 0, ["h1-3"])


def test_a_row_held_back_again_replaces_only_the_same_wording(season):
    report = put(season, [crossing(record_id="c2")], file="b.csv", held_back=[fault(3)], replaces={3: (1, 3)})
    assert (report.replaced, open_ids(season)) == (1, ["h2-3"])
    report = put(season, [crossing(record_id="c3")], file="c.csv", held_back=[fault(4)], replaces={4: (2, 3)})
    assert (report.replaced, open_ids(season)) == (0, ["h2-3", "h3-4"])


def test_a_row_that_was_settled_before_is_not_replaced(season):
    season.discard(["h1-3"], who="Ana", when="2025-06-02T12:00:00-04:00", why="no turtle")
    assert put(season, [crossing(record_id="c2")], file="b.csv", replaces={2: (1, 3)}).replaced == 0
    assert season.find_held_row("h1-3").settled_how == "discarded"


def test_the_counts_of_the_older_batch_follow(season):
    put(season, [crossing(record_id="c2")], file="b.csv", replaces={2: (1, 3)})
    first = season.batches().iloc[0]
    assert (first["rows_in"], first["accepted"], first["known"], first["held_back"]) == (2, 1, 1, 0)


def test_undoing_the_newer_batch_opens_the_row_again(season):
    put(season, [crossing(record_id="c2")], file="b.csv", replaces={2: (1, 3)})
    assert season.undo(2, who="Ana", when="2025-06-03T12:00:00-04:00", why="").reopened == 1
    assert open_ids(season) == ["h1-3"]
