"""Rows held back go out in their own columns, are mended, come back, and take the place of what was held back."""

import csv

import pytest
from tiny_county import CENTRE

from roadwatch.records.store import Season
from roadwatch.records.store_held_back import HeldRow
from roadwatch.season.mending import mended_cells

COLUMNS = ["lng", "lat", "species", "date"]


def held_row(**changes) -> HeldRow:
    cells = {"lng": "-81.9", "lat": "N of town", "species": "slider", "date": "2025-05-12"}
    given = {
        "batch": 3,
        "line": 70,
        "file_name": "c.csv",
        "kind": "crossings",
        "original": "-81.9,N of town,slider,2025-05-12",
        "reasons": "latitude 'N of town' is not a number",
        "columns": "latitude",
        "proposal": {},
        "cells": cells,
        "reading": {},
        "settled_how": None,
        "settled_in": None,
        "record_key": None,
    }
    return HeldRow(**{**given, **changes})


def mended(row: dict, **changes):
    return mended_cells(row, held_row(**changes), columns=COLUMNS)


@pytest.mark.parametrize(
    "cure",
    ["31.7", "lat=31.7", "latitude=31.7", " lat = 31.7 ; ", "-81.9,31.7,slider,2025-05-12"],
    ids=["a lone value", "the file's own column", "the canonical name", "with blanks", "the whole row"],
)
def test_a_cure_can_be_written_in_each_way_that_a_person_would(cure):
    cells = mended({**held_row().cells, "cure": cure})
    assert cells.pop("lat", None) == "31.7" or cells.pop("latitude") == "31.7"
    assert cells == {"lng": "-81.9", "species": "slider", "date": "2025-05-12"}


def test_several_values_are_separated_by_semicolons():
    cells = mended({**held_row().cells, "cure": "lat=31.7; species=box turtle"})
    assert (cells["latitude"], cells["taxon"]) == ("31.7", "box turtle")


def test_cells_mended_in_place_need_no_cure():
    assert mended({**held_row().cells, "lat": "31.7", "cure": ""})["lat"] == "31.7"


def test_the_word_accept_takes_the_proposal():
    cells = mended({**held_row().cells, "cure": "Accept"}, proposal={"latitude": "31.7"})
    assert cells["latitude"] == "31.7"
    assert "lat" not in cells


@pytest.mark.parametrize(
    ("cure", "changes", "words"),
    [
        ("accept", {}, "nothing is proposed for this row"),
        ("somewhere north", {"columns": "latitude, taxon"}, "cannot be read; write COLUMN=VALUE"),
        ("colour=red", {}, "cannot be read; write COLUMN=VALUE"),
        ("lat=31.7; and the date", {}, "cannot be read; write COLUMN=VALUE"),
    ],
)
def test_a_cure_that_says_nothing_clear_is_answered_with_what_to_write(cure, changes, words):
    assert words in mended({**held_row().cells, "cure": cure}, **changes)


def test_what_the_export_made_harmless_for_a_spreadsheet_is_not_taken_for_a_change():
    before = {"lng": "-81,9", "notes": "=1+1"}
    back = {"lng": "'-81,9", "notes": "'=1+1", "cure": ""}
    assert mended(back, cells=before) == before


@pytest.fixture
def problems(county, crossing):
    """A season with two good rows and three held back, and the file of problems as rows."""
    rows = [
        crossing(0.01, notes=""),
        crossing(0.02, latitude="north of town", notes='said "big", maybe'),
        crossing(0.03, notes=""),
        crossing(0.04, taxon="trutle", notes=""),
        crossing(0.05, observed_at="", notes=""),
    ]
    county.ingest("crossings.csv", rows)
    return county


def read_problems(county) -> list[dict]:
    path = county.folder / "problems.csv"
    assert county.run("problems", county.season, "-o", path).exit_code == 0
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def send_back(county, rows, name="mended.csv"):
    return county.json("ingest", county.season, county.write_csv(name, rows))["files"][0]


def counts(report):
    return tuple(report[name] for name in ("rows_read", "accepted", "known", "held_back"))


def test_the_file_of_problems_has_the_columns_of_the_file_an_empty_cure_and_ids(problems):
    rows = read_problems(problems)
    assert [row["held_back_id"] for row in rows] == ["h1-3", "h1-5", "h1-6"]
    assert {row["cure"] for row in rows} == {""}
    assert rows[0]["latitude"] == "north of town"
    assert rows[0]["notes"] == 'said "big", maybe'
    assert rows[0]["original_text"] == (problems.folder / "crossings.csv").read_text("utf-8").splitlines()[2]
    assert "decimal degrees" in rows[0]["reasons"]


def test_mended_rows_take_the_place_of_those_held_back(problems):
    rows = read_problems(problems)
    rows[0]["latitude"] = str(CENTRE[1])
    rows[1]["cure"] = "taxon=turtle"
    assert counts(send_back(problems, rows)) == (3, 2, 0, 1)
    season = Season.open(problems.season)
    assert len(season.read("crossings")) == 4
    assert [row.held_back_id for row in season.held_rows()] == ["h1-6"]
    stored = season.read("crossings", keys=["c0.020000"]).iloc[0]
    assert (stored["latitude"], stored["notes"]) == (CENTRE[1], 'said "big", maybe')


def test_rows_of_one_file_can_be_mended_each_in_its_own_way(county, crossing):
    renamed = [{**crossing(0.01 * k, taxon="trutle"), "species": "trutle"} for k in range(1, 4)]
    for row in renamed:
        del row["taxon"]
    county.ingest("crossings.csv", renamed)
    rows = read_problems(county)
    rows[0]["species"] = "turtle"
    rows[1]["cure"] = "species=turtle"
    rows[2]["cure"] = "turtle"
    report = send_back(county, rows)
    assert counts(report) == (3, 3, 0, 0)
    assert not [note for note in report["notes"] if "kept as written" in note]
    assert counts(send_back(county, rows)) == (3, 0, 3, 0)


def test_the_row_held_back_keeps_its_trace(problems):
    rows = read_problems(problems)
    rows[0]["latitude"] = str(CENTRE[1])
    send_back(problems, rows)
    told = problems.json("history", problems.season, "c0.020000")
    assert [(row["file_name"], row["line"], row["how"]) for row in told["sources"]] == [
        ("crossings.csv", 3, "held back, then mended in batch 2"),
        ("mended.csv", 2, "stored"),
    ]
    assert "north of town" in told["sources"][0]["original"]


def test_the_counts_of_the_first_file_follow(problems):
    rows = read_problems(problems)
    rows[0]["latitude"] = str(CENTRE[1])
    send_back(problems, rows)
    again = problems.json("ingest", problems.season, problems.folder / "crossings.csv")["files"][0]
    assert counts(again) == (5, 0, 3, 2)


def test_a_mended_file_that_comes_twice_adds_nothing(problems):
    rows = read_problems(problems)
    rows[0]["latitude"] = str(CENTRE[1])
    send_back(problems, rows)
    assert counts(send_back(problems, rows)) == (3, 0, 1, 2)
    assert len(Season.open(problems.season).batches()) == 2


def test_a_file_that_is_mended_bit_by_bit_can_be_sent_each_time(problems):
    rows = read_problems(problems)
    for k, (name, value) in enumerate([("latitude", CENTRE[1]), ("taxon", "slider"), ("observed_at", "2025-06-01")]):
        rows[k][name] = str(value)
        assert counts(send_back(problems, rows, f"mended {k}.csv")) == (3, 1, k, 2 - k)
    season = Season.open(problems.season)
    assert len(season.read("crossings")) == 5
    assert not season.held_rows()


def test_a_row_mended_wrongly_is_held_back_in_the_place_of_the_old_one(problems):
    rows = read_problems(problems)
    rows[0]["latitude"] = "31 something"
    assert counts(send_back(problems, rows)) == (3, 0, 0, 3)
    held = Season.open(problems.season).held_rows()
    assert [row.held_back_id for row in held] == ["h1-5", "h1-6", "h2-2"]
    assert "31 something" in held[-1].reasons
    second = read_problems(problems)
    second[-1]["latitude"] = str(CENTRE[1])
    assert counts(send_back(problems, second, "second.csv")) == (3, 1, 0, 2)


def test_rows_that_nobody_mended_stay_as_they_are(problems):
    rows = read_problems(problems)
    before = [row.held_back_id for row in Season.open(problems.season).held_rows()]
    report = send_back(problems, rows)
    assert counts(report) == (3, 0, 0, 3)
    assert [row.held_back_id for row in Season.open(problems.season).held_rows()] == before


@pytest.mark.parametrize("strange", ["", "h9-99", "Mar-70", "c0.010000"])
def test_a_row_with_a_strange_id_is_held_back_and_said(problems, strange):
    rows = read_problems(problems)
    rows[0] |= {"held_back_id": strange, "latitude": str(CENTRE[1])}
    report = send_back(problems, rows)
    assert counts(report) == (3, 0, 0, 3)
    assert any("is no row held back in this season" in reason["reason"] for reason in report["reasons"])
    assert len(Season.open(problems.season).read("crossings")) == 2


def test_an_id_on_two_rows_counts_once(problems):
    rows = read_problems(problems)
    rows[0]["latitude"] = str(CENTRE[1])
    report = send_back(problems, [*rows, rows[0]])
    assert counts(report) == (4, 1, 0, 3)
    assert any("stands on two rows of this file" in reason["reason"] for reason in report["reasons"])


def test_files_of_several_kinds_come_back_in_one(problems, nest):
    problems.ingest("nests.csv", [nest(depth_cm="deep")])
    rows = read_problems(problems)
    assert rows[-1]["nest_id"] == "n1"
    rows[-1]["cure"] = "12"
    rows[0]["cure"] = str(CENTRE[1])
    assert counts(send_back(problems, rows)) == (4, 2, 0, 2)
    season = Season.open(problems.season)
    assert season.read("nests")["depth_cm"].tolist() == [12.0]
    assert len(season.read("crossings")) == 3


def test_mended_rows_are_read_in_the_way_of_their_own_file(county):
    """Day before month, and a decimal comma, are told by the whole file; a mended row alone would not tell."""
    lines = ["record_id;date;lng;lat;species", "a;25/05/2025;-81,89;31,7;slider", "b;06/07/2025;-81,88;31,7;trutle"]
    county.run("ingest", county.season, county.write("europe.csv", "\n".join(lines)))
    rows = read_problems(county)
    rows[0]["species"] = "slider"
    assert counts(send_back(county, rows)) == (1, 1, 0, 0)
    stored = Season.open(county.season).read("crossings", keys=["b"]).iloc[0]
    assert (stored["observed_at"], stored["longitude"]) == ("2025-07-06", -81.88)


def test_a_column_called_like_one_of_ours_comes_back_under_its_own_name(county, crossing):
    county.ingest("c.csv", [crossing(latitude="?", line="forest edge", access="by boat", cure="none")])
    rows = read_problems(county)
    assert (rows[0]["line"], rows[0]["line (as sent)"], rows[0]["cure"]) == ("2", "forest edge", "")
    rows[0]["cure"] = f"latitude={CENTRE[1]}"
    assert counts(send_back(county, rows)) == (1, 1, 0, 0)
    (other,) = Season.open(county.season).read("crossings")["other"]
    assert other == '{"line": "forest edge", "access": "by boat", "cure": "none"}'


def test_a_dry_run_of_a_mended_file_keeps_nothing(problems):
    rows = read_problems(problems)
    rows[0]["latitude"] = str(CENTRE[1])
    before = problems.season.read_bytes()
    result = problems.run("ingest", problems.season, problems.write_csv("mended.csv", rows), "--dry-run")
    assert "1 would be accepted" in result.output
    assert problems.season.read_bytes() == before


def test_undoing_a_mended_file_holds_its_rows_back_again(problems):
    rows = read_problems(problems)
    rows[0]["latitude"] = str(CENTRE[1])
    send_back(problems, rows)
    done = problems.json("undo", problems.season, 2)
    assert (done["withdrawn"], done["reopened"]) == (1, 1)
    assert [row.held_back_id for row in Season.open(problems.season).held_rows()] == ["h1-3", "h1-5", "h1-6"]


def test_a_row_that_nobody_mended_is_told_by_its_line_in_the_file_that_was_sent(problems):
    report = send_back(problems, read_problems(problems)[1:])
    assert [reason["line"] for reason in report["reasons"]] == [2, 3]


@pytest.mark.parametrize(
    ("cure", "why"),
    [
        ("discard", "nothing can be made of it, says the cure column of mended.csv"),
        ("Discarded: an armadillo", "an armadillo"),
        (" DISCARD - not our county ", "not our county"),
    ],
)
def test_the_word_discard_closes_a_row_with_its_reason(problems, cure, why):
    rows = read_problems(problems)
    rows[1]["cure"] = cure
    report = send_back(problems, rows)
    assert (*counts(report), report["discarded"]) == (3, 0, 0, 2, 1)
    (row,) = Season.open(problems.season).discarded_rows()
    assert (row.held_back_id, row.why.partition(" (coordinator")[0]) == ("h1-5", why)
    assert "trutle" in row.original


def test_a_word_that_only_begins_like_discard_is_no_discard(problems):
    rows = read_problems(problems)
    rows[0]["cure"] = "discarding the rest"
    report = send_back(problems, rows)
    assert "discarded" not in report
    assert Season.open(problems.season).discarded_rows() == []


def test_a_discarded_row_is_counted_apart_in_every_later_report(problems):
    rows = read_problems(problems)
    rows[1]["cure"] = "discard"
    send_back(problems, rows)
    again = send_back(problems, rows)
    assert (*counts(again), again["discarded"]) == (3, 0, 0, 2, 1)
    first = problems.json("ingest", problems.season, problems.folder / "crossings.csv")["files"][0]
    assert (*counts(first), first["discarded"]) == (5, 0, 2, 2, 1)


def test_discarding_is_told_but_not_done_in_a_dry_run(problems):
    rows = read_problems(problems)
    rows[1]["cure"] = "discard: a log"
    before = problems.season.read_bytes()
    result = problems.run("ingest", problems.season, problems.write_csv("mended.csv", rows), "--dry-run")
    assert result.output.splitlines()[0].endswith("2 held back, 1 discarded")
    assert problems.season.read_bytes() == before


def test_a_file_of_which_every_row_is_discarded_leaves_nothing_held_back(problems):
    rows = [row | {"cure": "discard: a test"} for row in read_problems(problems)]
    result = problems.run("ingest", problems.season, problems.write_csv("mended.csv", rows))
    assert (result.exit_code, result.output) == (
        0,
        "mended.csv: 3 mended rows read, 0 accepted, 0 already known, 0 held back, 3 discarded\n",
    )
    assert len(Season.open(problems.season).batches()) == 1
