"""Stretches along wetland."""

import geopandas as gpd
import pytest
import shapely

from roadwatch.roads.near import stretches_near
from roadwatch.roads.stretches import cut_stretches


@pytest.mark.parametrize(("within_m", "first_m", "last_m"), [(100.0, 350.0, 650.0), (60.0, 400.0, 600.0)])
def test_stretches_within_reach_of_a_shape_are_marked(network, within_m, first_m, last_m):
    # a square pond of 40 m, its near side 50 m north of the road, about metre 500 of it: by Pythagoras the road is
    # within 100 m as far as 20 + 86.6 m on either side, and within 60 m as far as 20 + 33.2 m
    road = network([[(-500, 0), (500, 0)]], road=["Main"])
    stretches = cut_stretches(road)
    pond = gpd.GeoDataFrame(geometry=[shapely.box(-20, 50, 20, 90), None], crs=road.crs).to_crs("EPSG:4326")
    near = stretches_near(road, stretches, pond, within_m=within_m)
    begin, end = stretches.start_m, stretches.start_m + stretches.length_m
    assert begin[near].min() == pytest.approx(first_m, abs=0.5)
    assert end[near].max() == pytest.approx(last_m, abs=0.5)


def test_an_empty_layer_marks_nothing(network):
    road = network([[(0, 0), (1000, 0)]], road=["Main"])
    empty = gpd.GeoDataFrame(geometry=[], crs="EPSG:4326")
    assert not stretches_near(road, cut_stretches(road), empty).any()
