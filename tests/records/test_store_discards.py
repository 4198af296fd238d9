"""A row of which nothing can be made is closed with a reason, kept as it stands, and can be opened again."""

import pytest
from records.store_cases import LATER, NOW, batch_of, crossing, fault, new_season, put

from roadwatch.errors import UsageError

WHY = "an armadillo"


@pytest.fixture
def season(tmp_path):
    """One record, three rows held back."""
    season = new_season(tmp_path)
    put(season, [crossing(record_id="c1")], held_back=[fault(3), fault(4), fault(5)])
    return season


def discard(season, *ids, why=WHY):
    return season.discard(ids, who="Ana", when=NOW, why=why)


def counts(season):
    (row,) = season.batches()[["rows_in", "accepted", "known", "held_back", "discarded"]].to_numpy().tolist()
    return row


def test_a_discarded_row_is_no_longer_open_and_keeps_its_wording_reason_and_who(season):
    (row,) = discard(season, "h1-4")
    assert row.original == "the words of line 4"
    assert [one.held_back_id for one in season.held_rows()] == ["h1-3", "h1-5"]
    (kept,) = season.discarded_rows()
    assert (kept.original, kept.reasons) == ("the words of line 4", "latitude 'N45.1' is not a number")
    assert kept.why == f"{WHY} (Ana, {NOW[:10]})"
    assert season.rows_of(1)["original"].tolist()[2] == "the words of line 4"


def test_the_rows_of_a_batch_still_add_up(season):
    assert counts(season) == [4, 1, 0, 3, 0]
    discard(season, "h1-4", "h1-3")
    assert counts(season) == [4, 1, 0, 1, 2]


def test_the_trace_stands_among_the_changes(season):
    discard(season, "h1-4")
    season.reopen(["h1-4"], who="Bea", when=LATER, why="look again")
    told = season.changes()[["who", "changed_at", "record_key", "old", "new", "why"]].to_numpy().tolist()
    assert told == [
        ["Ana", NOW, "h1-4", "open", "discarded", WHY],
        ["Bea", LATER, "h1-4", "discarded", "open", "look again"],
    ]


def test_a_reopened_row_waits_for_a_cure_again(season):
    discard(season, "h1-4")
    season.reopen(["h1-4"], who="Bea", when=LATER, why="look again")
    assert len(season.held_rows()) == 3
    assert season.discarded_rows() == []
    assert counts(season) == [4, 1, 0, 3, 0]


@pytest.mark.parametrize(
    ("ids", "why", "words"),
    [
        (["h1-77"], WHY, "no row held back is called"),
        (["h1-3", "h9-9"], WHY, "no row held back is called"),
        (["h1-3"], "  ", "needs its reason"),
    ],
)
def test_all_rows_are_discarded_or_none(season, ids, why, words):
    with pytest.raises(UsageError, match=words):
        discard(season, *ids, why=why)
    assert len(season.held_rows()) == 3
    assert season.changes().empty


def test_a_row_is_discarded_once(season):
    discard(season, "h1-3", "h1-3")
    assert len(season.changes()) == 1
    with pytest.raises(UsageError, match=r"was settled before \(discarded\); nothing changed"):
        discard(season, "h1-3")


def test_only_a_discarded_row_can_be_opened_again(season):
    with pytest.raises(UsageError, match="h1-3 was not discarded"):
        season.reopen(["h1-3"], who="Ana", when=NOW, why="x")


def test_the_same_file_again_counts_discarded_rows_apart(season):
    discard(season, "h1-4")
    again = season.write_batch(batch_of([crossing(record_id="c1")], held_back=[fault(3), fault(4), fault(5)]))
    assert (again.rows_in, again.accepted, again.known, again.held_back, again.discarded) == (4, 0, 1, 2, 1)


def test_an_undone_batch_takes_its_discarded_rows_along(season):
    discard(season, "h1-4")
    assert season.undo(1, who="Ana", when=LATER, why="").dropped == 2
    assert season.discarded_rows() == []


def with_cells(season, file, *lines, cells):
    faults = [fault(line) for line in lines]
    return put(season, [crossing(record_id=f"of {file}")], file=file, held_back=faults, cells=cells)


def test_the_same_words_in_a_later_file_are_discarded_with_a_trace(season):
    first = with_cells(season, "may.csv", 7, cells={7: {"species": "armadillo"}})
    discard(season, f"h{first.batch}-7")
    later = with_cells(season, "june.csv", 8, 9, cells={8: {"species": "trutle"}, 9: {"species": "armadillo"}})
    assert (later.held_back, later.discarded, later.discarded_lines) == (1, 1, (9,))
    assert later.rows_in == later.accepted + later.known + later.held_back + later.discarded
    row = season.find_held_row(f"h{later.batch}-9")
    assert row.why == f"the same words were discarded before as h2-7: {WHY} (roadwatch, {NOW[:10]})"


def test_a_row_without_cells_is_never_taken_for_a_discarded_one(season):
    discard(season, "h1-4")
    later = put(season, [crossing(record_id="c2")], file="june.csv", held_back=[fault(4)])
    assert (later.held_back, later.discarded) == (1, 0)


def test_words_of_an_undone_batch_or_opened_again_are_asked_for_anew(season):
    first = with_cells(season, "may.csv", 7, cells={7: {"species": "armadillo"}})
    discard(season, f"h{first.batch}-7")
    season.reopen([f"h{first.batch}-7"], who="Bea", when=LATER, why="look again")
    assert with_cells(season, "june.csv", 9, cells={9: {"species": "armadillo"}}).held_back == 1
    discard(season, f"h{first.batch}-7")
    season.undo(first.batch, who="Ana", when=LATER, why="")
    assert with_cells(season, "july.csv", 9, cells={9: {"species": "armadillo"}}).held_back == 1
