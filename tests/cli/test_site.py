"""``roadwatch site`` as a land manager runs it."""

import json
import re

import geopandas as gpd
import pytest
from fence_seasons import add_layer, plant, point
from tiny_county import CENTRE

COLUMNS = [
    "run",
    "road",
    "from_m",
    "to_m",
    "length_m",
    "deaths_per_year",
    "deaths_low",
    "deaths_high",
    "averted_per_year",
    "averted_low",
    "averted_high",
    "cost",
    "cost_per_averted_low",
    "cost_per_averted_high",
    "milepost_from",
    "milepost_to",
    "route_id",
    "agency",
]


@pytest.fixture
def planted(county, crossing):
    return plant(county, crossing)


def test_the_json_holds_runs_proof_curve_notes_and_seed(planted):
    found = planted.json("site", planted.season, "--fence-km", 0.6, "--runs", 2, "--draws", 20, "--seed", 7)
    assert set(found) == {"runs", "measures", "optimal", "gap", "curve", "notes", "seed"}
    assert found["optimal"] is True
    assert found["gap"] == 0
    assert found["seed"] == 7
    assert set(COLUMNS) <= set(found["runs"][0])
    assert found["runs"][0]["cost"] is None
    assert set(found["curve"][0]) == {"length_m", "averted_per_year", "low", "high", "cost"}
    assert any("none is assumed" in note for note in found["notes"])
    assert any("licensed engineers" in note for note in found["notes"])


def test_the_table_shows_proof_and_curve(planted):
    result = planted.run("site", planted.season, "--fence-km", 0.6, "--draws", 20)
    assert result.exit_code == 0, result.output
    assert "optimal: yes, proven" in result.output
    assert re.search(r"length_m\s+averted_per_year\s+low\s+high", result.output)
    assert "Invented East Road" in result.output


def test_the_same_seed_gives_the_same_bytes(planted):
    asked = ("site", planted.season, "--fence-km", 0.6, "--draws", 20, "--json")
    assert planted.run(*asked).stdout == planted.run(*asked).stdout


@pytest.mark.parametrize("ending", ["csv", "geojson", "gpkg", "html"])
def test_runs_are_written_in_every_format(planted, ending):
    path = planted.folder / f"fences.{ending}"
    result = planted.run("site", planted.season, "--fence-km", 0.6, "--draws", 20, "-o", path)
    assert result.exit_code == 0, result.output
    if ending in {"geojson", "gpkg"}:
        assert set(COLUMNS) <= set(gpd.read_file(path).columns)
    else:
        assert "averted_per_year" in path.read_text(encoding="utf-8")


def test_the_brief_is_written_beside_the_json(planted):
    path = planted.folder / "brief.html"
    result = planted.run("site", planted.season, "--fence-km", 0.6, "--draws", 20, "--brief", path, "--json")
    assert json.loads(result.stdout)["runs"]
    assert "Wrote" in result.stderr
    assert "Before you act" in path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("options", "code", "what"),
    [
        ((), 2, "say how much fence"),
        (("--fence-km", 0), 2, "0"),
        (("--fence-km", 0.04), 2, "less than one stretch"),
        (("--fence-km", 0.1), 2, "less than the shortest run"),
        (("--budget", 0, "--cost-per-m", 10), 2, "less than one stretch"),
        (("--fence-km", 1, "--budget", 500), 2, "give --cost-per-m"),
        (("--fence-km", 1, "--efficacy", "newts"), 2, "choose one of"),
        (("--fence-km", 1, "--passage-reach-m", 200), 5, "--as passages"),
        (("--fence-km", 1, "--years", "1999"), 5, "not enough data"),
    ],
)
def test_what_cannot_be_planned_is_said_in_one_line(planted, options, code, what):
    result = planted.run("site", planted.season, *options)
    assert result.exit_code == code, result.output
    assert what in result.output
    assert "Traceback" not in result.output


def test_a_budget_of_everything_fences_all_that_was_searched(planted):
    found = planted.json("site", planted.season, "--fence-km", 900, "--draws", 20, "--min-run-m", 0)
    total = sum(run["length_m"] for run in found["runs"])
    assert 8000 < total <= 9600
    assert found["optimal"] is True


def test_a_table_of_one_s_own_changes_what_is_averted(planted):
    own = planted.write("own.csv", "set,part,from_m,to_m,value,low,high,source,remark\nme,middle,0,,0.1,0.1,0.1,me,x\n")
    weak = planted.json("site", planted.season, "--fence-km", 0.6, "--runs", 1, "--draws", 20, "--efficacy", own)
    run = weak["runs"][0]
    assert run["averted_per_year"] == pytest.approx(0.1 * run["deaths_per_year"])


def test_a_budget_of_nothing_is_answered_in_words_and_not_called_the_best_fence(planted):
    sheet = planted.folder / "none.html"
    result = planted.run(
        "site", planted.season, "--fence-km", 1, "--cost-per-m", 60, "--budget", 0, "--draws", 20, "--brief", sheet
    )
    assert result.exit_code == 0
    assert "No fence is planned: no run fits within the limits" in result.stdout
    assert "optimal" not in result.stdout
    assert "No fence is planned" in sheet.read_text("utf-8")


MEASURES = ["measure", "place", "averted_per_year", "low", "high", "cost", "cost_per_averted_low"]


def test_measures_stand_side_by_side_and_what_has_no_number_is_not_ranked(planted):
    asked = ("site", planted.season, "--fence-km", 0.6, "--runs", 1, "--draws", 20)
    found = planted.json(*asked)["measures"]
    assert list(found[0]) == [*MEASURES, "cost_per_averted_high", "basis"]
    assert [row["measure"] for row in found] == ["fence", "sign", "speed", "passage"]
    assert {row["basis"] for row in found[1:]} == {"no sourced efficacy: not ranked"}
    assert all(row["averted_per_year"] is None for row in found[1:])
    shown = planted.run(*asked).output
    assert shown.count("no sourced efficacy: not ranked") == 3
    assert "Permanent wildlife signs work poorly" in shown


def test_a_number_of_one_s_own_ranks_a_sign_beside_the_fence(planted):
    rows = "set,measure,part,from_m,to_m,value,low,high,source,remark,cost_per_place\n"
    own = planted.write("own.csv", rows + "me,sign,middle,0,,0.1,0.05,0.2,county trial,,900\n")
    asked = ("site", planted.season, "--fence-km", 0.6, "--runs", 1, "--draws", 20, "--cost-per-m", 50)
    found = planted.json(*asked, "--efficacy", own)
    (run,) = found["runs"]
    sign, fence = found["measures"][:2]
    assert (sign["measure"], fence["measure"]) == ("sign", "fence"), "the cheaper death averted first"
    assert sign["averted_per_year"] == pytest.approx(0.1 * run["deaths_per_year"])
    assert sign["cost"] == 900
    assert fence["averted_per_year"] == run["averted_per_year"], "the shipped fence stays"
    assert fence["cost"] == 50 * run["length_m"]


def test_the_curve_tells_its_cost_only_where_prices_are_given(planted):
    asked = ("site", planted.season, "--fence-km", 0.6, "--draws", 20, "--cost-per-m", 50, "--cost-per-end", 100)
    for row in planted.json(*asked)["curve"]:
        assert row["cost"] <= 50 * row["length_m"] + 200 * (row["length_m"] // 200)
        assert row["cost"] > 0 or row["averted_per_year"] == 0
    assert re.search(r"averted_per_year\s+low\s+high\s+cost\n", planted.run(*asked).output)
    plain = planted.run("site", planted.season, "--fence-km", 0.6, "--draws", 20).output
    assert re.search(r"averted_per_year\s+low\s+high\n", plain)


@pytest.mark.parametrize(
    ("rows", "what"),
    [
        ("me,sing,middle,0,,0.1,0,0.2,x,,\n", "measure 'sing' is not known"),
        ("me,sign,middle,0,,much,0,0.2,x,,\n", "value 'much' is not a number"),
        ("me,sign,middle,0,,0.1,0,0.2,x,,dear\n", "cost_per_place 'dear' is not a price"),
    ],
)
def test_a_table_of_one_s_own_that_does_not_fit_is_code_4(planted, rows, what):
    head = "set,measure,part,from_m,to_m,value,low,high,source,remark,cost_per_place\n"
    own = planted.write("own.csv", head + rows)
    result = planted.run("site", planted.season, "--fence-km", 0.6, "--efficacy", own)
    assert result.exit_code == 4, result.output
    assert what in result.output


@pytest.mark.parametrize(
    ("crossings", "searches", "what"),
    [
        (3, None, "at least 5"),
        (8, "Elsewhere Road", "none covers any road"),
        (0, None, "no dead record"),
    ],
)
def test_too_little_to_plan_from_is_code_5_and_says_what_is_missing(county, crossing, crossings, searches, what):
    rows = [crossing(0.004 * k, observed_at=f"2025-05-{1 + k:02d}") for k in range(1, crossings + 1)]
    if rows:
        county.ingest("c.csv", rows)
    if searches:
        row = {"search_id": "s1", "started_at": "2025-05-01", "method": "foot", "roads": searches}
        county.ingest("s.csv", [row])
    result = county.run("site", county.season, "--fence-km", 1)
    assert result.exit_code == 5, result.output
    assert "not enough data" in result.output
    assert what in result.output


def test_a_priced_passage_keeps_the_json_clean_and_its_cost_in_the_curve(planted):
    add_layer(planted, "culverts.geojson", "passages", *(point(CENTRE[0] + 0.005 * k, CENTRE[1]) for k in range(-5, 8)))
    asked = ("--fence-km", 0.6, "--draws", 20, "--cost-per-m", 10, "--cost-per-passage", 1000, "--budget", 8000)
    found = planted.json("site", planted.season, *asked)
    spent = [row["cost"] for row in found["curve"] if row["length_m"] <= 600]
    assert max(spent) <= 8000
    assert any(row["cost"] >= 1000 + 10 * 200 for row in found["curve"])
    assert any("made ready for" in note for note in found["notes"])
