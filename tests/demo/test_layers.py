"""The invented map layers: a road network that holds together, water beside it, and plain GeoJSON."""

from __future__ import annotations

import json
from collections import Counter
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pyproj
import pytest
import shapely

if TYPE_CHECKING:
    from pathlib import Path

ROAD_COLUMNS = (
    "road_id road agency route_id from_measure to_measure measure_unit speed_limit traffic_per_day divided bridge"
)
# PROJ's geodesic on WGS 84 is the yardstick for lengths.
EARTH = pyproj.Geod(ellps="WGS84")
METRES_PER_MILE = 1_609.344  # the international mile, exact by definition


@pytest.fixture(scope="module")
def roads(layers: Path) -> gpd.GeoDataFrame:
    return gpd.read_file(layers / "roads.geojson")


@pytest.fixture(scope="module")
def water(layers: Path) -> gpd.GeoDataFrame:
    return gpd.read_file(layers / "water.geojson")


@pytest.fixture(scope="module")
def length_m(roads: gpd.GeoDataFrame) -> np.ndarray:
    return np.array([EARTH.geometry_length(line) for line in roads.geometry])


def ends(line: shapely.LineString) -> tuple[tuple[float, ...], tuple[float, ...]]:
    return line.coords[0], line.coords[-1]


def test_the_county_has_more_than_three_hundred_kilometres_of_road(length_m: np.ndarray) -> None:
    assert 300_000 < length_m.sum() < 450_000


def test_about_a_hundred_and_twenty_roads_have_names_of_their_own(roads: gpd.GeoDataFrame) -> None:
    assert 110 <= roads["road"].nunique() <= 130


def test_the_road_layer_has_every_column_that_is_read(roads: gpd.GeoDataFrame) -> None:
    assert set(ROAD_COLUMNS.split()) <= set(roads.columns)
    assert roads["road_id"].is_unique


@pytest.mark.parametrize("column", ["road", "route_id", "from_measure", "speed_limit", "traffic_per_day", "divided"])
def test_a_real_layer_has_blanks_and_so_has_this(roads: gpd.GeoDataFrame, column: str) -> None:
    assert 0 < roads[column].isna().sum() < len(roads)


def test_roads_meet_at_shared_ends_and_nowhere_else_but_at_one_bridge(roads: gpd.GeoDataFrame) -> None:
    tree = shapely.STRtree(roads.geometry.to_numpy())
    wrong = set()
    for i, j in tree.query(roads.geometry, predicate="intersects").T:
        a, b = roads.geometry[i], roads.geometry[j]
        shared = shapely.MultiPoint(sorted({*ends(a)} & {*ends(b)}))
        if i < j and not a.intersection(b).equals(shared):
            wrong.add((i, j))
    assert len(wrong) == 1
    pair = roads.loc[list(wrong.pop())]
    assert sorted(pair["bridge"]) == [False, True]


def test_all_roads_hang_together_in_one_network(roads: gpd.GeoDataFrame) -> None:
    group: dict[tuple[float, ...], tuple[float, ...]] = {}

    def root(place: tuple[float, ...]) -> tuple[float, ...]:
        while group.setdefault(place, place) != place:
            place = group[place]
        return place

    for line in roads.geometry:
        start, end = ends(line)
        group[root(start)] = root(end)
    assert len({root(place) for place in list(group)}) == 1


def test_the_network_has_dead_ends_junctions_and_a_loop(roads: gpd.GeoDataFrame) -> None:
    degree = Counter(place for line in roads.geometry for place in ends(line))
    assert sum(n == 1 for n in degree.values()) > 50
    assert sum(n >= 3 for n in degree.values()) > 100
    assert sum(line.is_ring for line in roads.geometry) == 1


def test_every_line_is_simple_and_longer_than_twenty_metres(roads: gpd.GeoDataFrame, length_m: np.ndarray) -> None:
    assert roads.geometry.is_simple.all()
    assert length_m.min() > 20


def test_country_roads_wind(roads: gpd.GeoDataFrame, length_m: np.ndarray) -> None:
    chord = np.array([EARTH.geometry_length(shapely.LineString(ends(line))) for line in roads.geometry])
    long = (length_m > 1_500) & (chord > 0)
    assert np.median(length_m[long] / chord[long]) > 1.01


def test_mileposts_grow_by_the_length_of_each_piece(roads: gpd.GeoDataFrame, length_m: np.ndarray) -> None:
    measured = roads["measure_unit"].eq("mile").to_numpy()
    told_m = (roads["to_measure"] - roads["from_measure"]).abs() * METRES_PER_MILE
    # A measure is rounded to 0.001 mile at both ends; the drawing plane is off by less than 0.3 %.
    assert np.abs(told_m - length_m)[measured].max() < 1.7 + 0.003 * length_m.max()


def test_some_measured_pieces_are_digitised_backwards(roads: gpd.GeoDataFrame) -> None:
    backwards = roads["from_measure"] > roads["to_measure"]
    assert 3 <= backwards.sum() <= 20


def test_the_pieces_of_a_highway_follow_each_other_without_a_gap(roads: gpd.GeoDataFrame) -> None:
    for route in ("SR1907", "SR1964"):
        pieces = roads[roads["route_id"] == route]
        low = np.sort(np.minimum(pieces["from_measure"], pieces["to_measure"]))
        high = np.sort(np.maximum(pieces["from_measure"], pieces["to_measure"]))
        assert low[0] == 0
        assert np.array_equal(low[1:], high[:-1])


def test_creeks_cross_roads_and_still_water_keeps_off_them(roads: gpd.GeoDataFrame, water: gpd.GeoDataFrame) -> None:
    net = roads.geometry.union_all()
    creeks = water[water["kind"] == "creek"]
    still = water[water["kind"] != "creek"]
    assert creeks.geometry.intersects(net).all()
    assert sum(shapely.get_num_geometries(line.intersection(net)) for line in creeks.geometry) >= 10
    assert set(still["kind"]) == {"pond", "marsh"}
    assert not still.geometry.intersects(net).any()
    assert still.geometry.is_valid.all()


@pytest.mark.parametrize("name", ["roads.geojson", "water.geojson", "protected.geojson"])
def test_each_layer_states_source_licence_and_date_on_every_feature(layers: Path, name: str) -> None:
    for feature in json.loads((layers / name).read_text(encoding="utf-8"))["features"]:
        told = feature["properties"]
        assert "invented" in told["source"]
        assert told["licence"] == "CC0-1.0"
        assert told["date"] == "2025-07-01"
        assert told["invented"] is True


@pytest.mark.parametrize("name", ["roads.geojson", "water.geojson", "protected.geojson"])
def test_each_layer_is_geojson_as_rfc_7946_has_it(layers: Path, name: str) -> None:
    document = json.loads((layers / name).read_text(encoding="utf-8"))
    assert document.keys() == {"type", "features"}  # no crs member, section 4
    for feature in document["features"]:
        shape = shapely.from_geojson(json.dumps(feature["geometry"]))
        west, south, east, north = shape.bounds
        assert -82.1 < west <= east < -81.7  # longitude first, section 3.1.1
        assert 31.5 < south <= north < 31.9
        if isinstance(shape, shapely.Polygon):
            assert shape.exterior.is_ccw  # section 3.1.6
