"""Stretches: short, equal, in order, and exactly the road they are cut from."""

import numpy as np
import pytest
from shapely.ops import substring

from roadwatch.roads.network import build_network
from roadwatch.roads.stretches import cut_stretches, stretch_table


@pytest.mark.parametrize(
    ("length_m", "n"), [(3.0, 1), (50.0, 1), (50.001, 2), (99.0, 2), (100.0, 2), (101.0, 3), (1000.0, 20)]
)
def test_an_edge_is_cut_into_as_few_equal_stretches_as_the_longest_allows(network, length_m, n):
    stretches = cut_stretches(network([[(0, 0), (length_m, 0)]]))
    assert stretches.length_m == pytest.approx(np.full(n, length_m / n))
    assert stretches.start_m == pytest.approx(np.arange(n) * length_m / n)


def test_the_rounding_of_degrees_does_not_add_a_stretch(layer):
    roads = layer([[(x, y), (x + 60, y + 80)] for x, y in np.random.default_rng(8).uniform(-900, 900, (50, 2))])
    built = build_network(roads.to_crs("EPSG:4326"))
    assert (built.edges["length_m"] > 100.0).any()
    assert len(cut_stretches(built).edge) == 100


def test_no_stretch_is_longer_than_asked_or_crosses_a_junction(town):
    built = build_network(town(np.random.default_rng(1)))
    stretches = cut_stretches(built, longest_m=30.0)
    assert stretches.length_m.max() <= 30.0 + 1e-6
    assert np.bincount(stretches.edge, stretches.length_m) == pytest.approx(built.edges["length_m"].to_numpy())


def test_first_and_last_hold_the_stretches_of_each_edge_together(town):
    built = build_network(town(np.random.default_rng(2)))
    stretches = cut_stretches(built)
    for edge, (first, last) in enumerate(zip(stretches.first, stretches.last, strict=True)):
        assert (np.flatnonzero(stretches.edge == edge) == np.arange(first, last + 1)).all()


def test_a_place_falls_in_the_stretch_that_holds_it(town):
    rng = np.random.default_rng(3)
    built = build_network(town(rng))
    stretches = cut_stretches(built)
    edge = rng.integers(0, len(built.edges), 500)
    offset_m = rng.uniform(0, 1, 500) * built.edges["length_m"].to_numpy()[edge]
    for own, at_m, found in zip(edge, offset_m, stretches.of_place(edge, offset_m), strict=True):
        holds = (stretches.edge == own) & (stretches.start_m <= at_m) & (at_m < stretches.start_m + stretches.length_m)
        assert np.flatnonzero(holds).tolist() == [found]


def test_the_place_where_a_stretch_starts_belongs_to_it(town):
    stretches = cut_stretches(build_network(town(np.random.default_rng(5), size=9)), longest_m=7.0)
    assert (stretches.of_place(stretches.edge, stretches.start_m) == np.arange(len(stretches.edge))).all()


def test_the_ends_of_an_edge_belong_to_its_first_and_last_stretch_and_no_place_to_none(network):
    stretches = cut_stretches(network([[(0, 0), (120, 0)]]))
    assert stretches.of_place(np.array([0, 0, 0, -1]), np.array([0.0, 40.0, 120.0, np.nan])).tolist() == [0, 1, 2, -1]


def test_the_table_holds_the_very_piece_of_road(town):
    built = build_network(town(np.random.default_rng(4)))
    stretches = cut_stretches(built)
    table = stretch_table(built, stretches)
    for i in range(0, len(table), 7):
        start_m = stretches.start_m[i]
        expected = substring(built.edges.geometry[stretches.edge[i]], start_m, start_m + stretches.length_m[i])
        assert table.geometry[i].hausdorff_distance(expected) < 1e-6
    assert table.length.to_numpy() == pytest.approx(stretches.length_m, abs=1e-6)


def test_the_table_measures_along_the_road_and_carries_its_attributes(network):
    """By hand: drawn from east to west, so the first stretch drawn is the last along the road."""
    built = network(
        [[(100, 0), (0, 0)]],
        road=["Mill Road"],
        speed_limit=[45.0],
        from_measure=[1.0],
        to_measure=[2.0],
        measure_unit=["km"],
    )
    table = stretch_table(built, cut_stretches(built))
    assert table["stretch_id"].tolist() == [0, 1]
    assert table[["from_m", "to_m"]].to_numpy().tolist() == [[50.0, 100.0], [0.0, 50.0]]
    assert table[["from_measure", "to_measure"]].to_numpy() == pytest.approx(np.array([[1.0, 1.5], [1.5, 2.0]]))
    assert table["speed_limit"].tolist() == [45.0, 45.0]
    assert table["road"].tolist() == ["Mill Road"] * 2


def test_every_awkward_layer_can_be_cut_and_written(network, awkward):
    built = network(awkward)
    table = stretch_table(built, cut_stretches(built))
    assert table["length_m"].sum() == pytest.approx(built.edges["length_m"].sum())
    assert (table["to_m"] > table["from_m"]).all()
    assert table.length.to_numpy() == pytest.approx(table["length_m"].to_numpy(), abs=1e-6)
