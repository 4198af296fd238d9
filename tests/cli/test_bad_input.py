"""Each bad file gets one clear line with place and cure, the right exit code, nothing half-stored, and no traceback."""

import json

import pytest
from tiny_county import road_layer, road_line

from roadwatch.records.store import Season

POINT = {"type": "Point", "coordinates": [-81.89, 31.7]}
FEATURE = {"type": "Feature", "properties": {"species": "slider", "date": "2025-05-01"}, "geometry": POINT}
WHOLE = json.dumps({"type": "FeatureCollection", "features": [FEATURE]})

BAD_FILES = {
    "empty.csv": b"",
    "blank.csv": b"\n\n\n",
    "empty.gpx": b"",
    "truncated.gpx": b'<?xml version="1.0"?><gpx version="1.1" ><wpt lat="31.7" lo',
    "truncated.geojson": WHOLE[: len(WHOLE) // 2].encode(),
    "truncated.gpkg": b"SQLite format 3\x00" + b"\x00" * 100,
    "truncated.zip": b"PK\x03\x04" + b"\x00" * 30,
    "picture.csv": b"\x89PNG\r\n\x1a\n" + bytes(range(256)),
    "page.csv": b"<!DOCTYPE html><html><body>Not found</body></html>",
    "text.dly": b"this is not a weather file\n",
    "entities.gpx": b'<!DOCTYPE x [<!ENTITY a "aaaa">]><gpx version="1.1">&a;</gpx>',
}


@pytest.mark.parametrize("name", BAD_FILES)
def test_an_unfit_file_is_refused_in_one_line_with_exit_code_4(county, name):
    before = county.season.read_bytes()
    result = county.run("ingest", county.season, county.write(name, BAD_FILES[name]))
    assert result.exit_code == 4, result.output
    lines = [line for line in result.output.splitlines() if line]
    assert len(lines) == 1
    assert lines[0].startswith("Error: ")
    assert name in lines[0]
    assert county.season.read_bytes() == before


def test_a_folder_or_missing_file_is_named(county):
    result = county.run("ingest", county.season, county.folder / "nowhere.csv")
    assert result.exit_code == 2
    assert "nowhere.csv" in result.output


def test_a_file_that_is_no_season_is_refused(county, crossing):
    other = county.write("notes.gpkg", b"not a database, just words " * 50)
    result = county.run("ingest", other, county.write_csv("c.csv", [crossing()]))
    assert result.exit_code == 4
    assert "notes.gpkg" in result.output


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("roads.csv", "road,length\nMill Road,3\n", "roads.csv"),
        ("roads.geojson", road_layer(), "roads.geojson"),
        ("roads.geojson", WHOLE, "line"),
    ],
    ids=["no map layer", "no feature", "points"],
)
def test_a_layer_without_lines_is_no_roads_layer(folder, name, content, words):
    roads = folder.write(name, content)
    result = folder.run("new", folder.season, "--roads", roads, "--timezone", "UTC")
    assert result.exit_code == 4
    assert words in result.output
    assert not folder.season.exists()


def test_zero_length_roads_are_no_roads(folder):
    roads = folder.write("roads.geojson", road_layer(road_line("Dot", (0, 0), (0, 0))))
    result = folder.run("new", folder.season, "--roads", roads, "--timezone", "UTC")
    assert result.exit_code == 4
    assert "Traceback" not in result.output


def test_too_few_records_for_hotspots_is_exit_code_5(county, crossing):
    county.ingest("c.csv", [crossing(0.01), crossing(0.02)])
    result = county.run("hotspots", county.season)
    assert result.exit_code == 5
    assert "not enough data" in result.output


def test_hatch_without_nests_is_exit_code_5(county):
    result = county.run("hatch", county.season, "--as-of", "2025-07-01")
    assert result.exit_code == 5
    assert "nest" in result.output


@pytest.mark.parametrize("ending", ["xlsx", "docx", ""])
def test_an_unknown_ending_for_output_is_refused(county, crossing, ending):
    county.ingest("c.csv", [crossing(0.0015 * k, record_id=f"r{k}") for k in range(8)])
    result = county.run("hotspots", county.season, "--draws", 19, "-o", county.folder / f"out.{ending}")
    assert result.exit_code == 2
    assert ".csv" in result.output


def test_text_that_looks_like_code_is_kept_as_text(county, crossing):
    nasty = "'); DROP TABLE crossings; -- <script>alert(1)</script> =1+1 \U0001f422"
    county.ingest("c.csv", [crossing(notes=nasty)])
    assert Season.open(county.season).read("crossings")["notes"].tolist() == [nasty]
