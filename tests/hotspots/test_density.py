"""The equal-split density against hand computation, a reference library, and two independent ways to the same sum."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hotspots.oracles import walk_all_paths, wave_density
from hypothesis import given, settings
from hypothesis import strategies as st

from roadwatch.errors import UsageError
from roadwatch.hotspots.density import equal_split_density, kernel_matrices, kernel_matrix, lost_mass
from roadwatch.hotspots.paths import Graph
from roadwatch.roads.stretches import cut_stretches

GOLDEN = Path(__file__).parents[1] / "golden"


def density(graph, record, place, *, half_width_m=3.0, **options):
    """Density at one place of one record of weight 1, both (edge, offset)."""
    found = equal_split_density(
        graph,
        np.array([record[0]]),
        np.array([record[1]], dtype=float),
        np.array([1.0]),
        np.array([place[0]]),
        np.array([place[1]], dtype=float),
        half_width_m=half_width_m,
        **options,
    )
    return float(found[0])


def star(m, length_m=4.0):
    return Graph(np.zeros(m, dtype=int), np.arange(1, m + 1), np.full(m, length_m))


@pytest.mark.parametrize(
    ("m", "own", "other"),
    [(1, 0.4305555556, None), (3, 0.1805555556, 0.1250000000), (4, 0.1493055556, 0.0937500000)],
)
def test_a_record_before_a_junction_of_m_arms_by_hand(m, own, other):
    # Epanechnikov of half-width 3, record 1 m from the hub, places 0.5 m from it: k(0.5) = 0.243056, k(1.5) = 0.1875;
    # own arm k(0.5) + (2/m - 1) k(1.5), other arm 2/m k(1.5) (Okabe, Satoh & Sugihara 2009)
    assert density(star(m), (0, 1.0), (0, 0.5)) == pytest.approx(own, abs=1e-10)
    if other is not None:
        assert density(star(m), (0, 1.0), (1, 0.5)) == pytest.approx(other, abs=1e-10)


def test_a_discontinuous_split_passes_on_and_throws_nothing_back_by_hand():
    # the same case: own arm k(0.5) = 0.243056, other arm k(1.5) / (m - 1) = 0.09375
    split = {"split": "discontinuous"}
    assert density(star(3), (0, 1.0), (0, 0.5), **split) == pytest.approx(0.2430555556, abs=1e-10)
    assert density(star(3), (0, 1.0), (1, 0.5), **split) == pytest.approx(0.0937500000, abs=1e-10)


def test_a_discontinuous_split_agrees_with_spatstat_on_the_streets_of_chicago(chicago):
    # spatstat.linnet 3.0-6 densityEqualSplit(continuous=FALSE); largest value as its summary gives it
    network, edge, offset = chicago
    asked = pd.read_csv(GOLDEN / "chicago_equal_split_discontinuous_sd60.csv", comment="#")
    to = asked["seg"].to_numpy() - 1
    places = (to, asked["tp"].to_numpy() * network.length_m[to])
    found = equal_split_density(
        network, edge, offset, np.ones(len(edge)), *places, half_width_m=60 * np.sqrt(5.0), split="discontinuous"
    )
    assert asked["density"].max() == pytest.approx(0.0235521549288)
    assert np.abs(found - asked["density"]).max() < 1e-10


def test_a_discontinuous_split_loses_what_passes_a_dead_end(straight_road):
    # by hand: Epanechnikov of half-width h about a record d from the end of its road keeps
    # 1/2 + 3/4 (u - u^3 / 3), u = d / h; with d = 0.1 and h = 0.2 sqrt 5: .664910
    u = 0.1 / (0.2 * np.sqrt(5.0))
    kept = 0.5 + 0.75 * (u - u**3 / 3)
    assert kept == pytest.approx(0.664910, abs=1e-6)
    network = straight_road(1000.0)
    stretches = cut_stretches(network, longest_m=1.0)
    centre_m = stretches.start_m + stretches.length_m / 2
    half_width_m = 100.0 / u
    matrix = kernel_matrix(network, stretches, half_width_m=half_width_m, split="discontinuous")
    lost = lost_mass(matrix, stretches.length_m)
    near, middle = np.argmin(abs(centre_m - 100.0)), np.argmin(abs(centre_m - 500.0))
    assert lost[near] == pytest.approx(1 - kept, abs=0.005)
    assert lost[middle] == pytest.approx(0.0, abs=1e-9)


def test_a_continuous_split_loses_nothing(county):
    network = county(3, 170.0)
    stretches = cut_stretches(network)
    assert lost_mass(kernel_matrix(network, stretches), stretches.length_m) == pytest.approx(0.0, abs=1e-9)


def test_an_unknown_split_is_refused(straight_road):
    network = straight_road(500.0)
    with pytest.raises(UsageError, match="split 'half' is not known; choose one of continuous, discontinuous"):
        kernel_matrix(network, cut_stretches(network), split="half")
    with pytest.raises(UsageError, match="split 'half' is not known"):
        density(star(3), (0, 1.0), (0, 0.5), split="half")


@pytest.mark.parametrize("split", ["continuous", "discontinuous"])
def test_a_vertex_in_the_middle_of_a_road_changes_nothing(chicago, split):
    network, edge, offset = chicago
    cut_at = network.length_m[0] * 0.37
    n = int(max(network.node_from.max(), network.node_to.max())) + 1
    other = Graph(
        np.r_[network.node_from, n],
        np.r_[np.where(np.arange(len(network.node_to)) == 0, n, network.node_to), network.node_to[0]],
        np.r_[np.where(np.arange(len(network.length_m)) == 0, cut_at, network.length_m), network.length_m[0] - cut_at],
    )
    beyond = (edge == 0) & (offset > cut_at)
    moved = np.where(beyond, len(network.length_m), edge), np.where(beyond, offset - cut_at, offset)
    weight = np.ones(len(edge))
    expected = equal_split_density(network, edge, offset, weight, edge, offset, half_width_m=134.0, split=split)
    found = equal_split_density(other, *moved, weight, *moved, half_width_m=134.0, split=split)
    assert found == pytest.approx(expected, abs=1e-9)


def test_density_is_continuous_at_a_junction():
    at_hub = [density(star(3), (0, 1.0), (arm, 0.0)) for arm in range(3)]
    assert at_hub == pytest.approx([2 / 3 * 0.75 * (1 - 1 / 9) / 3] * 3)  # 2/3 k(1) from every side


@pytest.fixture(scope="module")
def chicago():
    """The street network and points of the reference values; lengths in feet."""
    segments = pd.read_csv(GOLDEN / "chicago_segments.csv", comment="#")
    points = pd.read_csv(GOLDEN / "chicago_points.csv", comment="#")
    network = Graph(segments["from"].to_numpy() - 1, segments["to"].to_numpy() - 1, segments["length"].to_numpy())
    edge = points["seg"].to_numpy() - 1
    return network, edge, points["tp"].to_numpy() * network.length_m[edge]


@pytest.mark.parametrize("sd", [30, 60])
def test_density_agrees_with_spatstat_on_the_streets_of_chicago(chicago, sd):
    # spatstat.linnet 3.0-6 densityEqualSplit(continuous=TRUE); its sigma is the standard deviation
    network, edge, offset = chicago
    asked = pd.read_csv(GOLDEN / f"chicago_equal_split_sd{sd}.csv", comment="#")
    to = asked["seg"].to_numpy() - 1
    found = equal_split_density(
        network,
        edge,
        offset,
        np.ones(len(edge)),
        to,
        asked["tp"].to_numpy() * network.length_m[to],
        half_width_m=sd * np.sqrt(5.0),
    )
    assert len(asked) >= 295
    assert asked["density"].max() == pytest.approx({30: 0.0399717356227, 60: 0.023033414137}[sd])
    assert np.abs(found - asked["density"]).max() < 1e-10


@pytest.mark.parametrize("sd", [30, 60])
def test_the_gaussian_is_the_heat_kernel_of_spatstat_within_its_own_error(chicago, sd):
    # spatstat.linnet 3.0-6 densityHeat(at="points"), a finite-difference scheme: within 2.5 % of the peak
    network, edge, offset = chicago
    asked = pd.read_csv(GOLDEN / f"chicago_heat_sd{sd}.csv", comment="#")["density"].to_numpy()
    gauss = {"half_width_m": 4.0 * sd, "kernel": "gaussian"}
    found = equal_split_density(network, edge, offset, np.ones(len(edge)), edge, offset, **gauss)
    assert np.abs(found - asked).max() <= 0.025 * asked.max()


def test_weights_multiply_everywhere_also_on_the_record_s_own_road(chicago):
    # spatstat 3.0-6 leaves the record's own segment unweighted; that must not be copied
    network, edge, offset = chicago
    once, twice = (
        equal_split_density(network, edge, offset, np.full(len(edge), w), edge, offset, half_width_m=134.0)
        for w in (1.0, 2.0)
    )
    assert twice == pytest.approx(2.0 * once, rel=1e-12)


def test_heat_on_a_circle_a_closed_end_and_a_junction():
    # the Gaussian equal-split density solves the heat equation (McSwiggan, Baddeley & Nair 2017), so by hand:
    # circle far larger than the kernel, n(0); closed end 1 sd away, at the record n(0) + n(2); hub of three, 2/3 n(1).
    # The cut at 4 sd changes 6e-5 of the mass.
    normal = lambda d: np.exp(-(d**2) / 2) / np.sqrt(2 * np.pi)  # noqa: E731
    gauss = {"half_width_m": 4.0, "kernel": "gaussian"}
    circle = Graph(np.array([0]), np.array([0]), np.array([10.0]))
    assert density(circle, (0, 3.0), (0, 3.0), **gauss) == pytest.approx(0.398942280401, rel=1e-4)
    road = Graph(np.array([0]), np.array([1]), np.array([10.0]))
    assert density(road, (0, 1.0), (0, 1.0), **gauss) == pytest.approx(normal(0) + normal(2), rel=1e-4)
    assert density(star(3, 9.0), (0, 1.0), (1, 0.0), **gauss) == pytest.approx(0.1613138163, rel=1e-4)


def test_a_circle_smaller_than_the_kernel_is_gone_round_both_ways():
    # circumference 4, half-width 3: at the record k(0) and nothing more (once round is 4); opposite 2 k(2)
    circle = Graph(np.array([0]), np.array([0]), np.array([4.0]))
    assert density(circle, (0, 1.0), (0, 1.0)) == pytest.approx(0.25)
    assert density(circle, (0, 1.0), (0, 3.0)) == pytest.approx(2 * 5 / 36)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6), n_nodes=st.integers(2, 6), n_edges=st.integers(1, 8))
def test_density_equals_the_sum_over_paths_walked_one_by_one(seed, n_nodes, n_edges):
    rng = np.random.default_rng(seed)
    edges = [(int(rng.integers(n_nodes)), int(rng.integers(n_nodes)), rng.uniform(0.8, 3)) for _ in range(n_edges)]
    network = Graph(*(np.array(column) for column in zip(*edges, strict=True)))
    places = [(int(e), rng.uniform(0, edges[e][2])) for e in rng.integers(n_edges, size=4)]
    for place in places:
        by_walking = walk_all_paths(edges, places[0], place, half_width=3.0)
        assert density(network, places[0], place, smallest_share=0.0) == pytest.approx(by_walking, abs=1e-6)


def test_density_equals_the_wave_on_edges_of_whole_cells():
    edges = [(0, 1, 4.0), (1, 2, 3.0), (2, 0, 5.0), (1, 3, 2.0), (2, 2, 3.0)]
    network = Graph(*(np.array(column) for column in zip(*edges, strict=True)))
    cell = 0.5
    cells = [
        (number, (k + 0.5) * cell) for number, (_, _, length) in enumerate(edges) for k in range(int(length / cell))
    ]
    by_wave = wave_density(edges, 3, cell=cell, half_width=6.0)
    by_paths = [density(network, cells[3], place, half_width_m=6.0, smallest_share=0.0) for place in cells]
    assert by_paths == pytest.approx(by_wave, abs=1e-9)


def test_mass_is_kept_at_dead_ends_and_junctions():
    network = Graph(np.array([0, 1, 1, 3]), np.array([1, 2, 3, 3]), np.array([2.0, 0.7, 1.1, 1.9]))
    step = 0.001
    edge = np.repeat(np.arange(4), np.round(network.length_m / step).astype(int))
    offset = np.concatenate([np.arange(step / 2, length, step) for length in network.length_m])
    found = equal_split_density(
        network, np.array([0, 3]), np.array([1.6, 0.2]), np.array([0.5, 2.0]), edge, offset, half_width_m=1.5
    )
    assert found.sum() * step == pytest.approx(2.5, abs=1e-4)
    assert found.min() >= -1e-12


def test_density_does_not_depend_on_how_edges_are_drawn_or_records_ordered(chicago):
    network, edge, offset = chicago
    rng = np.random.default_rng(3)
    weight = rng.uniform(0.3, 1.0, len(edge))
    expected = equal_split_density(network, edge, offset, weight, edge, offset, half_width_m=134.0)
    turned = rng.random(len(network.length_m)) < 0.5
    other = Graph(
        np.where(turned, network.node_to, network.node_from),
        np.where(turned, network.node_from, network.node_to),
        network.length_m,
    )
    along = np.where(turned[edge], network.length_m[edge] - offset, offset)
    order = rng.permutation(len(edge))
    found = equal_split_density(other, edge[order], along[order], weight[order], edge, along, half_width_m=134.0)
    assert found == pytest.approx(expected, abs=1e-12)


def test_a_far_road_changes_nothing(chicago):
    network, edge, offset = chicago
    far = Graph(np.r_[network.node_from, 900], np.r_[network.node_to, 901], np.r_[network.length_m, 5000.0])
    weight = np.ones(len(edge))
    found, expected = (equal_split_density(n, edge, offset, weight, edge, offset) for n in (far, network))
    assert found == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("kernel", ["epanechnikov", "quartic", "gaussian"])
@pytest.mark.parametrize("half_width_m", [30.0, 150.0, 300.0])
def test_columns_of_the_matrix_hold_mass_one_exactly(county, kernel, half_width_m):
    network = county(4, 130.0)
    stretches = cut_stretches(network)
    matrix = kernel_matrix(network, stretches, half_width_m=half_width_m, kernel=kernel)
    assert matrix.T @ stretches.length_m == pytest.approx(np.ones(len(stretches.edge)), abs=1e-12)
    assert matrix.min() >= 0.0


def test_the_matrix_is_the_density_between_stretch_centres_up_to_the_mass(county):
    network = county(3, 170.0)
    stretches = cut_stretches(network)
    centre_m = stretches.start_m + stretches.length_m / 2
    matrix = kernel_matrix(network, stretches, half_width_m=200.0)
    for j in (0, 7, len(centre_m) - 1):
        one = (stretches.edge[[j]], centre_m[[j]], np.ones(1))
        column = equal_split_density(network, *one, stretches.edge, centre_m, half_width_m=200.0)
        assert matrix[:, [j]].toarray().ravel() == pytest.approx(column / (column @ stretches.length_m), abs=1e-12)


def test_a_stretch_longer_than_the_kernel_keeps_its_record(straight_road):
    network = straight_road(90.0)
    stretches = cut_stretches(network)
    matrix = kernel_matrix(network, stretches, half_width_m=10.0)
    assert matrix.toarray() == pytest.approx(np.diag(1.0 / stretches.length_m))


def test_several_widths_at_once_are_the_same_as_one_at_a_time(county):
    network = county(3, 170.0)
    stretches = cut_stretches(network)
    together = kernel_matrices(network, stretches, half_widths_m=[300.0, 80.0, 500.0])
    for width, matrix in zip([300.0, 80.0, 500.0], together, strict=True):
        alone = kernel_matrix(network, stretches, half_width_m=width)
        assert abs(matrix - alone).max() < 1e-12


def test_nothing_asked_or_given_is_no_fault():
    none = np.empty(0)
    assert equal_split_density(star(3), none.astype(int), none, none, np.array([0]), np.array([1.0])).tolist() == [0.0]
    assert len(equal_split_density(star(3), np.array([0]), np.ones(1), np.ones(1), none.astype(int), none)) == 0


def test_an_unknown_kernel_is_refused_before_the_work(county):
    network = county(2)
    with pytest.raises(UsageError, match="kernel 'triangle' is not known"):
        kernel_matrix(network, cut_stretches(network), kernel="triangle")
