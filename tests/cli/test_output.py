"""Tables, JSON and files say the same."""

import csv
import io
import json
import re
from html.parser import HTMLParser

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from promised_columns import HOTSPOT_COLUMNS

from roadwatch.cli.output import cell, plain, print_json, print_table


@pytest.fixture
def spotted(county, crossing):
    heap = [
        crossing(0.03 + 0.0001 * k, record_id=f"h{k}", observed_at=f"2025-0{4 + k // 7}-{1 + 4 * (k % 7):02d}")
        for k in range(14)
    ]
    rest = [crossing(0.0015 * (k - 12), record_id=f"s{k}", observed_at=f"2025-06-{1 + k:02d}") for k in range(25)]
    county.ingest("c.csv", [*heap, *rest])
    return county


def test_the_json_of_hotspots_has_the_promised_columns(spotted):
    told = spotted.json("hotspots", spotted.season, "--draws", "99")
    rows = told["hotspots"] + told["watch_list"]
    assert rows
    assert set(HOTSPOT_COLUMNS) <= set(rows[0])
    assert told["seed"] == 1


@pytest.mark.parametrize("ending", ["csv", "geojson", "gpkg", "html"])
def test_every_file_holds_the_same_hotspots(spotted, ending):
    file = spotted.folder / f"out.{ending}"
    told = spotted.json("hotspots", spotted.season, "--draws", "99", "-o", file)["hotspots"]
    if ending == "csv":
        roads = [row["road"] for row in csv.DictReader(io.StringIO(file.read_text("utf-8")))]
    elif ending == "html":
        roads = [row["road"] for row in told if row["road"] in file.read_text("utf-8")]
    else:
        roads = gpd.read_file(file)["road"].tolist()
    assert roads == [row["road"] for row in told]


def test_windows_with_places_are_marked_team_only(county, nest):
    weather = [
        {"series_id": "w", "date": f"{y}-0{m}-{d:02d}", "tmin_c": 20, "tmax_c": 32}
        for y in range(2019, 2026)
        for m in range(5, 10)
        for d in range(1, 31)
    ]
    county.ingest("w.csv", weather)
    county.ingest("n.csv", [nest()])
    for ending, marked in (("geojson", True), ("csv", False)):
        file = county.folder / f"out.{ending}"
        result = county.run("hatch", county.season, "--as-of", "2025-07-01", "-o", file)
        assert result.exit_code == 0, result.output
        text = file.read_text("utf-8")
        assert ("team only" in text) is marked
        assert ("-81.89" in text) is marked, "only a file with places needs the mark"


def test_a_page_of_a_table_is_whole_html_without_a_request(spotted):
    file = spotted.folder / "out.html"
    spotted.run("hotspots", spotted.season, "--draws", "99", "-o", file)
    text = file.read_text("utf-8")
    HTMLParser().feed(text)
    assert "<table>" in text
    assert "Content-Security-Policy" in text
    assert not re.search(r"(?:src|href)\s*=|url\(|@import", text)


@pytest.mark.parametrize(
    ("value", "shown"),
    [(None, ""), (float("nan"), ""), (np.float64(3.0), "3"), (0.123456, "0.123"), (12345.6, "12346"), ("a\nb", "a b")],
)
def test_a_cell_is_short_and_one_line(value, shown):
    assert cell(value) == shown


def test_missing_and_infinite_numbers_are_null_in_json(capsys):
    print_json({"a": float("nan"), "b": np.float64("inf"), "c": pd.NaT, "d": [np.int64(3), True], "e": pd.NA})
    assert json.loads(capsys.readouterr().out) == {"a": None, "b": None, "c": None, "d": [3, True], "e": None}


def test_plain_keeps_text_and_truth():
    assert plain({"x": (True, "y")}) == {"x": [True, "y"]}


@pytest.mark.parametrize("command", ["hotspots", "stretches", "problems", "map"])
def test_a_result_never_overwrites_a_season(spotted, command):
    before = spotted.season.read_bytes()
    words = {
        "hotspots": ["hotspots", spotted.season, "--draws", "19", "-o", spotted.season],
        "stretches": ["hotspots", spotted.season, "--draws", "19", "--stretches", spotted.season],
        "problems": ["problems", spotted.season, "-o", spotted.season],
        "map": ["map", spotted.season, "-o", spotted.season],
    }[command]
    result = spotted.run(*words)
    assert result.exit_code == 2, result.output
    assert "season" in result.output
    assert spotted.season.read_bytes() == before


def test_what_belongs_to_the_numbers_stands_beside_a_file_that_cannot_hold_it(spotted):
    told = spotted.json("hotspots", spotted.season, "--draws", "99", "-o", spotted.folder / "out.csv")
    beside = (spotted.folder / "out.txt").read_text("utf-8")
    assert all(note in beside for note in told["notes"])
    assert beside.count("Watch list ") >= len(told["watch_list"])


def test_places_in_a_page_are_good_to_a_metre():
    assert cell(-81.839725, column="longitude_from") == "-81.83973"
    assert cell(31.7, column="latitude_to") == "31.70000"


@pytest.mark.parametrize(("taxon", "marked"), [("box turtle", True), ("slider", False)])
def test_hotspots_of_a_sensitive_taxon_are_for_the_team(spotted, taxon, marked):
    rows = [f"b{k},2025-07-{1 + k:02d},{-81.9 + 0.0016 * k:.5f},31.7,box turtle,dead,10" for k in range(8)]
    file = spotted.write("b.csv", "\n".join(["record_id,date,lng,lat,species,condition,accuracy", *rows]) + "\n")
    assert spotted.run("ingest", spotted.season, file).exit_code == 0
    out = spotted.folder / "out.csv"
    result = spotted.run("hotspots", spotted.season, "--draws", "19", "--taxon", taxon, "--stretches", out)
    assert result.exit_code == 0, result.output
    assert ("team only" in out.read_text("utf-8")) is marked


def test_a_milepost_is_told_to_a_hundredth_of_a_mile_and_a_place_to_about_a_metre(capsys):
    table = pd.DataFrame({"milepost": [14.8249], "longitude": [-81.843301], "ratio": [14.8249]})
    print_table(table, table.columns)
    assert capsys.readouterr().out.splitlines()[1].split() == ["14.82", "-81.84330", "14.8"]
