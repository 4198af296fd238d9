"""The file as other programs see it: GDAL, by pyogrio, is the independent reader."""

import sqlite3
from contextlib import closing

import geopandas as gpd
import pandas as pd
import pyogrio
import pytest
from records.store_cases import crossing, new_season, put, road_layer

from roadwatch.records.fields import RECORD_KINDS, fields_of
from roadwatch.records.store_schema import GEOMETRY_TYPES, LAYER_KINDS, PLAIN_TABLES, STORED_KINDS, columns_of

TRACK = "LINESTRING (-82.4 29.6, -82.3 29.6)"
ONE_OF_EACH = {
    "crossings": crossing(record_id="c1"),
    "nests": {
        "nest_id": "n1",
        "found_at": "2025-05-12",
        "longitude": -82.3,
        "latitude": 29.6,
        "taxon": "Apalone ferox",
    },
    "checks": {"nest_id": "n1", "checked_at": "2025-06-01", "outcome": "intact"},
    "searches": {"search_id": "s1", "started_at": "2025-05-12", "method": "car", "track": TRACK},
    "temperatures": {"series_id": "t1", "date": "2025-05-12", "tmin_c": 18.0, "tmax_c": 31.5},
    "people": {
        "observer": "Ana",
        "days": "Mo;We",
        "hours_per_day": 2.0,
        "start_longitude": -82.3,
        "start_latitude": 29.6,
    },
    "measures": {"measure_id": "m1", "kind": "fence", "built_on": "2024-03-01"},
}


@pytest.fixture
def full_season(tmp_path):
    season = new_season(tmp_path)
    for kind in LAYER_KINDS:
        season.replace_layer(kind, road_layer(), source="roads.geojson")
    for kind, row in ONE_OF_EACH.items():
        put(season, [row], kind=kind, file=f"{kind}.csv")
    return season


def ask(season, query):
    with closing(sqlite3.connect(season.path)) as connection:
        return connection.execute(query).fetchall()


def test_the_file_says_that_it_is_a_geopackage_1_3(full_season):
    """OGC 12-128r, requirement 2: application id 0x47504B47 ('GPKG') at byte 68, user version 10300 at byte 60."""
    header = full_season.path.read_bytes()[:100]
    assert header[68:72] == b"GPKG"
    assert int.from_bytes(header[60:64], "big") == 10300


def test_the_three_reference_systems_of_the_standard_are_there(full_season):
    """OGC 12-128r, requirement 11: rows -1, 0 and 4326."""
    found = ask(full_season, "SELECT srs_id, organization, organization_coordsys_id FROM gpkg_spatial_ref_sys")
    assert sorted(found) == [(-1, "NONE", -1), (0, "NONE", 0), (4326, "EPSG", 4326)]


def test_the_file_is_whole_and_its_references_hold(full_season):
    assert ask(full_season, "PRAGMA integrity_check") == [("ok",)]
    assert ask(full_season, "PRAGMA foreign_key_check") == []


def test_gdal_lists_every_layer_and_table(full_season):
    listed = {name for name, _ in pyogrio.list_layers(full_season.path)}
    assert listed == {*STORED_KINDS, *PLAIN_TABLES}


@pytest.mark.parametrize("kind", STORED_KINDS)
def test_gdal_opens_every_kind_and_finds_its_features(full_season, kind):
    found = gpd.read_file(full_season.path, layer=kind)
    assert len(found) == (2 if kind in LAYER_KINDS else 1)
    if kind in GEOMETRY_TYPES:
        assert found.crs == "EPSG:4326"


@pytest.mark.parametrize("table", PLAIN_TABLES)
def test_gdal_opens_every_plain_table(full_season, table):
    assert "id" not in pyogrio.read_dataframe(full_season.path, layer=table, fid_as_index=True).columns


@pytest.mark.parametrize("kind", sorted(GEOMETRY_TYPES))
def test_gdal_finds_the_geometry_that_the_table_declares(full_season, kind):
    """GDAL checks each geometry against the declared type and warns otherwise; warnings are errors here."""
    info = pyogrio.read_info(full_season.path, layer=kind)
    expected = {"POINT": "Point", "GEOMETRY": "Unknown", "LINESTRING": "LineString"}
    assert info["geometry_type"] == ("LineString" if kind in LAYER_KINDS else expected[GEOMETRY_TYPES[kind]])


def test_gdal_sees_the_place_of_a_crossing(full_season):
    (place,) = gpd.read_file(full_season.path, layer="crossings").geometry
    assert (place.x, place.y) == (-82.3725, 29.6512)


def test_gdal_sees_the_track_of_a_search(full_season):
    (track,) = gpd.read_file(full_season.path, layer="searches").geometry
    assert track.wkt == TRACK


def test_the_stated_extent_holds_the_records(full_season):
    assert pyogrio.read_info(full_season.path, layer="crossings", force_total_bounds=True)["total_bounds"] == (
        -82.3725,
        29.6512,
        -82.3725,
        29.6512,
    )
    assert ask(full_season, "SELECT min_x, max_y FROM gpkg_contents WHERE table_name = 'crossings'") == [
        (-82.3725, 29.6512)
    ]


def test_a_filter_of_gdal_by_place_finds_the_record(full_season):
    found = gpd.read_file(full_season.path, layer="crossings", bbox=(-82.38, 29.65, -82.37, 29.66))
    assert found["record_key"].tolist() == ["c1"]


@pytest.mark.parametrize("kind", RECORD_KINDS)
def test_every_field_of_a_kind_has_its_column(kind):
    assert set(fields_of(kind)) <= {column.name for column in columns_of(kind)}


def test_numbers_and_booleans_have_their_type_in_other_programs(full_season):
    info = pyogrio.read_info(full_season.path, layer="crossings")
    types = dict(zip(info["fields"], info["dtypes"], strict=True))
    assert (types["latitude"], types["count"], types["gravid"]) == ("float64", "int64", "bool")
    assert types["observed_at"] == "object"


def test_no_file_lies_beside_a_closed_season(full_season):
    assert [path.name for path in full_season.path.parent.iterdir()] == ["season.gpkg"]


def test_gdal_reads_blank_text_as_missing(full_season):
    assert pd.isna(gpd.read_file(full_season.path, layer="crossings")["notes"].iloc[0])
