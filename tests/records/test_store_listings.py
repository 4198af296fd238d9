"""The lists that a season makes of itself."""

import pytest
from records.store_cases import NOW, batch_of, crossing, fault, new_season, put


@pytest.fixture
def season(tmp_path):
    """One batch with a record and two rows held back, and one without faults."""
    season = new_season(tmp_path)
    put(season, [crossing(record_id="c1")], held_back=[fault(3), fault(4)])
    put(season, [crossing(record_id="c2")], file="b.csv")
    return season


def test_every_row_of_a_batch_is_listed_with_its_wording_and_its_record(season):
    rows = season.rows_of(1)
    assert rows["line"].tolist() == [2, 3, 4]
    assert rows["record_key"].tolist() == ["c1", None, None]
    assert rows["original"].tolist()[1] == "the words of line 3"
    assert season.rows_of(9).empty


def test_batches_count_discarded_rows_apart_from_those_held_back(season):
    season.discard(["h1-3"], who="Ana", when=NOW, why="no turtle")
    listed = season.batches()[["held_back", "discarded"]].to_numpy().tolist()
    assert listed == [[1, 1], [0, 0]]


def test_the_batches_of_a_file_are_found_by_its_digest(season):
    season.discard(["h1-3"], who="Ana", when=NOW, why="no turtle")
    digest = batch_of([crossing(record_id="c1")]).sha256
    (found,) = season.standing_batches(digest)
    assert (found["batch"], found["file_name"], found["rows_in"], found["discarded"]) == (1, "crossings.csv", 3, 1)
    assert season.standing_batches("no such digest") == []


def test_open_and_discarded_rows_are_two_lists(season):
    season.discard(["h1-3"], who="Ana", when=NOW, why="no turtle")
    assert [row.held_back_id for row in season.held_rows()] == ["h1-4"]
    assert [row.held_back_id for row in season.discarded_rows()] == ["h1-3"]
    assert len(season.held_rows(is_settled=None)) == 2
