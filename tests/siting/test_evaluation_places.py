"""Where a measure acts."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from small_networks import network_of, shape_on

from roadwatch.roads.stretches import cut_stretches, stretch_table
from roadwatch.siting.evaluation_places import APART_M, END_ZONE_M, POINT_REACH_M, measure_places

MAIN, SIDE = "Main Road", "Side Road"


@pytest.fixture
def place():
    """place(network, (kind, shape in metres), ...): where measures act, with the table of stretches."""

    def make(network, *measures):
        shapes = [None if shape is None else shape_on(network, shape) for _, shape in measures]
        table = gpd.GeoDataFrame({"kind": [kind for kind, _ in measures]}, geometry=shapes, crs="EPSG:4326")
        stretches = cut_stretches(network)
        places, apart = measure_places(network, stretches, table)
        return places, apart, stretch_table(network, stretches)

    return make


def span(table, chosen, road=MAIN) -> tuple[float, float]:
    own = table[chosen & (table["road"] == road).to_numpy()]
    return float(own["from_m"].min()), float(own["to_m"].max())


def test_a_fence_acts_on_the_road_it_runs_along(place):
    network = network_of({MAIN: [(0, 0), (5000, 0)]})
    (found,), _, table = place(network, ("fence", shapely.LineString([(2000, 8), (2600, 8)])))
    assert span(table, found.inside) == (pytest.approx(2000, abs=30), pytest.approx(2600, abs=30))
    assert found.reason == ""


def test_the_ends_are_200_m_outside_and_never_inside(place):
    network = network_of({MAIN: [(0, 0), (5000, 0)]})
    (found,), _, table = place(network, ("fence", shapely.LineString([(2000, 8), (2600, 8)])))
    assert not (found.inside & found.ends).any()
    ends = table[found.ends]
    assert ends["length_m"].sum() == pytest.approx(2 * END_ZONE_M, abs=10)  # whole stretches of 49.5 m
    assert span(table, found.ends | found.inside) == (pytest.approx(1800, abs=30), pytest.approx(2800, abs=30))


def test_the_ends_of_a_fence_across_a_junction_take_in_the_side_road(place):
    network = network_of({MAIN: [(0, 0), (2300, 0), (5000, 0)], SIDE: [(2300, 0), (2300, 1500)]})
    (found,), _, table = place(network, ("fence", shapely.LineString([(2000, 8), (2600, 8)])))
    assert table[found.ends & (table["road"] == SIDE).to_numpy()]["length_m"].sum() == pytest.approx(200, abs=51)


@pytest.mark.parametrize("kind", ["sign", "passage", "other"])
def test_a_point_acts_as_far_as_its_kind_reaches(place, kind):
    network = network_of({MAIN: [(0, 0), (5000, 0)]})
    (found,), _, table = place(network, (kind, shapely.Point(2500, 5)))
    reach_m = POINT_REACH_M.get(kind, 200.0)
    assert table[found.inside]["length_m"].sum() == pytest.approx(2 * reach_m, abs=51)


def test_controls_lie_apart_from_every_measure(place):
    network = network_of({MAIN: [(0, 0), (9000, 0)]})
    fence, sign = shapely.LineString([(2000, 8), (2600, 8)]), shapely.Point(6000, 0)
    places, apart, table = place(network, ("fence", fence), ("sign", sign))
    for found in places:
        taken = table[found.inside]
        away = np.minimum.reduce(
            [np.abs(table["to_m"].to_numpy() - taken["from_m"].min()), np.abs(table["from_m"] - taken["to_m"].max())]
        )
        assert (away[apart] >= APART_M - 30).all()
    assert apart.any()


def test_a_measure_without_a_place_or_off_the_roads_says_so(place):
    network = network_of({MAIN: [(0, 0), (5000, 0)]})
    (blank, far), apart, _ = place(network, ("fence", None), ("sign", shapely.Point(2500, 4000)))
    assert "not on file" in blank.reason
    assert "on no road" in far.reason
    assert not blank.inside.any()
    assert apart.all()
