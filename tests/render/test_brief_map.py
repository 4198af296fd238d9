"""The still map of a place: to scale, in its frame, escaped."""

import math
import re

import geopandas as gpd
import numpy as np
import pytest
import shapely
from render.fence_briefs import brief

from roadwatch.render.brief_map import HEIGHT_PX, WIDTH_PX, place_map

NOTHING = gpd.GeoDataFrame(geometry=[], crs="EPSG:4326")


def drawn(text="", **layers):
    made = brief(text)
    layers = {"roads": made.roads, "water": made.water} | layers
    return str(place_map(made.runs.geometry.iloc[0], made.places[0].run, **layers)), made


def points(path):
    return np.array([[float(v) for v in pair.split()] for pair in re.split("[ML]", path)[1:]])


def run_path(picture):
    return points(re.search(r'<path d="([^"]+)" fill="none" stroke="#252525" stroke-width="9"', picture)[1])


def test_the_run_is_drawn_to_the_scale_of_the_bar():
    picture, made = drawn()
    bar_px, bar_m = (
        float(re.search(r'd="M16 \d+h([\d.]+)"', picture)[1]),
        int(re.search(r">(\d+) m</text>", picture)[1]),
    )
    x, y = np.diff(shapely.get_coordinates(made.runs.geometry.iloc[0]), axis=0)[0]
    length_m = math.hypot(x * 111_320 * math.cos(math.radians(29.501)), y * 111_320)
    length_px = np.hypot(*np.diff(run_path(picture), axis=0)[0])
    assert length_px / bar_px == pytest.approx(length_m / bar_m, rel=0.01)


def test_the_run_lies_in_the_middle_of_the_frame():
    picture, _ = drawn()
    assert run_path(picture).mean(axis=0) == pytest.approx([WIDTH_PX / 2, HEIGHT_PX / 2], abs=0.2)


def test_north_is_up():
    picture, _ = drawn()
    path = run_path(picture)
    assert path[-1, 1] < path[0, 1], "the run climbs northwards to the east"


def test_nothing_is_drawn_outside_the_frame():
    picture, _ = drawn()
    for path in re.findall(r'<path d="(M[^"h]+)"', picture):
        xy = points(path)
        assert (xy >= -0.1).all()
        assert (xy <= [WIDTH_PX + 0.1, HEIGHT_PX + 0.1]).all()


def test_roads_are_named_once_and_strangers_words_are_escaped():
    picture, _ = drawn("<script>")
    assert "<script>" not in picture
    assert picture.count(">Heron Lane<") == 1


def test_no_water_and_no_road_still_make_a_map():
    picture, _ = drawn(roads=NOTHING, water=NOTHING)
    assert "Run 1" in picture
    assert len(run_path(picture)) == 2


def name_place(picture, name):
    x, y = re.search(rf'<text x="([\d.]+)" y="([\d.]+)"[^>]*>{name}<', picture).groups()
    return np.array([float(x), float(y)])


def test_the_name_of_the_fenced_road_keeps_off_the_run():
    picture, made = drawn()
    road = made.roads.geometry.iloc[0]
    run = shapely.LineString(shapely.get_coordinates(made.runs.geometry.iloc[0]))
    assert shapely.distance(shapely.line_interpolate_point(road, 0.5, normalized=True), run) > 0.0
    gap_px = np.abs(run_path(picture) - name_place(picture, "County Road 12")).max(axis=1).min()
    assert gap_px > 0.1 * WIDTH_PX


def test_a_road_that_is_all_run_is_named_all_the_same():
    made = brief()
    run = made.runs.geometry.iloc[0]
    alone = gpd.GeoDataFrame({"road": ["Short Road"]}, geometry=[run], crs="EPSG:4326")
    assert str(place_map(run, made.places[0].run, roads=alone, water=NOTHING)).count(">Short Road<") == 1
