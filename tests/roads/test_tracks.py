"""Tracks laid on roads: walks drawn by hand, with and without the wiggles of a receiver."""

import geopandas as gpd
import numpy as np
import pytest
import shapely

from roadwatch.roads.stretches import cut_stretches
from roadwatch.roads.tracks import is_track, match_tracks


@pytest.fixture
def crossroads(network):
    """A main road of 1 km and a side road of 500 m that meet at the origin."""
    return network([[(-500, 0), (0, 0), (500, 0)], [(0, 0), (0, 500)]], road=["Main", "Main", "Side"][::2])


def metres_by_road(network, *walks):
    """Metres travelled on each road, for walks drawn in metres."""
    tracks = gpd.GeoSeries([shapely.LineString(walk) for walk in walks], crs=network.crs).to_crs("EPSG:4326")
    stretches = cut_stretches(network)
    passes = match_tracks(network, stretches, tracks.to_numpy())
    road = network.edges["road"].to_numpy()[stretches.edge[passes.stretch]]
    return {name: passes.length_m[road == name].sum() for name in set(road)}, passes


@pytest.fixture
def origin(crossroads):
    """Where the crossroads lie in the network's own metres."""
    return shapely.get_coordinates(crossroads.nodes.geometry.to_numpy()[crossroads.nodes["degree"] == 3])[0]


def test_a_walk_along_a_road_counts_its_metres_on_that_road_only(crossroads, origin):
    travelled, passes = metres_by_road(crossroads, np.array([(-450, 4), (450, 4)]) + origin)
    assert set(travelled) == {"Main"}
    assert travelled["Main"] == pytest.approx(900, abs=15)
    assert passes.off_road_m == pytest.approx([0.0])


def test_there_and_back_counts_twice(crossroads, origin):
    travelled, _ = metres_by_road(crossroads, np.array([(-450, 4), (450, 4), (450, -4), (-450, -4)]) + origin)
    assert travelled["Main"] == pytest.approx(1800, abs=20)


def test_a_turn_into_the_side_road_counts_on_both(crossroads, origin):
    travelled, _ = metres_by_road(crossroads, np.array([(-450, 0), (0, 0), (0, 450)]) + origin)
    assert travelled == {"Main": pytest.approx(450, abs=5), "Side": pytest.approx(450, abs=5)}


def test_a_walk_across_fields_is_off_the_road(crossroads, origin):
    travelled, passes = metres_by_road(crossroads, np.array([(100, 100), (400, 100)]) + origin)
    assert travelled == {}
    assert passes.off_road_m == pytest.approx([300.0], abs=0.01)
    assert passes.all_m == pytest.approx([300.0], abs=0.01)


def test_passing_a_side_road_is_no_search_of_it_even_when_the_receiver_strays(crossroads, origin):
    rng = np.random.default_rng(3)
    x = np.arange(-450, 451, 10.0)
    travelled, _ = metres_by_road(crossroads, np.c_[x, rng.normal(0, 4, len(x))] + origin)
    assert set(travelled) == {"Main"}
    assert travelled["Main"] == pytest.approx(900, rel=0.05)


def test_the_wiggles_of_a_receiver_at_rest_are_not_kilometres(crossroads, origin):
    rng = np.random.default_rng(4)
    rest = np.array([200.0, 0.0]) + rng.uniform(-2.5, 2.5, (2000, 2))
    _, passes = metres_by_road(crossroads, np.vstack([[(-450, 0)], rest, [(450, 0)]]) + origin)
    assert shapely.LineString(rest).length > 4000
    assert passes.all_m[0] == pytest.approx(900, abs=15)


def test_each_track_keeps_its_own_metres(crossroads, origin):
    _, passes = metres_by_road(
        crossroads, np.array([(-450, 0), (-50, 0)]) + origin, np.array([(0, 50), (0, 450)]) + origin
    )
    assert [passes.length_m[passes.track == i].sum() for i in (0, 1)] == pytest.approx([400, 400], abs=1)


def test_a_track_in_several_parts_counts_all_that_move(crossroads, origin):
    """A receiver switched off and on again leaves several lines, some of them a single spot or a tiny round."""
    x, y = origin
    parts = [
        [(x - 450, y), (x - 250, y)],
        [(x, y), (x, y)],
        [(x, y), (x + 1, y), (x + 1, y + 1), (x, y)],
        [(x + 250, y), (x + 450, y)],
    ]
    track = gpd.GeoSeries([shapely.MultiLineString(parts)], crs=crossroads.crs).to_crs("EPSG:4326")
    passes = match_tracks(crossroads, cut_stretches(crossroads), track.to_numpy())
    assert passes.length_m.sum() == pytest.approx(400, abs=5)


def test_only_lines_of_some_length_in_degrees_are_tracks():
    shapes = [
        "LINESTRING (-82 29, -82.1 29)",
        "MULTILINESTRING ((0 0, 1 1), (3 3, 3 3))",
        "POINT (0 0)",
        "LINESTRING (0 0, 0 91)",
    ]
    assert is_track(shapely.from_wkt([*shapes, None])).tolist() == [True, True, False, False, False]
