"""Blobs against GDAL, which writes GeoPackages on its own."""

import sqlite3
import struct
from contextlib import closing

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiLineString, Point, Polygon

from roadwatch.records.geometry_blobs import geometries_from_blobs, geometry_blobs, geometry_type_name, point_blobs

LINE = LineString([(-82.0, 29.0), (-82.5, 29.5), (-83.0, 29.25)])


def blobs_by_gdal(folder, geometries, **options):
    path = folder / "gdal.gpkg"
    gpd.GeoDataFrame(geometry=geometries, crs="EPSG:4326").to_file(path, driver="GPKG", layer="g", **options)
    with closing(sqlite3.connect(path)) as connection:
        return [blob for (blob,) in connection.execute("SELECT geom FROM g ORDER BY fid")]


def test_a_point_has_the_bytes_that_gdal_writes(tmp_path):
    places = [Point(-82.3725, 29.6512), Point(0.0, 0.0), Point(179.999999, -89.5)]
    ours = point_blobs([p.x for p in places], [p.y for p in places])
    assert ours == blobs_by_gdal(tmp_path, places)


def test_a_point_has_the_header_of_the_standard():
    """OGC 12-128r, clause 2.1.3: 'GP', version 0, flags (1 = little-endian, no envelope), reference system."""
    (blob,) = point_blobs([-82.5], [29.25])
    assert struct.unpack("<2sBBi", blob[:8]) == (b"GP", 0, 1, 4326)
    assert struct.unpack("<BIdd", blob[8:]) == (1, 1, -82.5, 29.25)


@pytest.mark.parametrize("place", [(np.nan, 29.0), (-82.0, np.nan), (np.nan, np.nan)])
def test_a_point_without_a_coordinate_is_none(place):
    assert point_blobs([place[0], 1.0], [place[1], 2.0])[0] is None
    assert point_blobs([place[0], 1.0], [place[1], 2.0])[1] is not None


def test_no_points_give_no_blobs():
    assert point_blobs([], []) == []


@given(
    st.lists(
        st.tuples(st.floats(-180, 180, allow_subnormal=False), st.floats(-90, 90, allow_subnormal=False)), max_size=20
    )
)
def test_points_come_back_bit_for_bit(places):
    found = geometries_from_blobs(point_blobs([x for x, _ in places], [y for _, y in places]))
    assert [(p.x, p.y) for p in found] == places


@pytest.mark.parametrize(
    "geometry",
    [
        LINE,
        MultiLineString([LINE, [(0, 0), (1, 1)]]),
        Polygon([(0, 0), (2, 0), (2, 2)], [[(0.5, 0.2), (1.5, 0.2), (1.5, 1)]]),
        LineString(),
    ],
    ids=["line", "lines", "area with a hole", "empty line"],
)
def test_lines_and_areas_come_back(geometry):
    (found,) = geometries_from_blobs(geometry_blobs([geometry]))
    assert found.equals_exact(geometry, tolerance=0.0)


def test_blobs_of_gdal_with_an_envelope_are_read(tmp_path):
    shapes = [LINE, LineString([(1, 2), (3, 4)])]
    blobs = blobs_by_gdal(tmp_path, shapes)
    assert (blobs[0][3] >> 1) & 7 == 1, "GDAL writes an envelope here; without one this test shows nothing"
    assert list(geometries_from_blobs(blobs)) == shapes


def test_heights_are_dropped():
    (found,) = geometries_from_blobs(geometry_blobs([LineString([(0, 0, 7), (1, 1, 8)])]))
    assert not shapely.has_z(found)
    assert found == LineString([(0, 0), (1, 1)])


def test_a_missing_geometry_stays_missing():
    assert geometry_blobs([None, LINE])[0] is None
    assert list(geometries_from_blobs([None, *geometry_blobs([LINE])])) == [None, LINE]


@pytest.mark.parametrize(
    ("shapes", "name"),
    [
        ([LINE, LINE], "LINESTRING"),
        ([LINE, None], "LINESTRING"),
        ([LINE, MultiLineString([LINE])], "GEOMETRY"),
        ([Polygon([(0, 0), (1, 0), (1, 1)])], "POLYGON"),
        ([None], "GEOMETRY"),
    ],
)
def test_the_type_is_named_when_all_share_it(shapes, name):
    assert geometry_type_name(np.array(shapes, dtype=object)) == name
