"""The wave against the sum over paths, on roads whose lengths fit its ticks and on roads whose do not."""

import numpy as np
import pytest

from roadwatch.hotspots import wave
from roadwatch.hotspots.density import (
    equal_split_density,
    graph_of,
    kernel_matrices,
    kernel_matrix,
    wave_notes,
    waved_share,
)
from roadwatch.hotspots.pairs import Places
from roadwatch.hotspots.paths import Graph
from roadwatch.hotspots.wave import crowded_edges, wave_pairs
from roadwatch.roads.stretches import cut_stretches

AWKWARD = {
    "a loop": [(0, 1, 100.0), (1, 1, 90.0), (1, 2, 60.0)],
    "a road apart": [(0, 1, 100.0), (2, 3, 70.0), (3, 4, 50.0)],
    "an edge of no length": [(0, 1, 100.0), (1, 2, 0.0), (2, 3, 80.0)],
    "two edges alike": [(0, 1, 100.0), (0, 1, 100.0), (1, 2, 70.0)],
    "slivers of a metre side by side": [(0, 1, 100.0), (1, 2, 1.02), (1, 2, 1.02), (2, 3, 90.0)],
    "a junction of five": [(0, k, 40.0 + 17.0 * k) for k in range(1, 6)],
    "a dead end": [(0, 1, 35.0)],
}


@pytest.fixture
def all_waves(monkeypatch):
    """Send waves from every road, however few paths there are."""
    monkeypatch.setattr(wave, "MANY_PATHS", -1)


def network_of(edges):
    node_from, node_to, length = zip(*edges, strict=True)
    return Graph(np.array(node_from), np.array(node_to), np.array(length))


def places_on(graph, per_edge=3):
    share = (np.arange(per_edge) + 0.5) / per_edge
    edge = np.repeat(np.arange(len(graph.length_m)), per_edge)
    return edge, np.tile(share, len(graph.length_m)) * graph.length_m[edge]


def by_wave(graph, edge, offset_m, *, half_width_m, kernel="epanechnikov", split="continuous"):
    """(places, places) Density at the row of a record at the column."""
    places = Places(graph, edge, offset_m)
    matrix = np.zeros((len(edge), len(edge)))
    every = np.arange(len(graph.length_m))
    for pairs in wave_pairs(places, every, half_width_m=half_width_m, kernel=kernel, split=split):
        matrix[places.order[pairs.target], places.order[pairs.source]] += pairs.share
    return matrix


def by_paths(graph, edge, offset_m, **options):
    columns = [
        equal_split_density(graph, edge[[j]], offset_m[[j]], np.ones(1), edge, offset_m, **options)
        for j in range(len(edge))
    ]
    return np.column_stack(columns)


@pytest.mark.parametrize("split", ["continuous", "discontinuous"])
@pytest.mark.parametrize("kernel", ["epanechnikov", "quartic", "gaussian"])
def test_where_lengths_fit_the_ticks_the_wave_is_the_sum_over_paths(kernel, split):
    # half-width 120: a tick is 2; all edges are even, all places lie on even metres
    graph = network_of([(0, 1, 100.0), (1, 2, 60.0), (2, 0, 80.0), (1, 3, 40.0), (2, 2, 60.0), (0, 3, 120.0)])
    edge, offset_m = np.array([0, 0, 1, 2, 3, 4, 5, 5]), np.array([20.0, 60.0, 4.0, 50.0, 12.0, 30.0, 6.0, 118.0])
    options = {"half_width_m": 120.0, "kernel": kernel, "split": split}
    expected = by_paths(graph, edge, offset_m, smallest_share=0.0, **options)
    assert by_wave(graph, edge, offset_m, **options) == pytest.approx(expected, abs=1e-12)


def test_a_record_before_a_junction_by_hand():
    # three arms, record 1 from the hub, half-width 3: own arm at 0.5 is k(0.5) - k(1.5) / 3 = 0.1805556, another arm
    # 2/3 k(1.5) = 0.125 (Okabe, Satoh & Sugihara 2009); four arms 0.1493056 and 0.09375; a dead end 0.4305556
    for m, own, other in ((3, 0.1805555556, 0.125), (4, 0.1493055556, 0.09375)):
        graph = network_of([(0, k, 4.0) for k in range(1, m + 1)])
        found = by_wave(graph, np.array([0, 0, 1]), np.array([1.0, 0.5, 0.5]), half_width_m=3.0)[:, 0]
        assert found[1:] == pytest.approx([own, other], abs=1e-9)
    end = by_wave(network_of([(0, 1, 4.0)]), np.array([0, 0]), np.array([1.0, 0.5]), half_width_m=3.0)
    assert end[1, 0] == pytest.approx(0.4305555556, abs=1e-9)


@pytest.mark.parametrize("name", AWKWARD)
def test_on_awkward_roads_the_wave_stays_near_the_sum_over_paths(name):
    graph = network_of(AWKWARD[name])
    edge, offset_m = places_on(graph)
    found = by_wave(graph, edge, offset_m, half_width_m=150.0)
    expected = by_paths(graph, edge, offset_m, half_width_m=150.0)
    assert np.isfinite(found).all()
    # slivers count as a tick of 2.5 m each, so what passes them is late by up to 1.5 m of 150
    assert np.abs(found - expected).max() <= 0.03 * expected.max()


def test_on_bent_town_blocks_the_wave_is_as_near_as_it_says(roads, all_waves):
    rng = np.random.default_rng(1)
    k = 7
    x, y = (100.0 * (axis + rng.uniform(-0.2, 0.2, (k, k))) for axis in np.mgrid[0:k, 0:k].astype(float))
    lines = {f"E{i}": np.c_[x[i], y[i]] for i in range(k)} | {f"N{i}": np.c_[x[:, i], y[:, i]] for i in range(k)}
    network = roads(lines)
    stretches = cut_stretches(network)
    (waved,) = kernel_matrices(network, stretches, half_widths_m=[300.0])
    centre_m = stretches.start_m + stretches.length_m / 2
    expected = by_paths(graph_of(network), stretches.edge, centre_m, half_width_m=300.0)
    expected /= stretches.length_m @ expected
    off = np.abs(waved.toarray() - expected) / expected.max(axis=0)
    assert off.max() <= 0.025
    assert np.sqrt((off**2).mean()) <= 0.001


@pytest.mark.parametrize("kernel", ["epanechnikov", "quartic", "gaussian"])
def test_waves_keep_the_mass(county, kernel, all_waves):
    network = county(4, 90.0, extra={"Loop": [(0.0, 0.0), (-60.0, 10.0), (-50.0, -40.0), (0.0, 0.0)]})
    stretches = cut_stretches(network)
    for matrix in kernel_matrices(network, stretches, half_widths_m=[300.0, 90.0], kernel=kernel):
        assert matrix.T @ stretches.length_m == pytest.approx(np.ones(len(stretches.edge)), abs=1e-9)
        assert matrix.min() >= 0.0


def test_most_of_the_mass_is_kept_before_it_is_rescaled():
    # places every 2 m on a triangle with a tail: the plain sum of density times length is 1 within the grid's error
    graph = network_of([(0, 1, 97.0), (1, 2, 61.0), (2, 0, 83.0), (1, 3, 45.0)])
    edge = np.repeat(np.arange(4), np.ceil(graph.length_m / 2).astype(int))
    first = np.searchsorted(edge, np.arange(4))
    step = graph.length_m / np.bincount(edge)
    offset_m = (np.arange(len(edge)) - first[edge] + 0.5) * step[edge]
    found = by_wave(graph, edge, offset_m, half_width_m=120.0)
    assert step[edge] @ found == pytest.approx(np.ones(len(edge)), abs=0.003)


def test_edges_are_crowded_where_paths_are_many():
    # a star of 3 long arms: past the hub a wave has 3 ways (two on, one back) and no more within reach
    few = network_of([(0, 1, 900.0), (0, 2, 900.0), (0, 3, 900.0)])
    assert not crowded_edges(few, half_width_m=300.0).any()
    many = network_of([(0, 1, 900.0), (1, 2, 1.0), (1, 2, 1.0), (2, 3, 900.0), (3, 4, 900.0)])
    assert crowded_edges(many, half_width_m=300.0).tolist() == [True, True, True, True, False]


def test_far_bends_do_not_make_an_edge_crowded():
    # nothing is thrown back at a bend, so a road of 60 pieces has one way to go
    n = 60
    road = Graph(np.arange(n), np.arange(1, n + 1), np.full(n, 20.0))
    assert not crowded_edges(road, half_width_m=600.0)[25:35].any()


def test_roads_with_few_and_with_many_paths_share_one_matrix(county):
    network = county(6, 60.0, extra={"Out": [(300.0, 0.0), (3000.0, 0.0)]})
    stretches = cut_stretches(network)
    share = waved_share(network, stretches, half_width_m=300.0)
    assert 0.2 < share < 0.9
    (note,) = wave_notes(network, stretches, half_widths_m=[300.0, 20.0])
    assert f"({100 * share:.0f} % of the roads at 300 m)" in note
    assert wave_notes(network, stretches, half_widths_m=[20.0]) == ()
    matrix = kernel_matrix(network, stretches, half_width_m=300.0)
    assert matrix.T @ stretches.length_m == pytest.approx(np.ones(len(stretches.edge)), abs=1e-9)
    far = np.flatnonzero(~crowded_edges(graph_of(network), half_width_m=300.0)[stretches.edge])
    centre_m = stretches.start_m + stretches.length_m / 2
    one = far[len(far) // 2]
    column = equal_split_density(
        network, stretches.edge[[one]], centre_m[[one]], np.ones(1), stretches.edge, centre_m, half_width_m=300.0
    )
    assert matrix[:, [one]].toarray().ravel() == pytest.approx(column / (column @ stretches.length_m), abs=1e-12)


def test_the_waves_do_not_depend_on_how_edges_are_drawn():
    rng = np.random.default_rng(4)
    graph = network_of(AWKWARD["a junction of five"] + AWKWARD["a road apart"])
    edge, offset_m = places_on(graph)
    turned = rng.random(len(graph.length_m)) < 0.5
    other = Graph(
        np.where(turned, graph.node_to, graph.node_from),
        np.where(turned, graph.node_from, graph.node_to),
        graph.length_m,
    )
    along_m = np.where(turned[edge], graph.length_m[edge] - offset_m, offset_m)
    expected = by_wave(graph, edge, offset_m, half_width_m=130.0)
    assert by_wave(other, edge, along_m, half_width_m=130.0) == pytest.approx(expected, abs=1e-9)


def test_a_vertex_in_the_middle_of_a_road_changes_nothing_where_it_fits_the_ticks():
    # half-width 120, ticks of 2: the road of 100 is cut at 40
    whole = network_of([(0, 1, 100.0), (1, 2, 60.0), (1, 3, 80.0)])
    cut = network_of([(0, 4, 40.0), (1, 2, 60.0), (1, 3, 80.0), (4, 1, 60.0)])
    expected = by_wave(whole, np.array([0, 0, 1, 2]), np.array([20.0, 70.0, 30.0, 10.0]), half_width_m=120.0)
    found = by_wave(cut, np.array([0, 3, 1, 2]), np.array([20.0, 30.0, 30.0, 10.0]), half_width_m=120.0)
    assert found == pytest.approx(expected, abs=1e-12)


def test_a_wave_runs_one_half_width_and_no_further():
    road = network_of([(0, 1, 500.0), (1, 2, 500.0), (2, 3, 500.0)])
    edge, offset_m = np.array([0, 1, 1, 2]), np.array([450.0, 40.0, 60.0, 100.0])
    found = by_wave(road, edge, offset_m, half_width_m=100.0)
    # the second place is 90 away, the third 110, the fourth 650
    assert (found[:, 0] > 0.0).tolist() == [True, True, False, False]


def test_crowded_town_blocks_with_slivers_come_to_an_end():
    # two parallel slivers of a metre made an unpruned sum over paths run for ever
    graph = network_of([(0, 1, 60.0), (1, 2, 1.02), (1, 2, 1.02), (2, 3, 70.0), (3, 0, 1.5), (3, 0, 1.5)])
    edge, offset_m = places_on(graph)
    found = by_wave(graph, edge, offset_m, half_width_m=600.0)
    assert np.isfinite(found).all()
    assert found.min() >= 0.0
