"""The K function by hand on a circle, against a reference library on real streets, and the test as a statistic."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.k_function import clustering_test, cross_k_function, k_function
from roadwatch.hotspots.paths import Graph

GOLDEN = Path(__file__).parents[1] / "golden"


def circle(length_m=120.0):
    return Graph(np.array([0]), np.array([0]), np.array([length_m]))


@pytest.fixture(scope="module")
def chicago():
    """The street network and points of the reference values, lengths in feet."""
    segments = pd.read_csv(GOLDEN / "chicago_segments.csv", comment="#")
    points = pd.read_csv(GOLDEN / "chicago_points.csv", comment="#")
    network = Graph(segments["from"].to_numpy() - 1, segments["to"].to_numpy() - 1, segments["length"].to_numpy())
    edge = points["seg"].to_numpy() - 1
    return network, edge, points["tp"].to_numpy() * network.length_m[edge], points["mark"].to_numpy()


@pytest.mark.parametrize("n_edges", [1, 3, 12])
def test_twelve_places_on_a_circle_by_hand(n_edges):
    # circumference 120, one place every 10: within 25 each has 4 others, so plain K = 120 x 48 / (12 x 11) = 43.6364;
    # two places lie at each distance, so corrected K is half of it (formulas of Okabe & Yamada 2001, Ang et al. 2012)
    node = np.arange(n_edges)
    network = Graph(node, (node + 1) % n_edges, np.full(n_edges, 120.0 / n_edges))
    at = np.arange(12) * 10.0 + 3.0
    edge = (at // network.length_m[0]).astype(int)
    places = edge, at - edge * network.length_m[0]
    radius = np.array([25.0])
    assert k_function(network, *places, radius_m=radius, corrected=False) == pytest.approx([43.6364], abs=5e-5)
    assert k_function(network, *places, radius_m=radius) == pytest.approx([21.8182], abs=5e-5)


def test_the_far_side_of_a_circle_is_one_place_not_two():
    # two places 60 apart on a circle of 120: the only place at that distance is the other one
    k = k_function(circle(), np.zeros(2, int), np.array([30.0, 90.0]), radius_m=np.array([59.0, 60.0]))
    assert k == pytest.approx([0.0, 120.0])


def test_places_on_one_point_count():
    # two of three places coincide: at radius 0 two ordered pairs; 120 x 2 / (3 x 2) = 40
    places = np.zeros(3, int), np.array([5.0, 5.0, 65.0])
    for corrected in (True, False):
        k = k_function(circle(), *places, radius_m=np.array([0.0, 1.0]), corrected=corrected)
        assert k == pytest.approx([40.0, 40.0])


def test_a_junction_has_as_many_places_at_a_distance_as_arms_by_hand():
    # four arms of 10; a place 2 from the hub and one 3 out on another arm, 5 apart: 5 from the first lie one place out
    # on its own arm (at 7) and one on each of the three others; 5 from the second one on its arm (at 8) and three more
    star = Graph(np.zeros(4, int), np.arange(1, 5), np.full(4, 10.0))
    k = k_function(star, np.array([0, 1]), np.array([2.0, 3.0]), radius_m=np.array([5.0]))
    assert k == pytest.approx([40.0 / 2 * (1 / 4 + 1 / 4)])


def test_k_agrees_with_spatstat_on_the_streets_of_chicago(chicago):
    # spatstat.linnet 3.0-6 linearK; its count of ends rounds differently, so the corrected curve agrees to 0.5 %
    network, edge, offset, _ = chicago
    asked = pd.read_csv(GOLDEN / "chicago_k.csv", comment="#")
    radius = asked["r"].to_numpy()
    plain = k_function(network, edge, offset, radius_m=radius, corrected=False)
    assert plain == pytest.approx(asked["k_plain"].to_numpy(), rel=1e-9)
    found = k_function(network, edge, offset, radius_m=radius)
    assert np.abs(found - asked["k_corrected"]).max() <= 0.005 * asked["k_corrected"].max()


def test_cross_k_agrees_with_spatstat_on_the_streets_of_chicago(chicago):
    # spatstat.linnet 3.0-6 linearKcross(chicago, "theft", "assault")
    network, edge, offset, kind = chicago
    asked = pd.read_csv(GOLDEN / "chicago_k_theft_assault.csv", comment="#")
    theft, assault = kind == "theft", kind == "assault"
    sides = {
        "edge": edge[theft],
        "offset_m": offset[theft],
        "to_edge": edge[assault],
        "to_offset_m": offset[assault],
        "radius_m": asked["r"].to_numpy(),
    }
    plain = cross_k_function(network, corrected=False, **sides)
    assert plain == pytest.approx(asked["k_plain"].to_numpy(), rel=1e-9)
    found = cross_k_function(network, **sides)
    assert np.abs(found - asked["k_corrected"]).max() <= 0.005 * asked["k_corrected"].max()


def test_even_scattering_gives_a_corrected_k_of_the_radius_on_any_network(chicago):
    # Ang, Baddeley & Nair 2012: K(r) = r; the mean of 40 maps of 60 places lies within four of its standard errors
    network = chicago[0]
    rng = np.random.default_rng(11)
    radius = np.array([50.0, 200.0, 400.0])
    curves = []
    for _ in range(40):
        edge = rng.choice(len(network.length_m), 60, p=network.length_m / network.length_m.sum())
        curves.append(k_function(network, edge, rng.random(60) * network.length_m[edge], radius_m=radius))
    error = np.std(curves, axis=0, ddof=1) / np.sqrt(40)
    assert (np.abs(np.mean(curves, axis=0) - radius) < 4 * error).all()


def test_k_does_not_depend_on_how_edges_are_drawn_or_places_ordered(chicago):
    network, edge, offset, _ = chicago
    rng = np.random.default_rng(3)
    turned = rng.random(len(network.length_m)) < 0.5
    other = Graph(
        np.where(turned, network.node_to, network.node_from),
        np.where(turned, network.node_from, network.node_to),
        network.length_m,
    )
    along = np.where(turned[edge], network.length_m[edge] - offset, offset)
    order = rng.permutation(len(edge))
    radius = np.array([30.0, 100.0, 300.0])
    expected = k_function(network, edge, offset, radius_m=radius)
    assert k_function(other, edge[order], along[order], radius_m=radius) == pytest.approx(expected, rel=1e-9)


def test_clustered_records_are_called_clustered_and_p_counts_the_map_itself():
    rng = np.random.default_rng(5)
    at = np.r_[rng.normal(60.0, 1.0, 12) % 120, rng.uniform(0, 120, 4)]
    found = clustering_test(circle(), np.zeros(16, int), at, radius_m=np.array([2.0, 5.0]), rng=rng, n_draws=99)
    assert found.p_value == pytest.approx(0.01)
    assert (found.k_m > found.k_expected_m).all()
    assert any("never where" in note for note in found.notes)
    assert any("Where people looked is unknown" in note for note in found.notes)


def test_even_records_alarm_no_more_often_than_they_may():
    rng = np.random.default_rng(6)
    star = Graph(np.zeros(4, int), np.arange(1, 5), np.array([300.0, 500.0, 200.0, 400.0]))
    alarms = 0
    for _ in range(200):
        edge = rng.choice(4, 15, p=star.length_m / star.length_m.sum())
        at = rng.random(15) * star.length_m[edge]
        found = clustering_test(star, edge, at, radius_m=np.array([20.0, 60.0, 120.0]), rng=rng, n_draws=19)
        alarms += found.p_value <= 0.05
    assert stats.binom.ppf(0.001, 200, 0.03) <= alarms <= stats.binom.ppf(0.999, 200, 0.05)


def test_uneven_search_looks_like_clustering_unless_it_is_told():
    rng = np.random.default_rng(7)
    star = Graph(np.zeros(4, int), np.arange(1, 5), np.full(4, 1000.0))
    chance = np.array([12.0, 1.0, 1.0, 1.0])
    edge = rng.choice(4, 60, p=chance / chance.sum())
    places = edge, rng.random(60) * 1000.0
    radius = {"radius_m": np.array([100.0, 300.0]), "n_draws": 199}
    blind = clustering_test(star, *places, rng=np.random.default_rng(8), **radius)
    told = clustering_test(star, *places, rng=np.random.default_rng(8), edge_chance=chance, **radius)
    assert blind.p_value <= 0.01
    assert told.p_value > 0.05
    assert len(told.notes) == 1


def test_too_little_data_is_said():
    one = np.zeros(1, int), np.ones(1)
    with pytest.raises(NotEnoughDataError, match="1 places: a K function needs at least two"):
        k_function(circle(), *one, radius_m=np.array([1.0]))
    none = np.empty(0, int), np.empty(0)
    with pytest.raises(NotEnoughDataError, match="needs one of each kind"):
        cross_k_function(circle(), *one, to_edge=none[0], to_offset_m=none[1], radius_m=np.array([1.0]))
    with pytest.raises(NotEnoughDataError, match="needs at least 5"):
        clustering_test(circle(), *one, radius_m=np.array([1.0]), rng=np.random.default_rng(1))
    with pytest.raises(NotEnoughDataError, match="no road has a chance"):
        clustering_test(
            circle(),
            np.zeros(5, int),
            np.arange(5.0),
            radius_m=np.array([1.0]),
            rng=np.random.default_rng(1),
            edge_chance=np.array([np.nan]),
        )
