"""A corrected copy of a whole file: its rows replace those held back in the older copy, where that is certain."""

import pytest

from roadwatch.records.store import Season


def row(crossing, k, **changes):
    """One of many different rows: days, places and notes of its own, no id."""
    day = f"2025-05-{k % 28 + 1:02d}"
    return crossing(0.001 * k, record_id="", observed_at=day, notes=f"by post {k}", **changes)


@pytest.fixture
def rows(crossing):
    """Ten good rows, then one without latitude, one with a strange animal, one with an impossible day."""
    good = [row(crossing, k) for k in range(10)]
    return [*good, row(crossing, 10, latitude=""), row(crossing, 11, taxon="trutle"), row(crossing, 12)]


@pytest.fixture
def older(county, rows):
    county.ingest("may.csv", rows)
    assert held(county) == ["h1-12", "h1-13"]
    return county


def held(county):
    return [one.held_back_id for one in Season.open(county.season).held_rows()]


def mended(rows, crossing, *lines):
    """The rows with those of some lines made good."""
    good = {12: row(crossing, 10), 13: row(crossing, 11)}
    return [good.get(line, one) if line in lines else one for line, one in enumerate(rows, start=2)]


def send(county, name, rows):
    return county.json("ingest", county.season, county.write_csv(name, rows))["files"][0]


def notes_of_copies(report):
    return [note for note in report["notes"] if note.startswith("a newer copy")]


def test_mended_rows_replace_those_held_back_and_the_others_stay_and_are_counted(older, rows, crossing):
    report = send(older, "may again.csv", mended(rows, crossing, 12)[:11])
    assert (report["accepted"], report["known"], report["held_back"]) == (1, 10, 0)
    (note,) = notes_of_copies(report)
    assert note == (
        "a newer copy of batch 1: 1 row held back there is replaced by its row in this file; "
        "1 row held back there cannot be matched for certain and stays open"
    )
    assert held(older) == ["h1-13"]


def test_the_record_tells_of_both_rows(older, rows, crossing):
    send(older, "may again.csv", mended(rows, crossing, 12, 13))
    season = Season.open(older.season)
    row_held = season.find_held_row("h1-12")
    assert (row_held.settled_how, row_held.settled_in) == ("replaced", 2)
    sources = season.trace("crossings", row_held.record_key).sources
    assert [(one["file_name"], one["how"]) for one in sources] == [
        ("may.csv", "held back, then replaced by its newer copy in batch 2"),
        ("may again.csv", "stored"),
    ]
    assert sources[0]["original"] == row_held.original


def test_the_older_batch_still_adds_up(older, rows, crossing):
    send(older, "may again.csv", mended(rows, crossing, 12, 13))
    first = Season.open(older.season).batches().iloc[0]
    assert (first["rows_in"], first["accepted"], first["known"], first["held_back"]) == (13, 11, 2, 0)


@pytest.mark.parametrize("order", [lambda rows: rows[::-1], lambda rows: rows[6:] + rows[:6]])
def test_the_order_of_the_rows_does_not_matter(older, rows, crossing, order):
    send(older, "sorted.csv", order(mended(rows, crossing, 12, 13)))
    assert held(older) == []


def test_a_row_still_at_fault_is_listed_once(older, rows, crossing):
    report = send(older, "may again.csv", mended(rows, crossing, 12))
    assert report["held_back"] == 1
    assert held(older) == ["h2-13"]
    assert Season.open(older.season).find_held_row("h1-13").record_key is None


def test_a_row_is_known_by_its_id_though_other_cells_were_mended_too(county, crossing):
    first = [crossing(0.001 * k, observed_at=f"2025-05-{k + 1:02d}", record_id=f"c{k}", count="1") for k in range(9)]
    county.ingest("a.csv", [*first, crossing(0.02, record_id="c9", latitude="?", taxon="trutle", count="1")])
    good = crossing(0.021, record_id="c9", taxon="slider", count="2", observed_at="2025-06-30")
    send(county, "b.csv", [good, *first])
    assert held(county) == []


def test_a_row_mended_in_many_cells_is_known_by_its_line(older, rows, crossing):
    changed = [*rows[:10], row(crossing, 10) | {"notes": "by the other post"}, *rows[11:]]
    send(older, "may again.csv", changed)
    assert held(older) == ["h2-13"]


def test_two_rows_that_differ_only_where_they_are_at_fault_are_not_guessed(county, crossing):
    good = [row(crossing, k) for k in range(12)]
    twins = [row(crossing, 20, latitude="?"), row(crossing, 20, latitude="north")]
    county.ingest("a.csv", [*good, *twins])
    report = send(county, "b.csv", [row(crossing, 20), *good])
    assert report["accepted"] == 1
    assert held(county) == ["h1-14", "h1-15"]
    assert "2 rows held back there cannot be matched for certain and stay open" in notes_of_copies(report)[0]


def test_another_file_of_the_same_form_is_no_copy(older, crossing):
    others = [row(crossing, 30 + k) for k in range(12)]
    report = send(older, "june.csv", [*others, row(crossing, 10)])
    assert notes_of_copies(report) == []
    assert held(older) == ["h1-12", "h1-13"]


def test_a_row_that_the_older_copy_had_beside_is_not_taken_for_the_one_held_back(county, crossing):
    """Line 13 lacks its place and is else the same as line 12: in the newer copy only line 12 is left."""
    good = [row(crossing, k) for k in range(11)]
    county.ingest("a.csv", [*good, good[-1] | {"latitude": ""}])
    report = send(county, "b.csv", [*good, row(crossing, 50)])
    assert report["known"] == 11
    assert held(county) == ["h1-13"]


def test_a_dry_run_says_what_would_be_replaced_and_keeps_all(older, rows, crossing):
    path = older.write_csv("again.csv", mended(rows, crossing, 12, 13))
    before = older.season.read_bytes()
    assert (
        "2 rows held back there are replaced by their rows in this file"
        in older.run("ingest", older.season, path, "--dry-run").output
    )
    assert older.season.read_bytes() == before


def test_undoing_the_newer_copy_holds_the_rows_back_again(older, rows, crossing):
    send(older, "may again.csv", mended(rows, crossing, 12, 13))
    assert older.json("undo", older.season, 2)["reopened"] == 2
    assert held(older) == ["h1-12", "h1-13"]


def test_a_file_of_which_every_row_was_held_back_is_known_by_its_sound_cells(county, crossing):
    wrong = [row(crossing, k, latitude="?") for k in range(6)]
    county.ingest("a.csv", wrong)
    report = send(county, "b.csv", [row(crossing, k) for k in range(6)])
    assert report["accepted"] == 6
    assert held(county) == []


def test_a_row_that_was_discarded_is_not_asked_for_again_by_a_newer_copy(older, rows, crossing):
    older.run("problems", older.season, "--discard", "h1-13", "--why", "no turtle")
    report = send(older, "may and june.csv", [*mended(rows, crossing, 12), row(crossing, 40)])
    assert (report["accepted"], report["known"], report["held_back"], report["discarded"]) == (2, 11, 0, 1)
    assert report["reasons"] == []
    assert held(older) == []


def round_of_checks(county, name, *days):
    """The same nests found intact again, visit by visit in the same order."""
    rows = [{"nest": f"N{k}", "checked": day, "outcome": "intact", "notes": f"stake {k}"} for k, day in enumerate(days)]
    return send(county, name, rows)


def test_the_next_round_over_the_same_nests_is_no_copy_of_the_one_whose_dates_were_held_back(county):
    assert round_of_checks(county, "week 1.csv", "05/06/2025", "05/06/2025", "07/06/2025")["held_back"] == 3
    report = round_of_checks(county, "week 2.csv", "13/06/2025", "13/06/2025", "14/06/2025")
    assert (report["accepted"], notes_of_copies(report)) == (3, [])
    assert held(county) == ["h1-2", "h1-3", "h1-4"]


@pytest.mark.parametrize(("old", "new"), [("05/06/2025", "2025-06-05"), ("5/6/25", "2025-06-05"), (None, "2025-06-05")])
def test_a_round_whose_dates_were_written_anew_is_a_copy(county, old, new):
    assert round_of_checks(county, "week 1.csv", old, old)["held_back"] == 2
    assert round_of_checks(county, "week 1 mended.csv", new, new)["accepted"] == 2
    assert held(county) == []
