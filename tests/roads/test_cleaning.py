"""Cleaning a road layer: every awkward feature is dealt with, counted and said."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from pyproj import Proj

from roadwatch.errors import UnfitFileError
from roadwatch.records.fields import fields_of
from roadwatch.roads.cleaning import clean_roads, is_repeated


def test_a_layer_without_a_reference_system_is_refused_with_the_cure(layer):
    with pytest.raises(UnfitFileError, match=r"states no reference system \(CRS\); set the one its source names"):
        clean_roads(layer([[(0, 0), (100, 0)]]).set_crs(None, allow_override=True))


def test_metres_that_are_said_to_be_degrees_are_refused_with_the_cure(layer):
    wrong = layer([[(370_000, 3_280_000), (371_000, 3_280_000)]]).set_crs("EPSG:4326", allow_override=True)
    with pytest.raises(
        UnfitFileError, match=r"coordinates are degrees \(WGS 84\), but they reach 3280000; set the ref"
    ):
        clean_roads(wrong)


@pytest.mark.parametrize("lines", [[], [None], [shapely.Point(0, 0)], [shapely.LineString()]])
def test_a_layer_without_lines_is_refused(layer, lines):
    with pytest.raises(UnfitFileError, match="no line was found in it; expected LineString or MultiLineString"):
        clean_roads(layer(lines))


def test_a_layer_of_zero_length_lines_only_is_refused(layer):
    with pytest.raises(UnfitFileError, match="no line in it has a length"):
        clean_roads(layer([[(5, 5), (5, 5)]]))


def test_what_is_not_a_road_line_is_left_out_and_counted(layer):
    bad = [None, shapely.LineString(), shapely.Point(1, 1), shapely.box(0, 0, 1, 1)]
    lines, notes = clean_roads(layer([[(0, 0), (100, 0)], *bad, [(5, 5), (5, 5)]]))
    assert len(lines) == 1
    assert "road lines empty or not a line, left out: 4" in notes
    assert "road lines of zero length, left out: 1" in notes


def test_a_line_drawn_twice_is_kept_once_in_either_direction(layer):
    lines, notes = clean_roads(layer([[(0, 0), (50, 9), (100, 0)], [(100, 0), (50, 9), (0, 0)]], road=["A", "B"]))
    assert lines["road"].tolist() == ["A"]
    assert notes == ["road lines drawn twice at the same place, the first kept: 1"]


def test_a_ring_drawn_twice_is_a_repeat_and_another_way_between_the_same_ends_is_not():
    ring = shapely.LineString([(0, 0), (9, 0), (9, 9), (0, 0)])
    bend, straight = shapely.LineString([(0, 0), (5, 5), (9, 0)]), shapely.LineString([(0, 0), (9, 0)])
    assert is_repeated(np.array([ring, ring.reverse(), bend, straight])).tolist() == [False, True, False, False]


def test_heights_are_dropped_and_said(layer):
    lines, notes = clean_roads(layer([shapely.LineString([(0, 0, 12), (100, 0, 90)])]))
    assert not lines.has_z.any()
    assert lines.length[0] == pytest.approx(100.0)
    assert notes == ["road lines with heights, which are not used: 1"]


def test_parts_that_follow_each_other_become_one_line_and_keep_their_measures(layer):
    road = shapely.MultiLineString([[(0, 0), (50, 0)], [(50, 0), (100, 0)]])
    lines, notes = clean_roads(layer([road], from_measure=[1.0], to_measure=[2.0]))
    assert len(lines) == 1
    assert lines["to_measure"].tolist() == [2.0]
    assert notes == []


def test_parts_apart_lose_their_measures_as_their_order_is_not_known(layer):
    road = shapely.MultiLineString([[(0, 0), (50, 0)], [(80, 0), (100, 0)]])
    lines, notes = clean_roads(layer([road], road=["Mill Road"], from_measure=[1.0], to_measure=[2.0]))
    assert lines["road"].tolist() == ["Mill Road", "Mill Road"]
    assert lines["from_measure"].isna().all()
    assert notes == ["road lines in several parts, taken apart; their measures are not used: 1"]


def test_missing_columns_are_added_blank_and_other_columns_left_behind(layer):
    lines, _ = clean_roads(layer([[(0, 0), (100, 0)]], road=["Mill Road"], colour=["red"]))
    assert list(lines.columns) == [*fields_of("roads"), "geometry"]
    assert lines.drop(columns=["road", "geometry"]).isna().all(axis=None)


def test_degrees_and_feet_come_out_as_the_same_metres(layer):
    metres = layer([[(0, 0), (3000, 400)], [(100, 0), (100, 900)]])
    for crs in ("EPSG:4326", "EPSG:2236", "EPSG:3857"):  # degrees; Florida East, US survey feet; web Mercator
        lines, _ = clean_roads(metres.to_crs(crs))
        assert lines.length.to_numpy() == pytest.approx(metres.length.to_numpy(), abs=0.002)


def test_a_very_wide_layer_says_how_wrong_lengths_become():
    wide = gpd.GeoDataFrame(geometry=[shapely.LineString([(-86, 29), (-80, 29)])], crs="EPSG:4326")
    lines, notes = clean_roads(wide)
    scale = Proj(lines.crs).get_factors(-80, 29).meridional_scale  # PROJ's own figure
    assert notes == [f"the layer is 585 km wide: lengths at its edge are {scale - 1:.2%} too long"]
