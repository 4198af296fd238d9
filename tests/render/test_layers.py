import base64
import json
from itertools import accumulate

import geopandas as gpd
import numpy as np
import pytest
import shapely
from render.map_places import numbers_in

from roadwatch.render.layers import map_data
from roadwatch.render.packing import STEPS_PER_DEGREE


def unpacked(steps):
    """Plain running sums: what the page's code does, written the slow way."""
    return list(zip(accumulate(steps[::2]), accumulate(steps[1::2]), strict=True))


def codes_in(packed, n):
    """What the page's code does with codes, the slow way."""
    if isinstance(packed, int):
        return [packed] * n
    if packed == "":
        return list(range(1, n + 1))
    width, body = int(packed[0]), base64.b64decode(packed[1:])
    return [int.from_bytes(body[place : place + width], "little") for place in range(0, len(body), width)]


def text_of(column, row, n=120):
    code = codes_in(column["codes"], n)[row]
    return column["texts"][code - 1] if code else None


def test_places_read_back_within_half_a_step(season):
    content = season("team")
    found = np.array(unpacked(numbers_in(map_data(content)["crossings"]["at"]))) / STEPS_PER_DEGREE
    wanted = shapely.get_coordinates(content.places.crossings.geometry.to_numpy())
    assert np.abs(found - wanted).max() <= 0.5 / STEPS_PER_DEGREE + 1e-12


def test_shapes_read_back_with_rings_and_kinds(season):
    with_hole = shapely.Polygon(
        [(-82.4, 29.6), (-82.3, 29.6), (-82.3, 29.7)], [[(-82.35, 29.62), (-82.33, 29.62), (-82.33, 29.64)]]
    )
    both = shapely.MultiPolygon([with_hole, shapely.box(-82.2, 29.5, -82.1, 29.6)])
    water = gpd.GeoDataFrame(
        {"name": ["Lakes", None, "Spring"]},
        geometry=[both, shapely.LineString([(-82.4, 29.5), (-82.3, 29.5)]), shapely.Point(-82.0, 29.0)],
        crs="EPSG:4326",
    )
    data = map_data(season("team", water=water))["water"]
    assert data["names"] == ["Lakes", "Water", "Spring"]
    assert data["row"] == [0, 0, 1, 2]
    assert data["kind"] == [2, 2, 1, 0]
    assert [len(rings) for rings in data["rings"]] == [2, 1, 1, 1]
    hole = [(x / STEPS_PER_DEGREE, y / STEPS_PER_DEGREE) for x, y in unpacked(data["rings"][0][1])]
    assert hole == [(-82.35, 29.62), (-82.33, 29.62), (-82.33, 29.64), (-82.35, 29.62)]


def test_layers_in_metres_arrive_in_degrees(season):
    plain = season("team")
    metric = season("team", roads=plain.roads.to_crs("EPSG:32617"))
    assert map_data(metric)["roads"] == map_data(plain)["roads"]


def test_missing_and_empty_shapes_are_passed_over(season):
    roads = gpd.GeoDataFrame(
        {"road": ["a", "b", "c"]},
        geometry=[None, shapely.LineString(), shapely.LineString([(-82.4, 29.5), (-82.3, 29.6)])],
        crs="EPSG:4326",
    )
    data = map_data(season("team", roads=roads))["roads"]
    assert data["row"] == [2]


def test_every_text_is_told_once_and_found_again(season):
    content = season("team")
    columns = {column["label"]: column for column in map_data(content)["crossings"]["columns"]}
    taxon = columns["Taxon"]
    assert len(taxon["texts"]) == len(set(taxon["texts"]))
    assert [text_of(taxon, row) for row in range(120)] == content.places.crossings["taxon"].tolist()
    assert text_of(columns["Notes"], 1) is None
    assert text_of(columns["Notes"], 0) == "shell on the shoulder"
    assert "Photograph" not in columns  # nobody gave one


def test_conditions_and_window_states_point_at_their_sign(season):
    content = season("team")
    data = map_data(content)
    order = ["alive", "injured", "dead", "unknown"]
    assert [order[code - 1] for code in codes_in(data["crossings"]["sign"], 120)] == content.places.crossings[
        "condition"
    ].tolist()
    assert codes_in(data["nests"]["sign"], 6) == [2, 2, 2, 3, 1, 4]  # worked by hand for 4 August 2025


def test_a_blank_condition_is_unknown(season):
    content = season("team")
    content.places.crossings["condition"] = None
    assert set(codes_in(map_data(content)["crossings"]["sign"], 120)) == {4}


def test_hotspots_carry_rank_strength_and_a_middle_on_their_line(season):
    content = season("team")
    data = map_data(content)["answers"][0]
    assert data["rank"] == ["1", "2", "3"]
    assert data["strength"] == [3, 2, 0]  # ratios 7.6, 4.6 and 1.7 against 2, 3, 5 and 10
    for (x, y), line in zip(unpacked(data["middle"]), content.hotspots.table.geometry, strict=True):
        assert line.distance(shapely.Point(x / STEPS_PER_DEGREE, y / STEPS_PER_DEGREE)) < 1 / STEPS_PER_DEGREE


def test_public_data_holds_no_nest_no_observer_and_no_note(season):
    text = json.dumps(map_data(season("public")))
    for secret in ("Warden", "Keeper", "culvert", "shoulder", "R00001", "N0", "T07:"):
        assert secret not in text


def test_the_view_opens_on_the_roads_or_on_whatever_there_is(season):
    content = season("team")
    assert map_data(content)["bounds"] == [round(edge, 5) for edge in content.roads.total_bounds]
    without = season("team", roads=content.roads.iloc[:0])
    assert map_data(without)["bounds"] == pytest.approx(content.hotspots.table.total_bounds, abs=1e-5)


def test_a_layer_without_reference_system_is_taken_as_degrees(season):
    content = season("team")
    bare = season("team", water=content.water.set_crs(None, allow_override=True))
    assert map_data(bare)["water"] == map_data(content)["water"]
