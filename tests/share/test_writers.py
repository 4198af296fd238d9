import csv
import json
import sqlite3
from contextlib import closing

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest
import shapely

from roadwatch.errors import UsageError
from roadwatch.share.writers import spreadsheet_safe, write_result, write_text

FORMULAS = [
    "=1+1",
    "+cmd|' /C calc'!A0",
    "-2+3",
    "@SUM(A1)",
    "  =1",
    "\t=1",
    "\r=1",
    "\ufeff=1",
    "＝1",
    "|calc",
    "%0A=1",
]


@pytest.fixture
def table():
    return pd.DataFrame(
        {"nest_id": ["N1", "N2"], "longitude": [-82.3, -82.4], "latitude": [29.6, 29.7], "n": [-1.5, 2]}
    )


@pytest.fixture
def areas():
    clockwise = shapely.Polygon([(0, 0), (0, 1000), (1000, 1000), (1000, 0)])  # exterior the wrong way round
    return gpd.GeoDataFrame({"name": ["pond"]}, geometry=[clockwise], crs="EPSG:32617")


def read_csv(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


@pytest.mark.parametrize("text", FORMULAS)
def test_text_that_a_spreadsheet_would_run_gets_an_apostrophe(text):
    # OWASP "CSV Injection" names = + - @ tab and carriage return as openings of a formula (from memory).
    assert spreadsheet_safe(text) == "'" + text


@pytest.mark.parametrize(
    "text", ["-82.3", "+5", "-.5", "1e-3", "-1E+05", "County Road 12", "a=b", "", "2025-05-12", "'tis"]
)
def test_numbers_and_plain_text_stay_as_they_are(text):
    assert spreadsheet_safe(text) == text


@pytest.mark.parametrize("value", [-1.5, 3, None, True])
def test_values_that_are_no_text_stay_as_they_are(value):
    assert spreadsheet_safe(value) is value


def test_csv_neutralises_text_columns_and_leaves_numbers_alone(tmp_path, table):
    write_result(table.assign(notes=["=1+1", None]), tmp_path / "o.csv", team_only=False)
    assert read_csv(tmp_path / "o.csv") == [
        ["nest_id", "longitude", "latitude", "n", "notes"],
        ["N1", "-82.3", "29.6", "-1.5", "'=1+1"],
        ["N2", "-82.4", "29.7", "2.0", ""],
    ]


def test_csv_neutralises_column_names_and_category_columns(tmp_path):
    table = pd.DataFrame({"=cmd": pd.Categorical(["@x"]), "s": pd.Series(["=y"], dtype="string")})
    write_result(table, tmp_path / "o.csv", team_only=False)
    assert read_csv(tmp_path / "o.csv") == [["'=cmd", "s"], ["'@x", "'=y"]]


def test_csv_lines_end_as_rfc_4180_asks_and_quotes_survive(tmp_path):
    # RFC 4180, section 2: records end in CRLF; a quote inside a quoted field is doubled.
    write_result(pd.DataFrame({"a": ['say "hi", then\nleave']}), tmp_path / "o.csv", team_only=False)
    assert (tmp_path / "o.csv").read_bytes() == b'a\r\n"say ""hi"", then\nleave"\r\n'


def test_csv_leaves_the_geometry_out(tmp_path, areas):
    write_result(areas, tmp_path / "o.csv", team_only=False)
    assert read_csv(tmp_path / "o.csv") == [["name"], ["pond"]]


def test_geojson_follows_rfc_7946(tmp_path, areas):
    # RFC 7946: WGS 84 longitude-latitude (4), no crs member (4, B.1), exterior rings counter-clockwise (3.1.6).
    write_result(areas, tmp_path / "o.geojson", team_only=False, title="Ponds")
    found = json.loads((tmp_path / "o.geojson").read_text("utf-8"))
    ring = found["features"][0]["geometry"]["coordinates"][0]
    assert found["type"] == "FeatureCollection"
    assert "crs" not in found
    assert ring[0] == ring[-1]
    assert shapely.LinearRing(ring).is_ccw
    assert all(-180 <= x <= 180 and -90 <= y <= 90 for x, y in ring)


def test_geojson_keeps_text_as_written(tmp_path, table):
    write_result(table.assign(notes=["=1+1", 'é "x"\n']), tmp_path / "o.geojson", team_only=False)
    found = json.loads((tmp_path / "o.geojson").read_text("utf-8"))
    assert [feature["properties"]["notes"] for feature in found["features"]] == ["=1+1", 'é "x"\n']


def test_a_table_with_longitude_and_latitude_becomes_points(tmp_path, table):
    write_result(table, tmp_path / "o.geojson", team_only=False)
    found = json.loads((tmp_path / "o.geojson").read_text("utf-8"))
    assert found["features"][0]["geometry"] == {"type": "Point", "coordinates": [-82.3, 29.6]}


def test_geopackage_is_one_by_its_standard(tmp_path, table):
    # OGC 12-128r18, requirement 2: application_id is "GPKG"; requirement 13: each table stands in gpkg_contents.
    write_result(table, tmp_path / "o.gpkg", team_only=False, title="Hatch windows")
    with closing(sqlite3.connect(tmp_path / "o.gpkg")) as file:
        assert file.execute("PRAGMA application_id").fetchone()[0].to_bytes(4, "big") == b"GPKG"
        assert file.execute("SELECT table_name, data_type, srs_id FROM gpkg_contents").fetchall() == [
            ("hatch_windows", "features", 4326)
        ]


def test_geopackage_gives_back_what_was_written(tmp_path, table):
    write_result(table, tmp_path / "o.gpkg", team_only=False)
    back = pyogrio.read_dataframe(tmp_path / "o.gpkg")
    assert pd.DataFrame(back.drop(columns="geometry")).equals(table)
    assert np.column_stack([back.geometry.x, back.geometry.y]).tolist() == [[-82.3, 29.6], [-82.4, 29.7]]


def test_geopackage_takes_a_table_without_places(tmp_path):
    write_result(pd.DataFrame({"run": [1, 2]}), tmp_path / "o.gpkg", team_only=False)
    assert pyogrio.read_dataframe(tmp_path / "o.gpkg")["run"].tolist() == [1, 2]


def read_back(path):
    """By pandas or GDAL; GDAL's own reader of CSV is switched off where the readers of records were imported."""
    return pd.read_csv(path) if path.suffix == ".csv" else pyogrio.read_dataframe(path)


@pytest.mark.parametrize("ending", ["csv", "geojson", "gpkg"])
def test_a_file_with_nests_is_marked_team_only_inside(tmp_path, table, ending):
    path = tmp_path / f"o.{ending}"
    write_result(table, path, team_only=True, title="Nests")
    assert read_back(path)["access"].tolist() == ["team only"] * 2
    write_result(table, path, team_only=False, title="Nests")
    assert b"team only" not in path.read_bytes()


def test_the_mark_stands_on_the_collection_and_on_the_layer_too(tmp_path, table):
    write_result(table, tmp_path / "o.geojson", team_only=True, title="Nests")
    write_result(table, tmp_path / "o.gpkg", team_only=True, title="Nests")
    assert json.loads((tmp_path / "o.geojson").read_text("utf-8"))["description"] == "Nests (team only)"
    with closing(sqlite3.connect(tmp_path / "o.gpkg")) as file:
        assert file.execute("SELECT table_name, description FROM gpkg_contents").fetchall() == [
            ("nests_team_only", "Nests (team only)")
        ]


@pytest.mark.parametrize("ending", ["csv", "geojson", "gpkg"])
def test_a_file_that_is_there_is_replaced_whole_and_nothing_else_is_left(tmp_path, table, ending):
    path = tmp_path / f"o.{ending}"
    path.write_bytes(b"old" * 100_000)
    write_result(table, path, team_only=False)
    assert len(read_back(path)) == 2
    assert [entry.name for entry in tmp_path.iterdir()] == [path.name]


def test_a_write_that_fails_leaves_the_old_file_and_no_remains(tmp_path):
    path = tmp_path / "o.geojson"
    path.write_text("old", encoding="utf-8")
    with pytest.raises(UsageError, match=r"holds no places; write it as \.csv or \.gpkg"):
        write_result(pd.DataFrame({"run": [1]}), path, team_only=False)
    assert path.read_text("utf-8") == "old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["o.geojson"]


def test_the_table_itself_is_not_changed(tmp_path, table):
    before = table.copy()
    write_result(table, tmp_path / "o.gpkg", team_only=True)
    assert table.equals(before)


@pytest.mark.parametrize("name", ["o.shp", "o", "o.xlsx", "o.geojson.gz"])
def test_an_unknown_ending_is_told_with_the_known_ones(tmp_path, table, name):
    with pytest.raises(UsageError, match=r"is not known; name a file \.csv, \.geojson, \.gpkg or \.html"):
        write_result(table, tmp_path / name, team_only=False)


def test_an_ending_in_capitals_is_understood(tmp_path, table):
    write_result(table, tmp_path / "O.CSV", team_only=False)
    assert read_csv(tmp_path / "O.CSV")[0][0] == "nest_id"


def test_a_missing_folder_is_named(tmp_path, table):
    with pytest.raises(UsageError, match="missing does not exist; make it first"):
        write_result(table, tmp_path / "missing" / "o.csv", team_only=False)
    with pytest.raises(UsageError, match="missing does not exist; make it first"):
        write_text("x", tmp_path / "missing" / "o.html")


def test_places_without_a_reference_system_are_refused(tmp_path):
    lost = gpd.GeoDataFrame({"a": [1]}, geometry=[shapely.Point(5, 5)])
    with pytest.raises(UsageError, match="no reference system; set one before writing"):
        write_result(lost, tmp_path / "o.gpkg", team_only=False)


def test_an_empty_table_can_be_written(tmp_path, table):
    for ending in ("csv", "geojson", "gpkg"):
        write_result(table.iloc[:0], tmp_path / f"o.{ending}", team_only=True)
        assert (tmp_path / f"o.{ending}").stat().st_size > 0


def test_a_page_is_written_as_it_is(tmp_path):
    write_text("<p>é\n</p>", tmp_path / "o.html")
    assert (tmp_path / "o.html").read_bytes() == "<p>é\n</p>".encode()
    assert [entry.name for entry in tmp_path.iterdir()] == ["o.html"]


def test_a_control_character_which_no_text_file_may_hold_is_told_as_unknown(tmp_path):
    write_result(pd.DataFrame({"notes": ["a\x07b", "tab\tand\nline"]}), tmp_path / "t.csv", team_only=False)
    text = (tmp_path / "t.csv").read_bytes().decode("utf-8")
    assert text == 'notes\r\na\ufffdb\r\n"tab\tand\nline"\r\n'


@pytest.mark.parametrize(("team_only", "told"), [(True, [-79.899999999, 29.123456789]), (False, [-79.9, 29.123457])])
def test_places_for_the_team_keep_their_figures_and_open_ones_a_tenth_of_a_metre(tmp_path, team_only, told):
    table = pd.DataFrame({"longitude": [-79.899999999], "latitude": [29.123456789]})
    write_result(table, tmp_path / "t.geojson", team_only=team_only)
    (feature,) = json.loads((tmp_path / "t.geojson").read_text(encoding="utf-8"))["features"]
    assert feature["geometry"]["coordinates"] == told


def test_a_row_without_a_place_has_no_geometry(tmp_path):
    table = pd.DataFrame({"a": ["x", "y"], "longitude": [-79.9, None], "latitude": [29.1, None]})
    write_result(table, tmp_path / "t.geojson", team_only=True)
    features = json.loads((tmp_path / "t.geojson").read_text(encoding="utf-8"))["features"]
    assert [feature["geometry"] is None for feature in features] == [False, True]
