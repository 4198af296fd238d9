"""The rows held back as the coordinator sees them, and what is proposed for them."""

import csv
import json

import pytest

from roadwatch.records.store import Season


@pytest.fixture
def held(county, crossing):
    """One row with a likely repair (the place is outside, and lies inside with the other sign), one without."""
    county.ingest("c.csv", [crossing(0.01), crossing(0.02, latitude=""), crossing(0.03, taxon="yelow belied slider")])
    return county


def test_each_row_has_its_place_reason_id_and_original_text(held):
    lines = held.run("problems", held.season).output.splitlines()
    assert lines[0].startswith("c.csv, line 3: latitude is missing; write decimal degrees")
    assert lines[1] == "    h1-3: " + (held.folder / "c.csv").read_text("utf-8").splitlines()[2]
    assert lines[-1] == "2 rows held back."


def test_no_problem_is_said_in_one_line(county):
    assert county.run("problems", county.season).output == "No row is held back.\n"


def test_what_is_proposed_is_shown_with_how_to_take_it(held):
    told = held.run("problems", held.season).output
    proposal = Season.open(held.season).find_held_row("h1-4").proposal
    assert set(proposal) == {"taxon"}
    assert f"    proposed: taxon={proposal['taxon']} (take it with --accept h1-4)" in told


def test_json_lists_ids_places_reasons_proposals_and_wording(held):
    rows = held.json("problems", held.season)["held_back"]
    assert [row["held_back_id"] for row in rows] == ["h1-3", "h1-4"]
    assert {"file_name", "line", "kind", "original", "reasons", "proposal", "batch"} <= set(rows[0])
    assert (rows[0]["proposal"], set(rows[1]["proposal"])) == ({}, {"taxon"})


def test_one_proposal_is_accepted_by_its_id(held):
    result = held.run("problems", held.season, "--accept", "h1-4", "--who", "Ana")
    assert result.exit_code == 0
    assert result.output == "h1-4: stored as c0.030000\n1 proposal accepted, 1 row held back.\n"
    (change,) = Season.open(held.season).changes().to_dict("records")
    assert (change["who"], change["old"], change["new"]) == ("Ana", "yelow belied slider", "Trachemys scripta scripta")


def test_all_proposals_are_accepted_at_once(held):
    told = held.json("problems", held.season, "--accept", "all")
    assert (told["accepted"], told["held_back"]) == (1, 1)
    assert told["rows"] == [{"held_back_id": "h1-4", "record_id": "c0.030000", "reason": ""}]
    assert Season.open(held.season).changes()["who"].tolist() == ["coordinator"]


@pytest.mark.parametrize("which", ["h1-3", "h1-77", "everything"])
def test_what_cannot_be_accepted_is_told_with_exit_code_2(held, which):
    result = held.run("problems", held.season, "--accept", which)
    assert result.exit_code == 2
    assert result.output.startswith("Error: ")
    assert "Traceback" not in result.output


def test_a_proposal_that_does_not_cure_the_row_is_told_with_exit_code_3(county, crossing):
    county.ingest("c.csv", [crossing(0.03, taxon="yelow belied slider", observed_at="")])
    result = county.run("problems", county.season, "--accept", "all")
    assert result.exit_code == 3
    assert result.output.startswith("h1-2: still held back: observed_at is missing")


def test_the_file_of_problems_is_marked_for_the_team_and_harmless_in_a_spreadsheet(county, crossing):
    county.ingest("c.csv", [crossing(latitude="", notes="=HYPERLINK(1)")])
    path = county.folder / "p.csv"
    result = county.run("problems", county.season, "-o", path)
    assert result.output == f"Wrote {path}\n"
    with path.open(encoding="utf-8-sig", newline="") as file:
        (row,) = csv.DictReader(file)
    assert (row["access"], row["notes"], row["cure"]) == ("team only", "'=HYPERLINK(1)", "")


def test_the_file_of_problems_can_be_written_beside_json(held):
    path = held.folder / "p.csv"
    result = held.run("problems", held.season, "-o", path, "--json")
    assert path.exists()
    assert len(json.loads(result.stdout)["held_back"]) == 2


def test_an_empty_file_of_problems_has_its_header(county):
    path = county.folder / "p.csv"
    county.run("problems", county.season, "-o", path)
    assert path.read_text("utf-8-sig").startswith("held_back_id,file,line,reasons,proposal,cure,original_text")


def test_remarks_are_listed_written_and_given_as_json(county, crossing):
    county.ingest("c.csv", [crossing(0.01), crossing(0.02, taxon="slider?")])
    told = county.run("problems", county.season, "--remarks").output.splitlines()
    assert told[0].startswith("c.csv, line 3, c0.020000: taxon 'slider?' is written with doubt")
    assert told[1:] == ["1 remark."]
    (row,) = county.json("problems", county.season, "--remarks")["remarks"]
    assert (row["line"], row["record_key"], row["kind"], row["severity"]) == (3, "c0.020000", "crossings", "note")
    path = county.folder / "r.csv"
    assert county.run("problems", county.season, "--remarks", "-o", path).output == f"Wrote {path}\n"
    assert "slider?" in path.read_text("utf-8-sig")


def test_without_remarks_none_are_listed(county):
    assert county.run("problems", county.season, "--remarks").output == "0 remarks.\n"


def test_a_row_is_discarded_by_its_id_with_a_reason_and_listed_apart(held):
    result = held.run("problems", held.season, "--discard", "h1-3", "--why", "no place known", "--who", "Ana")
    first, last = result.output.splitlines()
    assert first.startswith("h1-3: discarded: c0.020000,")
    assert last == "1 row held back, 1 discarded (see --discarded)."
    assert held.run("problems", held.season).output.splitlines()[-1] == last
    lines = held.run("problems", held.season, "--discarded").output.splitlines()
    assert lines[0].startswith("c.csv, line 3: discarded: no place known (Ana, 20")
    assert lines[-1] == "1 row discarded."


def test_several_rows_are_discarded_together_and_opened_again(held):
    args = ("--discard", "h1-3", "--discard", "h1-4", "--why", "x")
    told = held.json("problems", held.season, *args)
    assert (told["now"], [row["held_back_id"] for row in told["rows"]]) == ("discarded", ["h1-3", "h1-4"])
    assert held.run("problems", held.season).output == "No row is held back, 2 discarded (see --discarded).\n"
    result = held.run("problems", held.season, "--reopen", "h1-4", "--why", "a slider after all")
    assert result.output.splitlines()[0].startswith("h1-4: held back again: ")
    assert [row["held_back_id"] for row in held.json("problems", held.season)["held_back"]] == ["h1-4"]


def test_discarded_rows_are_given_as_json_and_written_to_a_file(held):
    held.run("problems", held.season, "--discard", "h1-3", "--why", "no place known")
    told = held.json("problems", held.season, "--discarded")
    (row,) = told["discarded"]
    assert (row["held_back_id"], row["line"], told["n_discarded"]) == ("h1-3", 3, 1)
    path = held.folder / "d.csv"
    held.run("problems", held.season, "--discarded", "-o", path)
    with path.open(encoding="utf-8-sig", newline="") as file:
        (written,) = csv.DictReader(file)
    assert written["reasons"].startswith("discarded: no place known (coordinator, 20")
    assert held.json("problems", held.season)["n_discarded"] == 1


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("--discard", "h1-3"), "needs its reason; say why"),
        (("--discard", "h1-9", "--why", "x"), "no row held back is called 'h1-9'"),
        (("--reopen", "h1-3", "--why", "x"), "h1-3 was not discarded"),
        (("--discard", "h1-3", "--remarks", "--why", "x"), "at a time"),
    ],
)
def test_a_wrong_call_to_discard_is_told_with_exit_code_2(held, args, words):
    result = held.run("problems", held.season, *args)
    assert result.exit_code == 2
    assert words in result.output
    assert len(Season.open(held.season).held_rows()) == 2
