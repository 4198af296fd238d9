"""Distances to roads, looked up once a place."""

import geopandas as gpd
import numpy as np
import pytest
from pyproj import Geod
from shapely.geometry import LineString

from roadwatch.roads.network import build_network
from roadwatch.season.nearness import Nearness

ROAD = LineString([(-81.91, 31.7), (-81.89, 31.7)])
"""Short enough that the parallel is straight in any local system."""


@pytest.fixture
def nearness():
    asked = []

    def network():
        asked.append(1)
        return build_network(gpd.GeoDataFrame({"road": ["Invented Road"]}, geometry=[ROAD], crs=4326))

    made = Nearness(network)
    made.asked = asked
    return made


def test_a_distance_is_that_on_the_ellipsoid(nearness):
    """The geodesic from the place straight to the road, by GeographicLib within pyproj, as the outside measure."""
    _, _, expected = Geod(ellps="WGS84").inv(-81.9, 31.71, -81.9, 31.7)
    (found,) = nearness.distance_m(np.array([-81.9]), np.array([31.71]))
    assert found == pytest.approx(expected, rel=1e-3)


def test_a_place_on_the_road_is_at_no_distance(nearness):
    assert nearness.distance_m(np.array([-81.9]), np.array([31.7]))[0] < 1.0


def test_an_unknown_place_has_no_distance_and_needs_no_roads(nearness):
    found = nearness.distance_m(np.array([np.nan, -81.9]), np.array([31.7, np.nan]))
    assert np.isnan(found).all()
    assert nearness.asked == []


def test_places_keep_their_order_whatever_was_asked_before(nearness):
    longitude, latitude = np.linspace(-81.905, -81.895, 7), np.linspace(31.71, 31.73, 7)
    all_at_once = nearness.distance_m(longitude, latitude)
    assert np.all(np.diff(all_at_once) > 0)
    shuffled = np.array([3, 0, 6, 3])
    assert nearness.distance_m(longitude[shuffled], latitude[shuffled]).tolist() == all_at_once[shuffled].tolist()
    more = nearness.distance_m(np.append(longitude, -81.9), np.append(latitude, 31.7))
    assert more[:7].tolist() == all_at_once.tolist()
    assert more[7] < 1.0


def test_no_place_gives_no_distance(nearness):
    assert len(nearness.distance_m(np.empty(0), np.empty(0))) == 0
