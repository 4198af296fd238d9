"""Records are put right as whole jobs, each with its trace: accept, amend, history, undo."""

import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import date

import pytest
from tiny_county import CENTRE

from roadwatch.errors import UsageError
from roadwatch.records.store import Season
from roadwatch.season import intake as intake_module
from roadwatch.season.intake import Intake
from roadwatch.season.repairs import accept_proposals, amend, history

NOW = "2025-07-01T12:00:00-04:00"


def opened(county) -> Intake:
    return Intake.open(county.season, today=date(2025, 7, 1), now=NOW)


@pytest.fixture
def proposing(county, crossing, monkeypatch):
    """
    A season with three rows held back: for the first and second a latitude is proposed, for the third nothing.

    The second also lacks its taxon, so that the proposal alone does not cure it.
    """
    judge = Intake.judge

    def judge_and_propose(self, part):
        accepted = judge(self, part)
        for k, fault in enumerate(accepted.faults):
            if fault.found.startswith("north of town"):
                accepted.faults[k] = replace(fault, proposal={"latitude": str(CENTRE[1])})
        return accepted

    monkeypatch.setattr(intake_module.Intake, "judge", judge_and_propose)
    rows = [
        crossing(0.01),
        crossing(0.02, latitude="north of town"),
        crossing(0.03, latitude="north of town", taxon=""),
        crossing(0.04, observed_at=""),
    ]
    county.ingest("crossings.csv", rows)
    return county


def test_an_accepted_proposal_is_stored_with_its_trace(proposing):
    (decision,) = accept_proposals(opened(proposing), "h1-3", who="Ana", why="seen on the map")
    assert (decision.record_key, decision.reason) == ("c0.020000", "")
    season = Season.open(proposing.season)
    assert season.read("crossings", keys=["c0.020000"])["latitude"].tolist() == [CENTRE[1]]
    (change,) = season.changes().to_dict("records")
    assert change == {
        "who": "Ana",
        "changed_at": NOW,
        "kind": "crossings",
        "record_key": "c0.020000",
        "field": "latitude",
        "old": "north of town",
        "new": str(CENTRE[1]),
        "why": "seen on the map",
    }


def test_an_id_may_be_given_without_its_letter(proposing):
    assert accept_proposals(opened(proposing), "1-3")[0].record_key == "c0.020000"


def test_all_takes_every_proposal_and_tells_which_rows_need_more(proposing):
    first, second = accept_proposals(opened(proposing), "all")
    assert (first.held_back_id, first.record_key) == ("h1-3", "c0.020000")
    assert (second.held_back_id, second.record_key) == ("h1-4", None)
    assert "taxon is missing" in second.reason
    held = {row.held_back_id: row for row in Season.open(proposing.season).held_rows()}
    assert set(held) == {"h1-4", "h1-5"}
    assert held["h1-4"].proposal == {"latitude": str(CENTRE[1])}, "the proposal still stands"


def test_the_counts_of_the_batch_follow_and_the_row_keeps_its_wording(proposing):
    accept_proposals(opened(proposing), "h1-3")
    season = Season.open(proposing.season)
    (batch,) = season.batches().to_dict("records")
    assert (batch["rows_in"], batch["accepted"], batch["known"], batch["held_back"]) == (4, 2, 0, 2)
    (source,) = season.trace("crossings", "c0.020000").sources
    assert "north of town" in source["original"]


@pytest.mark.parametrize(
    ("which", "words"),
    [("h1-5", "nothing is proposed for row h1-5"), ("h1-99", "no row held back is called"), ("x", "no row held back")],
)
def test_a_row_that_cannot_be_accepted_is_told(proposing, which, words):
    with pytest.raises(UsageError, match=words):
        accept_proposals(opened(proposing), which)


def test_a_row_is_accepted_once(proposing):
    accept_proposals(opened(proposing), "h1-3")
    with pytest.raises(UsageError, match=r"settled before \(accepted\) and is now record c0.020000; nothing"):
        accept_proposals(opened(proposing), "h1-3")
    assert len(Season.open(proposing.season).changes()) == 1


def test_accepting_where_nothing_is_proposed_does_nothing(county, crossing):
    county.ingest("c.csv", [crossing(observed_at="")])
    assert accept_proposals(opened(county), "all") == []


def test_a_repair_that_is_certain_is_recorded_as_a_change_of_the_program(county, crossing):
    told = county.ingest("c.csv", [crossing(0.01), crossing(0.02, longitude=-CENTRE[0] - 0.02)])
    assert "1 row repaired, such as line 3: " in told.output
    season = Season.open(county.season)
    assert season.read("crossings")["longitude"].tolist()[1] == pytest.approx(CENTRE[0] + 0.02, abs=0.05)
    (change,) = season.changes().to_dict("records")
    assert (change["who"], change["record_key"], change["field"]) == ("roadwatch", "c0.020000", "longitude")
    assert float(change["old"]) > 0 > float(change["new"])


def test_a_repair_is_recorded_once(county, crossing):
    for name in ("a.csv", "b.csv"):
        county.ingest(name, [crossing(0.01, notes=name), crossing(0.02, longitude=81.88, notes="same")][1:])
    assert len(Season.open(county.season).changes()) == 1


@pytest.fixture
def told(county, crossing, nest):
    county.ingest("crossings.csv", [crossing(0.01), crossing(0.02, carapace_mm=110)][:1])
    county.ingest("nests.csv", [nest()])
    return county


def test_an_amended_value_is_read_like_a_cell_of_a_file(told):
    done = amend(opened(told), "c0.010000", {"species": "painted turtle", "date": "May 14, 2025"}, why="seen again")
    assert done.changed["taxon"][1] == "Chrysemys picta"
    assert done.changed["observed_at"] == ("2025-05-12", "2025-05-14")
    row = Season.open(told.season).read("crossings").iloc[0]
    assert (row["taxon"], row["observed_at"]) == ("Chrysemys picta", "2025-05-14")


def test_an_amendment_leaves_the_stored_row_as_it_is(told):
    amend(opened(told), "c0.010000", {"condition": "injured"}, why="seen again")
    with closing(sqlite3.connect(told.season)) as connection:
        assert connection.execute("SELECT condition FROM crossings").fetchall() == [("dead",)]


def test_a_field_can_be_made_blank(told):
    done = amend(opened(told), "c0.010000", {"observer": ""}, why="a wrong name")
    assert done.changed == {"observer": ("A", None)}


def test_a_value_that_stands_there_already_leaves_no_trace(told):
    assert amend(opened(told), "c0.010000", {"condition": "dead"}, why="x").changed == {}
    assert len(Season.open(told.season).changes()) == 0


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"latitude": "north"}, "latitude 'north' is not"),
        ({"latitude": "45"}, "outside"),
        ({"observed_at": "2099-01-01"}, "after today"),
        ({"taxon": ""}, "taxon is missing"),
        ({"taxon": "trutle"}, "trutle"),
        ({"condition": "flat"}, "condition 'flat' is not known"),
        ({"colour": "red"}, "crossings have no field 'colour'; see 'roadwatch fields crossings'"),
        ({"record_id": "x"}, "names the record and cannot be amended"),
        ({"condition": "alive", "latitude": "45"}, "outside"),
    ],
)
def test_an_amendment_that_breaks_a_rule_is_refused_as_a_whole(told, values, words):
    with pytest.raises(UsageError, match=words):
        amend(opened(told), "c0.010000", values, why="x")
    assert len(Season.open(told.season).changes()) == 0


@pytest.mark.parametrize("why", ["", "  "])
def test_an_amendment_needs_its_reason(told, why):
    with pytest.raises(UsageError, match="a correction needs its reason"):
        amend(opened(told), "c0.010000", {"condition": "alive"}, why=why)


def test_a_fault_that_stood_there_before_does_not_keep_another_field_from_being_mended(told):
    """Rules may have come since; then the record's old fault is told where nothing else is wrong."""
    Season.open(told.season).add_changes("crossings", "c0.010000", {"latitude": "45"}, who="x", when=NOW, why="forced")
    with pytest.raises(UsageError, match="outside"):
        amend(opened(told), "c0.010000", {"condition": "alive"}, why="x")
    done = amend(opened(told), "c0.010000", {"latitude": str(CENTRE[1])}, why="back")
    assert done.changed["latitude"] == ("45.0", str(CENTRE[1]))


def test_a_name_of_two_kinds_asks_which(county, crossing, nest):
    county.ingest("c.csv", [crossing(record_id="n1")])
    county.ingest("n.csv", [nest(nest_id="n1")])
    with pytest.raises(UsageError, match="'n1' names a record among crossings and nests; say which with '--as'"):
        amend(opened(county), "n1", {"observer": "B"}, why="x")
    assert amend(opened(county), "n1", {"observer": "B"}, why="x", kind="nests").kind == "nests"


def test_a_record_that_does_not_exist_is_told(told):
    with pytest.raises(UsageError, match="holds no record 'c9'; check the name"):
        amend(opened(told), "c9", {"observer": "B"}, why="x")
    with pytest.raises(UsageError, match="holds no record 'n1' among its crossings"):
        history(Season.open(told.season), "n1", kind="crossings")


def test_the_history_tells_files_lines_wording_and_corrections_in_order(county, crossing):
    county.ingest("a.csv", [crossing(0.01)])
    county.ingest("b.csv", [crossing(0.03), crossing(0.01)])
    for value in ("injured", "alive"):
        amend(opened(county), "c0.010000", {"condition": value}, who="Ana", why=f"it was {value}")
    trace = history(Season.open(county.season), "c0.010000")
    assert [(row["file_name"], row["line"]) for row in trace.sources] == [("a.csv", 2), ("b.csv", 3)]
    assert trace.sources[0]["original"].startswith("c0.010000,2025-05-12")
    assert [(row["old"], row["new"]) for row in trace.changes] == [("dead", "injured"), ("injured", "alive")]


def test_what_only_an_undone_file_told_leaves_the_season_and_stays_in_the_history(county, crossing):
    county.ingest("a.csv", [crossing(0.01), crossing(0.02)])
    county.ingest("b.csv", [crossing(0.02), crossing(0.03)])
    amend(opened(county), "c0.010000", {"condition": "alive"}, why="x")
    season = Season.open(county.season)
    done = season.undo(1, who="Ana", when=NOW, why="the wrong county")
    assert (done.withdrawn, done.kept, done.corrections) == (1, 1, 1)
    assert sorted(season.read("crossings")["record_key"]) == ["c0.020000", "c0.030000"]
    trace = history(season, "c0.010000")
    assert not trace.is_stored
    assert trace.sources[0]["undone_why"] == "the wrong county"
    assert trace.changes[0]["undone_at"] == NOW
    content = json.loads(trace.withdrawn[0]["content"])
    assert (content["record_id"], content["latitude"], content["condition"]) == ("c0.010000", CENTRE[1], "dead")


def test_undoing_twice_is_said_and_changes_nothing(county, crossing):
    county.ingest("a.csv", [crossing(0.01)])
    season = Season.open(county.season)
    season.undo(1, who="Ana", when=NOW, why="")
    before = county.season.read_bytes()
    with pytest.raises(UsageError, match=rf"batch 1 \(a.csv\) was undone already, by Ana at {NOW}; nothing changed"):
        season.undo(1, who="Ben", when=NOW, why="")
    assert county.season.read_bytes() == before


def test_a_batch_that_does_not_exist_is_told(county):
    with pytest.raises(UsageError, match="the season holds no batch 7"):
        Season.open(county.season).undo(7, who="Ana", when=NOW, why="")


def test_an_undone_file_can_be_taken_in_again(county, crossing):
    county.ingest("a.csv", [crossing(0.01), crossing(0.02, latitude="?")])
    amend(opened(county), "c0.010000", {"condition": "alive"}, why="x")
    season = Season.open(county.season)
    done = season.undo(1, who="Ana", when=NOW, why="")
    assert (done.withdrawn, done.dropped) == (1, 1)
    assert season.held_rows() == []
    again = county.json("ingest", county.season, county.folder / "a.csv")["files"][0]
    assert (again["accepted"], again["known"], again["held_back"], again["batch"]) == (1, 0, 1, 2)
    assert season.read("crossings")["condition"].tolist() == ["dead"], "corrections left with the record"
    assert [row.held_back_id for row in season.held_rows()] == ["h2-3"]


def test_records_pass_to_the_next_file_that_tells_of_them_until_the_last_is_undone(county, crossing):
    for k, name in enumerate(("a.csv", "b.csv", "c.csv")):
        county.ingest(name, [crossing(0.01)] * k + [crossing(0.01), crossing(0.02)][: 2 - (k > 0)])
    season = Season.open(county.season)
    left = [season.undo(number, who="Ana", when=NOW, why="") for number in (1, 2, 3)]
    assert [(done.withdrawn, done.kept) for done in left] == [(1, 1), (0, 1), (1, 0)]
    assert season.read("crossings").empty


def test_checks_without_their_nest_are_counted(county, nest):
    county.ingest("nests.csv", [nest()])
    county.ingest("checks.csv", [{"nest_id": "n1", "checked_at": "2025-06-20", "outcome": "intact"}])
    assert Season.open(county.season).undo(1, who="Ana", when=NOW, why="").orphans == 1


def test_the_file_stays_whole_for_other_programs(county, crossing):
    county.ingest("a.csv", [crossing(0.01), crossing(0.02)])
    Season.open(county.season).undo(1, who="Ana", when=NOW, why="")
    with closing(sqlite3.connect(county.season)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
