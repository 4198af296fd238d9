"""Every row is accepted or held back with its reason; nothing is lost and nothing is taken twice."""

import json
import os
import random

import pandas as pd
import pyogrio
import pytest
from tiny_county import road_layer, road_line

from roadwatch.records.store import Season
from roadwatch.season import intake


def test_good_rows_are_kept_and_bad_ones_held_back_with_exit_code_3(county, crossing):
    rows = [crossing(0.01), crossing(0.02, latitude="north of town"), crossing(0.03)]
    result = county.ingest("crossings.csv", rows)
    assert result.exit_code == 3
    assert "3 crossings rows read, 2 accepted, 0 already known, 1 held back" in result.output
    assert "line 3: latitude 'north of town' is not a coordinate" in result.output


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
    assert "1 row without position_error_m: taken as 30 m" in told
    assert "1 row without observer_skill: taken as novice" in told


def test_nothing_is_assumed_where_no_row_was_new(county, crossing):
    county.ingest("crossings.csv", [crossing()])
    told = county.ingest("copy.csv", [crossing(), crossing(0.02, latitude="")]).output
    assert "0 accepted, 1 already known, 1 held back" in told
    assert "taken as" not in told


def test_every_remark_is_listed_in_json_and_by_problems(county, crossing):
    """Two crossings some 800 m beside the road: both are kept, and both must be findable."""
    rows = [crossing(0.02), crossing(0.008, latitude=31.72), crossing(0.009, latitude=31.73)]
    county.write_csv("crossings.csv", rows)
    (told,) = county.json("ingest", county.season, county.folder / "crossings.csv")["files"]
    assert [(one["line"], one["column"], one["severity"]) for one in told["remarks"]] == [
        (3, "longitude", "note"),
        (4, "longitude", "note"),
    ]
    assert all("not placed on a road" in one["reason"] for one in told["remarks"])
    assert told["reasons"] == []
    listed = county.run("problems", county.season, "--remarks").output.splitlines()
    assert [line.split(":")[0] for line in listed[:2]] == [
        "crossings.csv, line 3, c0.008000",
        "crossings.csv, line 4, c0.009000",
    ]
    assert listed[2:] == ["2 remarks."]


def test_waypoints_that_hold_only_a_name_are_taken_in(county):
    points = "".join(
        f'<wpt lat="{lat}" lon="-81.9"><time>2025-06-01T12:00:00Z</time><name>{name}</name></wpt>'
        for lat, name in ((31.70, "dead slider"), (31.701, "box turtle alive"), (31.702, "flat tyre"))
    )
    file = county.write("gps.gpx", f'<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">{points}</gpx>')
    told = county.run("ingest", county.season, file).output
    assert "2 accepted, 0 already known, 1 held back" in told
    assert "- waypoint 3: taxon 'flat tyre'" in told
    stored = Season.open(county.season).read("crossings").sort_values("latitude")
    assert stored["taxon"].tolist() == ["Trachemys scripta", "Terrapene carolina"]
    assert stored["condition"].tolist() == ["dead", "alive"]
    assert "gps.gpx, waypoint 3: " in county.run("problems", county.season).output


def test_a_multipoint_is_named_as_what_is_wrong(county):
    shape = '{"type": "MultiPoint", "coordinates": [[-81.9, 31.7], [-81.91, 31.7]]}'
    feature = f'{{"type": "Feature", "properties": {{"species": "slider", "date": "2025-06-01"}}, "geometry": {shape}}}'
    file = county.write("app.geojson", f'{{"type": "FeatureCollection", "features": [{feature}]}}')
    told = county.run("ingest", county.season, file, "--as", "crossings").output
    assert "- feature 1: the geometry: found MultiPoint, expected Point; send one point for each record" in told
    assert "is missing" not in told


def test_a_table_without_a_header_is_refused_though_its_kind_is_told(county):
    file = county.write("bare.csv", "2025-05-12,31.7,-81.9,turtle,alive\n2025-05-13,31.7,-81.9,slider,dead\n")
    result = county.run("ingest", county.season, file, "--as", "crossings")
    assert result.exit_code == 4
    assert "expected a header; put the names of the columns in line 1" in result.output


def test_a_dry_run_sends_nobody_to_rows_that_are_not_stored(county, crossing):
    rows = [crossing(k / 1000, latitude="") for k in range(1, 8)]
    told = county.ingest("crossings.csv", rows, "--dry-run").output
    assert "2 more reasons: --json lists them all" in told
    assert "roadwatch problems" not in told


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


KINDS = {
    "people": {"name": "Ana", "days": "Mo;We;Sa", "hours": "3", "lon": "-81.9", "lat": "31.7", "permit": "yes"},
    "measures": {"measure_id": "m1", "kind": "fence", "built": "2024-03-01", "sides": "2", "cost": "12000"},
    "searches": {"search": "s1", "start": "2025-05-12 07:00", "end": "2025-05-12 08:00", "method": "car", "km": "9.5"},
    "temperatures": {"station": "t1", "date": "2025-05-12", "tmin_c": "18", "tmax_c": "31.5"},
}


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_is_told_by_its_columns_and_kept(county, kind):
    report = county.json("ingest", county.season, county.write_csv(f"{kind}.csv", [KINDS[kind]]))["files"][0]
    assert (report["kind"], report["accepted"], report["held_back"]) == (kind, 1, 0)
    assert len(Season.open(county.season).read(kind)) == 1


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_is_known_the_second_time(county, kind):
    for name in ("a.csv", "b.csv"):
        county.ingest(name, [KINDS[kind], KINDS[kind]][: 1 + (name == "b.csv")])
    assert len(Season.open(county.season).read(kind)) == (2 if kind == "temperatures" else 1)


def test_a_person_keeps_place_days_hours_and_permit(county):
    county.ingest("people.csv", [KINDS["people"]])
    person = Season.open(county.season).read("people").iloc[0]
    assert (person["observer"], person["days"], person["hours_per_day"]) == ("Ana", "Mo;We;Sa", 3.0)
    assert person["may_open_nests"] is True
    assert (person.geometry.x, person.geometry.y) == (-81.9, 31.7)


@pytest.mark.parametrize(
    ("changes", "words"),
    [({"hours": "30"}, "hours"), ({"days": ""}, "days is missing"), ({"permit": "perhaps"}, "yes")],
)
def test_a_person_that_cannot_be_believed_is_held_back(county, changes, words):
    result = county.ingest("people.csv", [KINDS["people"] | changes])
    assert result.exit_code == 3
    assert words in result.output


def test_forecasts_are_temperatures_that_say_when_they_were_issued(county):
    row = {"series_id": "f1", "kind": "forecast", "date": "2025-06-20", "tmin_c": 10, "tmax_c": 33}
    rows = [row | {"issued_at": f"2025-06-{day}T06:00:00-04:00", "tmax_c": day} for day in (18, 19)]
    assert county.ingest("forecast.csv", rows).exit_code == 0
    kept = Season.open(county.season).read("temperatures")
    assert kept["kind"].tolist() == ["forecast", "forecast"]
    assert kept["issued_at"].tolist() == ["2025-06-18T06:00:00-04:00", "2025-06-19T06:00:00-04:00"]


@pytest.mark.parametrize("kind", ["passages", "no_fence", "measures", "water", "protected"])
def test_each_layer_goes_in_and_is_replaced_as_a_whole(county, kind):
    lines = [
        road_line("one", (0, 0), (0.01, 0), measure_id="m1", kind="fence", built_on="2024-03-01"),
        road_line("two", (0, 0.01), (0.01, 0.01), measure_id="m2", kind="sign", built_on="2024-03-01"),
    ]
    for some in (lines, lines[:1]):
        file = county.write("layer.geojson", road_layer(*some))
        assert county.json("layer", county.season, file, "--as", kind)["features"] == len(some)
    kept = Season.open(county.season).read(kind)
    assert len(kept) == 1
    assert kept.geometry.iloc[0].geom_type == "LineString"
    assert kept.crs == "EPSG:4326"


def test_a_file_read_before_is_not_read_again(county, crossing, monkeypatch):
    county.ingest("a.csv", [crossing(0.01), crossing(0.02, latitude="?")])
    first = county.json("ingest", county.season, county.folder / "a.csv")["files"][0]

    def refuse(path):
        raise AssertionError(f"{path} was read again")

    monkeypatch.setattr(intake, "read_file", refuse)
    again = county.json("ingest", county.season, county.folder / "a.csv")["files"][0]
    assert again == first
    assert (again["rows_read"], again["accepted"], again["known"], again["held_back"]) == (2, 0, 1, 1)
    assert "latitude '?' is not" in again["reasons"][0]["reason"]


def test_rows_held_back_are_judged_anew_when_their_file_comes_again(county, nest):
    """Checks that come before their nest was found wait for the corrected nest."""
    check = {"nest_id": "n1", "checked_at": "2025-05-20", "outcome": "intact"}
    county.ingest("nests.csv", [nest()])
    assert county.ingest("checks.csv", [check]).exit_code == 3
    county.run("amend", county.season, "n1", "found_at=2025-05-10", "laid_on=2025-05-10", "--why", "notebook")
    again = county.json("ingest", county.season, county.folder / "checks.csv")["files"][0]
    assert (again["rows_read"], again["accepted"], again["known"], again["held_back"]) == (1, 1, 0, 0)
    assert not Season.open(county.season).held_rows()


def test_rows_judged_anew_are_read_in_the_way_of_their_whole_file(county, nest):
    """Only the other rows tell that the day stands before the month."""
    lines = ["nest_id;date;outcome", "n1;04/06/2025;intact", "n1;25/06/2025;intact"]
    county.ingest("nests.csv", [nest(found_at="2025-06-20", laid_on="2025-06-20")])
    file = county.write("checks.csv", "\n".join(lines))
    assert county.run("ingest", county.season, file).exit_code == 3
    county.run("amend", county.season, "n1", "found_at=2025-06-01", "laid_on=2025-06-01", "--why", "x")
    assert county.run("ingest", county.season, file).exit_code == 0
    assert sorted(Season.open(county.season).read("checks")["checked_at"]) == ["2025-06-04", "2025-06-25"]


def test_a_known_file_asked_for_as_another_kind_is_read_again(county):
    file = county.write_csv("x.csv", [KINDS["measures"] | {"observer": "Ana", "days": "Mo", "hours_per_day": 2}])
    assert county.json("ingest", county.season, file, "--as", "measures")["files"][0]["accepted"] == 1
    assert county.json("ingest", county.season, file, "--as", "people")["files"][0]["accepted"] == 1


def test_a_file_of_which_only_a_part_is_kept_is_read_again(county):
    """A process killed between two layers of a file must not leave the second one out for ever."""
    layers = county.folder / "two.gpkg"
    for name, row in (("people", KINDS["people"]), ("measures", KINDS["measures"])):
        pyogrio.write_dataframe(pd.DataFrame([row]), layers, layer=name, append=layers.exists())
    found = county.json("ingest", county.season, layers)["files"]
    assert sorted(report["kind"] for report in found) == ["measures", "people"]
    county.run("undo", county.season, 1)
    again = county.json("ingest", county.season, layers)["files"]
    assert sorted(report["accepted"] for report in again) == [0, 1]


def test_a_layer_that_tells_nothing_does_not_keep_the_others_out(county):
    layers = county.folder / "two.gpkg"
    for name, row in (("people", KINDS["people"]), ("odd", {"colour": "red", "weight": "3"})):
        pyogrio.write_dataframe(pd.DataFrame([row]), layers, layer=name, append=layers.exists())
    result = county.run("ingest", county.season, layers)
    assert result.exit_code == 4
    assert "two.gpkg, layer odd: the columns colour, weight do not tell what the rows are" in result.output
    assert len(Season.open(county.season).read("people")) == 1


def test_a_file_name_with_control_characters_stays_on_its_line(county, crossing):
    name = "a\x1b[2J\nb.csv"
    told = county.ingest(name, [crossing(0.01), crossing(0.02, latitude="?")]).output
    assert told.startswith("a\\x1b[2J\\nb.csv: 2 crossings rows read")
    listed = county.run("problems", county.season).output
    missing = county.run("ingest", county.season, county.folder / "no\x07\nfile.csv").output
    assert not [sign for sign in told + listed + missing if not sign.isprintable() and sign != "\n"]
    assert "no\\x07\\nfile.csv does not exist" in missing


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_what_is_neither_file_nor_folder_is_refused_without_waiting(county):
    pipe = county.folder / "pipe.csv"
    os.mkfifo(pipe)
    result = county.run("ingest", county.season, pipe)
    assert result.exit_code == 4
    assert "neither a file nor a folder" in result.output


def test_many_records_far_from_roads_are_told_in_one_line(county, crossing):
    rows = [crossing(0.01 + 0.001 * k, record_id=f"r{k}", latitude=31.72) for k in range(40)]
    told = county.ingest("far.csv", rows).output
    assert "40 kept with a remark, such as line 2: not placed on a road" in told


def test_a_county_s_own_names_of_taxa_are_known_to_intake(folder, crossing):
    """An invented local name, given by the folder of tables that the season was made with."""
    roads = folder.write("roads.geojson", road_layer(road_line("Invented East Road", (-0.05, 0), (0.05, 0))))
    tables = folder.folder / "own"
    tables.mkdir()
    own = "taxon,rank,parent,names\nMill Pond turtle,group,Testudines,pond tiptoe\n"
    (tables / "taxa.csv").write_text(own, encoding="utf-8")
    made = folder.run("new", folder.season, "--roads", roads, "--timezone", "America/New_York", "--tables", tables)
    assert made.exit_code == 0, made.output
    assert folder.ingest("c.csv", [crossing(taxon="pond tiptoe")]).exit_code == 0
    assert Season.open(folder.season).read("crossings")["taxon"].tolist() == ["Mill Pond turtle"]


@pytest.mark.parametrize("has_id", [True, False], ids=["with names", "without names"])
def test_a_copy_under_another_name_with_its_rows_and_columns_shuffled_adds_nothing(county, crossing, has_id):
    """A hundred thousand rows are tried by ``tests/benchmarks/bench_ingest.py``."""
    rows = [
        crossing(
            k % 90 * 0.0005, record_id=f"c{k}" if has_id else "", observed_at=f"2025-0{k % 7 + 1}-{k % 28 + 1:02d}"
        )
        for k in range(600)
    ]
    county.ingest("first.csv", rows)
    stored = Season.open(county.season).read("crossings")
    shuffled = [dict(reversed(row.items())) for row in random.Random(1).sample(rows, len(rows))]
    report = county.json("ingest", county.season, county.write_csv("renamed.csv", shuffled))["files"][0]
    assert (report["rows_read"], report["accepted"], report["known"], report["held_back"]) == (600, 0, 600, 0)
    assert Season.open(county.season).read("crossings").equals(stored)


def test_a_measure_that_is_a_point_keeps_its_place(county):
    point = {"type": "Point", "coordinates": [-81.87, 31.7]}
    feature = {
        "type": "Feature",
        "properties": {"measure_id": "m7", "kind": "sign", "built_on": "2024-03-01"},
        "geometry": point,
    }
    file = county.folder / "signs.geojson"
    file.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    assert county.json("ingest", county.season, file, "--as", "measures")["files"][0]["accepted"] == 1
    (kept,) = Season.open(county.season).read("measures")["geometry"]
    assert (kept.x, kept.y) == (-81.87, 31.7)
