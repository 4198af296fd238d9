"""Every row is accepted or held back with its reason; nothing is lost and nothing is taken twice."""

import pytest

from roadwatch.records.store import Season


def test_good_rows_are_kept_and_bad_ones_held_back_with_exit_code_3(county, crossing):
    rows = [crossing(0.01), crossing(0.02, latitude="north of town"), crossing(0.03)]
    result = county.ingest("crossings.csv", rows)
    assert result.exit_code == 3
    assert "3 crossings rows read, 2 accepted, 0 already known, 1 held back" in result.output
    assert "line 3: latitude 'north of town' is not a number" in result.output


def test_held_back_rows_keep_their_original_text(county, crossing):
    county.ingest("crossings.csv", [crossing(0.02, latitude="north of town", notes='said "big one", maybe')])
    held = county.json("problems", county.season)["held_back"]
    written = (county.folder / "crossings.csv").read_text("utf-8").splitlines()[1]
    assert held[0]["original"] == written
    assert "decimal degrees" in held[0]["reasons"]


def test_the_same_file_twice_adds_nothing(county, crossing):
    rows = [crossing(0.01), crossing(0.02), crossing(0.02, latitude="?")]
    county.ingest("crossings.csv", rows)
    again = county.json("ingest", county.season, county.folder / "crossings.csv")["files"][0]
    assert (again["accepted"], again["known"]) == (0, 2)
    assert len(Season.open(county.season).read("crossings")) == 2


def test_a_dry_run_keeps_nothing(county, crossing):
    before = county.season.read_bytes()
    told = county.ingest("crossings.csv", [crossing()], "--dry-run")
    assert "1 would be accepted" in told.output
    assert county.season.read_bytes() == before


def test_one_bad_file_does_not_stop_the_others(county, crossing):
    good = county.write_csv("good.csv", [crossing()])
    result = county.run("ingest", county.season, county.write("empty.csv", ""), good)
    assert result.exit_code == 4
    assert "empty.csv" in result.output
    assert len(Season.open(county.season).read("crossings")) == 1


def test_a_record_far_from_any_road_is_kept_and_said(county, crossing):
    result = county.ingest("crossings.csv", [crossing(latitude=31.72)])
    assert result.exit_code == 0
    assert "not placed on a road" in result.output
    assert len(Season.open(county.season).read("crossings")) == 1


def test_what_is_assumed_for_blanks_is_said(county, crossing):
    told = county.ingest("crossings.csv", [crossing(position_error_m="")]).output
    assert "1 rows without position_error_m: taken as 30 m" in told
    assert "1 rows without observer_skill: taken as novice" in told


def test_columns_that_tell_nothing_ask_for_the_kind(county):
    file = county.write("odd.csv", "colour,weight\nred,3\n")
    result = county.run("ingest", county.season, file)
    assert result.exit_code == 4
    assert "--as" in result.output


def test_nest_checks_are_judged_by_the_nests_already_stored(county, nest):
    county.ingest("nests.csv", [nest()])
    result = county.ingest("checks.csv", [{"nest_id": "n1", "checked_at": "2025-05-20", "outcome": "intact"}])
    assert result.exit_code == 3
    assert "before it was found" in result.output


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"longitude": 31.7, "latitude": -81.89}, "swapped"),
        ({"longitude": 81.89}, "other sign"),
        ({"observed_at": "2125-05-12"}, "after today"),
        ({"taxon": "armadillo"}, "not in the table of taxa"),
        ({"taxon": ""}, "taxon is missing"),
        ({"latitude": 45.0}, "outside"),
    ],
)
def test_each_common_mistake_has_its_reason_and_cure(county, crossing, changes, words):
    result = county.ingest("crossings.csv", [crossing(**changes), crossing(0.03)])
    assert result.exit_code == 3
    assert words in result.output
    assert "1 accepted" in result.output
    assert "Traceback" not in result.output
