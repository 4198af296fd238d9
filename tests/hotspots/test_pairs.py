"""Finding places on edges, and every path between two sets of them."""

import numpy as np
import pytest

from roadwatch.hotspots.pairs import Places, paths_between


@pytest.fixture
def places():
    def make(graph, *where):
        edge, offset = zip(*where, strict=True)
        return Places(graph, np.array(edge), np.array(offset, dtype=float))

    return make


def test_places_between_two_metres_of_an_edge_are_found_whatever_their_order(graph, places):
    road = graph((0, 1, 100.0), (1, 2, 100.0))
    found = places(road, (1, 50.0), (0, 90.0), (0, 10.0), (0, 40.0), (1, 0.0))
    first, count = found.between(
        np.array([0, 0, 1, 1]), np.array([10.0, 11.0, 0.0, 60.0]), np.array([40.0, 99, 50, 99])
    )
    assert count.tolist() == [2, 2, 2, 0]
    assert found.offset_m[first[0] : first[0] + 2].tolist() == [10.0, 40.0]


def test_places_beyond_their_edge_are_put_on_its_end(graph, places):
    assert places(graph((0, 1, 100.0)), (0, 100.4), (0, -0.2)).offset_m.tolist() == [0.0, 100.0]


def test_a_range_that_lies_before_or_beyond_the_edge_is_cut_to_it(graph, places):
    found = places(graph((0, 1, 100.0), (1, 2, 100.0)), (0, 99.0), (1, 1.0))
    _, count = found.between(np.array([0, 1]), np.array([-500.0, -500.0]), np.array([500.0, 500.0]))
    assert count.tolist() == [1, 1]


def test_every_path_between_two_places_is_listed_once(graph, places):
    # a record 2 m before a junction of three; a place 1 m beyond it: one path of 3 m, and none back within reach
    star = graph((0, 1, 9.0), (0, 2, 9.0), (0, 3, 9.0))
    (found,) = paths_between(places(star, (0, 2.0)), places(star, (1, 1.0)), reach_m=5.0)
    assert found.distance_m.tolist() == [3.0]
    assert found.share == pytest.approx([2 / 3])


def test_a_place_on_the_record_s_own_road_is_reached_straight_and_by_reflection(graph, places):
    star = graph((0, 1, 9.0), (0, 2, 9.0), (0, 3, 9.0))
    (found,) = paths_between(places(star, (0, 2.0)), places(star, (0, 1.0)), reach_m=5.0)
    assert dict(zip(found.distance_m.tolist(), found.share.tolist(), strict=True)) == pytest.approx(
        {1.0: 1, 3.0: -1 / 3}
    )


def test_blocks_hold_all_sources_once(graph, places):
    n_edges = 600  # more than one block
    road = graph(*[(k, k + 1, 10.0) for k in range(n_edges)])
    everywhere = places(road, *[(k, 5.0) for k in range(n_edges)])
    blocks = list(paths_between(everywhere, everywhere, reach_m=12.0))
    assert len(blocks) > 1
    owners = [set(block.source.tolist()) for block in blocks]
    assert set().union(*owners) == set(range(n_edges))
    assert sum(len(owner) for owner in owners) == n_edges
