"""Ways between nests along invented roads, against lengths known by hand."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from tiny_county import CENTRE

from roadwatch.roads.network import build_network
from roadwatch.rounds.travel import travel_between


@pytest.fixture
def network():
    """Two roads that meet in a T, and one apart from them."""

    def make(*, apart=False):
        east, north = CENTRE
        lines = [
            shapely.LineString([(east - 0.02, north), (east, north), (east + 0.02, north)]),
            shapely.LineString([(east, north), (east, north + 0.02)]),
        ]
        if apart:
            lines.append(shapely.LineString([(east - 0.02, north + 0.03), (east + 0.02, north + 0.03)]))
        return build_network(gpd.GeoDataFrame({"road": ["A", "B", "C"][: len(lines)]}, geometry=lines, crs="EPSG:4326"))

    return make


def at(east, north):
    return (CENTRE[0] + east, CENTRE[1] + north)


NOWHERE = (np.nan, np.nan)


def travel(network, nests, *, access=None, starts=(CENTRE,)):
    nests = np.array(nests, dtype=float)
    access = np.full(nests.shape, np.nan) if access is None else np.array(access, dtype=float)
    return travel_between(network, access=access, nests=nests, starts=np.array(starts, dtype=float))


EAST_M = 948.0
"""Metres of 0.01 degree east at 31.7 north: 111,320 cos(31.7) / 100, by hand."""
NORTH_M = 1109.0
"""Metres of 0.01 degree north there: 110,900 / 100, by hand."""


def test_the_way_goes_along_the_roads_not_straight(network):
    found = travel(network(), [at(0.01, 0), at(0, 0.01)])
    assert found.between_m[0, 1] == pytest.approx(EAST_M + NORTH_M, rel=0.005)
    assert found.from_start_m[0] == pytest.approx([EAST_M, NORTH_M], rel=0.005)


def test_ways_are_alike_in_both_directions_and_none_to_itself(network):
    found = travel(network(), [at(0.01, 0), at(0, 0.01), at(-0.015, 0)])
    np.testing.assert_array_equal(found.between_m, found.between_m.T)
    assert np.diag(found.between_m).tolist() == [0, 0, 0]


def test_the_place_of_access_decides_where_one_leaves_the_road(network):
    found = travel(network(), [at(0.01, 0.001)], access=[at(0.005, 0)])
    assert found.from_start_m[0, 0] == pytest.approx(EAST_M / 2, rel=0.005)
    assert found.walk_m[0] == pytest.approx(np.hypot(EAST_M / 2, NORTH_M / 10), rel=0.01)


def test_without_an_access_one_walks_from_the_nearest_road(network):
    found = travel(network(), [at(0.01, 0.002)])
    assert found.walk_m[0] == pytest.approx(NORTH_M / 5, rel=0.01)


def test_where_no_road_leads_the_straight_line_is_made_longer_and_it_is_said(network):
    found = travel(network(apart=True), [at(0.01, 0), at(0.01, 0.03)])
    assert found.between_m[0, 1] == pytest.approx(1.4 * 3 * NORTH_M, rel=0.01)  # the stated convention
    assert "No way along the roads" in found.notes[0]


def test_where_all_roads_meet_nothing_is_said(network):
    assert travel(network(), [at(0.01, 0), at(0, 0.01)]).notes == ()


def test_a_start_that_is_not_known_costs_no_way(network):
    assert travel(network(), [at(0.01, 0)], starts=[NOWHERE]).from_start_m.tolist() == [[0.0]]


def test_a_plan_without_nests_has_no_ways(network):
    found = travel(network(), np.zeros((0, 2)))
    assert found.between_m.shape == (0, 0)
    assert found.from_start_m.shape == (1, 0)
