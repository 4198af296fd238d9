"""Metres along roads there and back, and mileposts, against hand-worked places."""

import numpy as np
import pytest
import shapely

from roadwatch.errors import UsageError
from roadwatch.roads.network import build_network
from roadwatch.roads.reference import find_on_road, milepost, place_on_road, points_on_edges, road_measure

NOT_PLACED = np.array([-1]), np.array([np.nan])


def random_places(network, rng, n=300):
    edge = rng.integers(0, len(network.edges), n)
    return edge, rng.uniform(0, 1, n) * network.edges["length_m"].to_numpy()[edge]


def test_a_place_is_measured_from_the_western_end_whichever_way_the_line_is_drawn(network):
    built = network([[(100, 0), (0, 0)], [(100, 0), (300, 0)]], road=["Mill Road"] * 2)
    road, part, metre = road_measure(built, np.array([0, 1]), np.array([30.0, 30.0]))
    assert road.tolist() == ["Mill Road"] * 2
    assert part.tolist() == [0, 0]
    assert metre.tolist() == [70.0, 130.0]


@pytest.mark.parametrize("seed", range(4))
def test_from_place_to_measure_and_back_is_the_same_point_to_a_micrometre(town, seed):
    rng = np.random.default_rng(seed)
    built = build_network(town(rng))
    edge, offset_m = random_places(built, rng)
    points = points_on_edges(built, edge, offset_m)
    for road, part, metre, point in zip(*road_measure(built, edge, offset_m), points, strict=True):
        (back,) = place_on_road(built, road, metre, road_part=part)
        assert back.distance(point) < 1e-6


def test_from_measure_to_place_and_back_is_the_same_metre(network, awkward):
    built = network(awkward)
    for (road, part), own in built.edges.groupby(["road", "road_part"]):
        metres = np.linspace(0.0, own["road_to_m"].max(), 23)
        names, parts, back = road_measure(built, *find_on_road(built, road, metres, road_part=part))
        assert back == pytest.approx(metres, abs=1e-6)
        assert set(names) == {road}
        assert set(parts) == {part}


def test_a_metre_at_which_two_edges_meet_lies_on_the_later_one(network):
    edge, offset_m = find_on_road(network([[(0, 0), (64, 0)], [(64, 0), (99, 0)]], road=["A", "A"]), "A", 64.0)
    assert (edge.tolist(), offset_m.tolist()) == ([1], [0.0])


def test_metres_run_along_the_line_at_walking_pace(network):
    built = network([[(0, 0), (60, 80)], [(60, 80), (60, 200)]], road=["Mill Road"] * 2)
    found = shapely.get_coordinates(place_on_road(built, "Mill Road", np.array([0.0, 50.0, 100.0, 110.0, 220.0])))
    moved = found - found[0]
    assert moved == pytest.approx(np.array([[0, 0], [30, 40], [60, 80], [60, 90], [60, 200]]), abs=1e-6)


def test_a_place_that_is_on_no_road_has_no_measure(network):
    built = network([[(0, 0), (100, 0)]], road=["Mill Road"])
    road, part, metre = road_measure(built, *NOT_PLACED)
    assert road.tolist() == [None]
    assert part.tolist() == [-1]
    assert np.isnan(metre).all()


def test_a_road_that_is_not_there_is_told(network):
    built = network([[(0, 0), (100, 0)]], road=["Mill Road"])
    with pytest.raises(UsageError, match="road 'Mil Road', part 0: no such road in the layer"):
        place_on_road(built, "Mil Road", 5.0)
    with pytest.raises(UsageError, match="road 'Mill Road', part 1: no such road in the layer"):
        place_on_road(built, "Mill Road", 5.0, road_part=1)


@pytest.mark.parametrize("metre", [-0.1, 100.1, np.nan])
def test_a_metre_beyond_the_road_is_told(network, metre):
    built = network([[(0, 0), (100, 0)]], road=["Mill Road"])
    with pytest.raises(UsageError, match=rf"metre {metre:g} is not on it; expected 0 to 100\.0"):
        place_on_road(built, "Mill Road", np.array([50.0, metre]))


def test_mileposts_are_interpolated_between_the_ends_of_the_piece(network):
    """By hand: mile 10 to 12 over 400 m; drawn from east to west, so that 100 m from the start is mile 10.5."""
    built = network(
        [[(400, 0), (0, 0)]], road=["Mill Road"], from_measure=[10.0], to_measure=[12.0], measure_unit=["mile"]
    )
    posts = milepost(built, np.array([0, 0, 0]), np.array([0.0, 100.0, 400.0]))
    assert posts.value == pytest.approx([10.0, 10.5, 12.0])
    assert posts.unit.tolist() == ["mile"] * 3
    assert posts.reason.tolist() == [""] * 3


def test_measures_may_fall_along_the_line(network):
    built = network([[(0, 0), (400, 0)]], from_measure=[12.0], to_measure=[10.0], measure_unit=["km"])
    assert milepost(built, np.array([0]), np.array([100.0])).value == pytest.approx([11.5])


def test_a_milepost_is_the_same_before_and_after_the_line_is_cut(network):
    columns = {"from_measure": [2.0, np.nan], "to_measure": [3.0, np.nan], "measure_unit": ["mile", None]}
    built = network([[(0, 0), (25, 0), (100, 0)], [(25, 0), (25, 80)]], **columns)
    posts = milepost(built, np.array([0, 1, 1]), np.array([10.0, 0.0, 35.0]))
    assert posts.value == pytest.approx([2.10, 2.25, 2.60])


def test_a_missing_milepost_says_why(network):
    built = network([[(0, 0), (100, 0)], [(0, 9), (100, 9)]], from_measure=[np.nan, 1.0], to_measure=[np.nan, 2.0])
    posts = milepost(built, np.array([0, 1, -1]), np.array([50.0, 50.0, np.nan]))
    assert posts.value == pytest.approx([np.nan, 1.5, np.nan], nan_ok=True)
    assert posts.unit.tolist() == ["", "", ""]
    assert posts.reason.tolist() == [
        "the road layer gives no measures here",
        "the road layer does not state the unit of its measures",
        "the place is not on a road",
    ]
