"""Placing records on roads, against a plain search through every road with shapely."""

import numpy as np
import pytest
import shapely

from roadwatch.roads.network import build_network
from roadwatch.roads.reference import points_on_edges
from roadwatch.roads.snap import snap


def at(*places):
    return np.array([x for x, _ in places], dtype=float), np.array([y for _, y in places], dtype=float)


@pytest.fixture
def two_roads(network):
    """Two roads side by side, 40 m apart."""
    return network([[(-500, 0), (500, 0)], [(-500, 40), (500, 40)]], road=["Main", "Frontage"])


def in_road(network, snapped):
    return [network.edges["road"][edge] if edge >= 0 else None for edge in snapped.edge]


def test_a_record_is_placed_at_the_foot_of_its_perpendicular(two_roads):
    snapped = snap(two_roads, *at((-200, -12), (700, 0)), position_error_m=5.0)
    assert in_road(two_roads, snapped) == ["Main", None]
    assert snapped.offset_m == pytest.approx([300.0, np.nan], nan_ok=True, abs=1e-3)
    assert snapped.distance_m == pytest.approx([12.0, 200.0], abs=1e-3)


@pytest.mark.parametrize(
    ("error_m", "tolerance_m"), [(5.0, 50.0), (16.0, 50.0), (20.0, 60.0), (np.nan, 90.0), (100.0, 300.0)]
)
def test_tolerance_is_the_larger_of_50_m_and_three_errors_and_a_blank_error_is_30_m(two_roads, error_m, tolerance_m):
    reach = snap(two_roads, *at((0, -tolerance_m + 1), (0, -tolerance_m - 1)), position_error_m=error_m)
    assert reach.tolerance_m.tolist() == [tolerance_m] * 2
    assert in_road(two_roads, reach) == ["Main", None]


def test_each_record_has_its_own_tolerance(two_roads):
    snapped = snap(two_roads, *at((0, -80), (0, -80)), position_error_m=np.array([5.0, 30.0]))
    assert in_road(two_roads, snapped) == [None, "Main"]


def test_a_record_that_is_not_placed_says_why(two_roads):
    snapped = snap(two_roads, *at((0, -812), (np.nan, np.nan), (0, 0)), position_error_m=np.nan)
    assert snapped.reason.tolist() == ["nearest road is 812 m away; tolerance 90 m", "no position is given", ""]
    assert snapped.edge.tolist() == [-1, -1, 0]


@pytest.mark.parametrize(
    ("y", "error_m", "other"),
    [
        (18, 5.0, "Frontage"),
        (17, 5.0, None),
        (10, 30.0, "Frontage"),
        (-5, 30.0, None),
        (22, 5.0, "Main"),
        (20, 0.0, "Frontage"),
    ],
)
def test_a_second_road_within_the_position_error_makes_the_place_ambiguous(two_roads, y, error_m, other):
    """At height y the roads lie |y| and |40 - y| m away: ambiguous where these differ by no more than the error."""
    snapped = snap(two_roads, *at((0, y)), position_error_m=error_m)
    assert snapped.is_ambiguous.tolist() == [other is not None]
    if other:
        assert two_roads.edges["road"][snapped.other_edge[0]] == other
        assert snapped.other_distance_m[0] == pytest.approx(max(abs(y), abs(40 - y)), abs=1e-3)
        assert snapped.other_offset_m[0] == pytest.approx(500.0, abs=1e-3)
    else:
        assert (snapped.other_edge[0], np.isnan(snapped.other_distance_m[0])) == (-1, True)


def test_another_piece_of_the_same_road_is_not_another_road(network):
    built = network([[(-100, 0), (0, 0)], [(0, 0), (100, 0)]], road=["Main"] * 2)
    assert not snap(built, *at((1, 3)), position_error_m=30.0).is_ambiguous.any()


def test_where_edges_are_equally_near_the_first_is_taken(network):
    built = network([[(-100, 0), (0, 0)], [(0, 0), (0, 100)]], road=["Main"] * 2)
    snapped = snap(built, *at((5, -5)), position_error_m=5.0)
    assert snapped.edge.tolist() == [0]
    assert snapped.offset_m.tolist() == pytest.approx([100.0], abs=1e-3)


def test_no_records_give_empty_arrays(two_roads):
    snapped = snap(two_roads, np.array([]), np.array([]), position_error_m=np.array([]))
    assert {len(column) for column in vars(snapped).values()} == {0}


@pytest.mark.parametrize("seed", range(4))
def test_snapping_agrees_with_a_search_through_every_road(town, seed):
    rng = np.random.default_rng(seed)
    built = build_network(town(rng))
    x_m, y_m = rng.uniform(-700, 700, (2, 400))
    error_m = rng.uniform(1, 60, 400)
    snapped = snap(built, x_m, y_m, position_error_m=error_m)
    shapes, road = built.edges.geometry.to_numpy(), built.edges["road"].to_numpy()
    points = shapely.points(x_m, y_m)
    apart_m = shapely.distance(points[:, None], shapes[None, :])
    is_placed = apart_m.min(axis=1) <= np.maximum(50, 3 * error_m)
    assert ((snapped.edge >= 0) == is_placed).all()
    assert 0 < is_placed.sum() < 400
    assert snapped.distance_m == pytest.approx(apart_m.min(axis=1), abs=1e-9)
    on = np.flatnonzero(is_placed)
    feet = points_on_edges(built, snapped.edge[on], snapped.offset_m[on])
    assert shapely.distance(feet, points[on]) == pytest.approx(apart_m.min(axis=1)[on], abs=1e-9)
    for i in on:
        others = apart_m[i][road != road[snapped.edge[i]]].min()
        assert snapped.is_ambiguous[i] == (others <= apart_m[i].min() + error_m[i])
        if snapped.is_ambiguous[i]:
            assert snapped.other_distance_m[i] == pytest.approx(others, abs=1e-9)


def test_the_share_put_on_the_wrong_of_two_parallel_roads_is_that_of_the_normal_law(two_roads):
    """Roads 40 m apart, error sd 20 m across: P(wrong) = Phi(-20 / 20) = 0.158655 (any table of the normal law)."""
    n, p = 20_000, 0.158655
    y_m = np.random.default_rng(9).normal(0.0, 20.0, n)
    snapped = snap(two_roads, np.zeros(n), y_m, position_error_m=60.0)
    wrong = np.mean(np.array(in_road(two_roads, snapped)) == "Frontage")
    assert abs(wrong - p) < 4 * np.sqrt(p * (1 - p) / n)
