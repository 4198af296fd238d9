"""Joining the pieces of one name end to end: small cases drawn by hand."""

import numpy as np
import pytest

from roadwatch.roads.network import build_network


def along(built, road):
    """Pieces of a road in the order in which they are measured: part, from, to."""
    edges = built.edges[built.edges["road"] == road].sort_values(["road_part", "road_from_m"])
    return list(zip(edges["road_part"], edges["road_from_m"].round(6), edges["road_to_m"].round(6), strict=True))


def test_pieces_of_one_name_join_end_to_end_whatever_their_order_and_direction(network):
    lines = [[(300, 0), (200, 0)], [(0, 0), (100, 0)], [(100, 0), (200, 0)]]
    assert along(network(lines, road=["Mill Road"] * 3), "Mill Road") == [(0, 0, 100), (0, 100, 200), (0, 200, 300)]


def test_a_road_is_measured_from_its_westernmost_end(network):
    built = network([[(100, 0), (0, 50)], [(100, 0), (300, 0)]], road=["Mill Road"] * 2)
    assert built.edges["road_reversed"].tolist() == [True, False]
    assert built.edges["road_from_m"].tolist() == pytest.approx([0.0, np.hypot(100, 50)])


def test_a_road_due_north_is_measured_from_its_southern_end(network):
    assert network([[(0, 100), (0, 0)]], road=["Mill Road"]).edges["road_reversed"].tolist() == [True]


def test_parts_that_do_not_touch_are_numbered_from_west_to_east(network):
    built = network([[(500, 0), (600, 0)], [(0, 0), (100, 0)], [(250, 0), (300, 0)]], road=["Mill Road"] * 3)
    assert built.edges["road_part"].tolist() == [2, 0, 1]


def test_at_a_branch_the_road_goes_on_into_the_straightest_piece(network):
    lines = [[(-100, 0), (0, 0)], [(0, 0), (100, 10)], [(0, 0), (70, 70)]]
    built = network(lines, road=["Mill Road"] * 3)
    assert built.edges["road_part"].tolist() == [0, 0, 1]
    assert built.edges["road_from_m"].tolist() == [0, 100, 0]


def test_at_a_crossing_of_one_name_with_itself_both_ways_go_straight_on(network):
    arms = [[(-100, 0), (0, 0)], [(0, 0), (0, 100)], [(0, 0), (100, 0)], [(0, -100), (0, 0)]]
    assert network(arms, road=["Mill Road"] * 4).edges["road_part"].tolist() == [0, 1, 0, 1]


def test_a_road_turns_a_sharp_corner_where_it_does_not_branch(network):
    built = network([[(0, 0), (100, 0)], [(100, 0), (10, 20)], [(100, 0), (200, 0)]], road=["Mill", "Mill", "Other"])
    assert along(built, "Mill") == [(0, 0, 100), (0, 100, round(100 + np.hypot(90, 20), 6))]


def test_a_loop_is_measured_clockwise_from_its_westernmost_junction(network):
    corners = [(0, 0), (100, 100), (200, 0), (100, -100)]
    sides = [[corners[i], corners[(i + 1) % 4]] for i in (2, 0, 3, 1)]
    built = network(sides, road=["Ring"] * 4)
    side = np.hypot(100, 100)
    assert built.edges["road_part"].tolist() == [0, 0, 0, 0]
    assert built.edges["road_from_m"].tolist() == pytest.approx([2 * side, 0, 3 * side, side])
    back = network([side[::-1] for side in sides], road=["Ring"] * 4)
    assert back.edges["road_from_m"].tolist() == pytest.approx(built.edges["road_from_m"].tolist())


def test_roads_without_a_name_are_numbered_from_west_to_east(network):
    built = network([[(500, 0), (600, 0)], [(0, 0), (100, 0)], [(0, 50), (0, 90)]], road=[None, "  ", "Mill Road"])
    assert built.edges["road"].tolist() == ["unnamed road 2", "unnamed road 1", "Mill Road"]
    assert built.edges["road_part"].tolist() == [0, 0, 0]


def test_a_nameless_road_goes_straight_on_over_a_named_one_but_does_not_turn_into_another(network):
    lines = [
        [(-100, 0), (0, 0), (100, 0)],
        [(0, -100), (0, 0), (0, 100)],
        [(60, -50), (60, 0), (100, 0)],
        [(60, 0), (70, 90)],
    ]
    built = network(lines[:2], road=["Main", None])
    assert set(built.edges["road"]) == {"Main", "unnamed road 1"}
    built = network([[(-100, 0), (0, 0)], [(0, 0), (100, 0)], [(0, 0), (0, 90)]], road=["Main", None, None])
    assert built.edges["road"].nunique() == 3


def test_a_number_that_the_layer_itself_uses_is_passed_over(network):
    built = network([[(0, 0), (100, 0)], [(0, 50), (100, 50)]], road=["unnamed road 1", None])
    assert built.edges["road"].tolist() == ["unnamed road 1", "unnamed road 2"]


def test_gaps_in_a_name_do_not_make_another_road(network):
    built = network([[(0, 0), (100, 0)], [(100, 0), (200, 0)]], road=["Mill  Road ", "Mill Road"])
    assert built.edges["road"].unique().tolist() == ["Mill Road"]


@pytest.mark.parametrize("seed", range(5))
def test_pieces_of_a_part_follow_each_other_without_gap_or_overlap(town, seed):
    edges = build_network(town(np.random.default_rng(seed), size=6)).edges
    for _, part in edges.sort_values("road_from_m").groupby(["road", "road_part"]):
        assert part["road_from_m"].to_numpy() == pytest.approx(np.r_[0.0, part["road_to_m"].to_numpy()[:-1]], abs=1e-9)
        assert (part["road_to_m"] - part["road_from_m"]).to_numpy() == pytest.approx(part["length_m"].to_numpy())
        start = np.where(part["road_reversed"], part["node_to"], part["node_from"])
        stop = np.where(part["road_reversed"], part["node_from"], part["node_to"])
        assert (start[1:] == stop[:-1]).all()
