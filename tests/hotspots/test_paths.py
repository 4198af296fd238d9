"""What becomes of a record's density at junctions, dead ends, loops and slivers."""

import numpy as np
import pytest

from roadwatch.hotspots.paths import Echoes, _merge_within, echoes, ranks


def arriving(graph, root, reach_m, **options):
    """{(arc, distance): share} of a unit that arrives at the end of one arc."""
    found = echoes(graph, np.array([root]), np.array([reach_m]), **options)
    return {
        (int(arc), round(float(d), 6)): float(share)
        for arc, d, share in zip(found.arc, found.distance_m, found.share, strict=True)
    }


def test_at_a_junction_each_other_arm_takes_2_over_m_and_the_rest_goes_back(graph):
    # Okabe, Satoh & Sugihara 2009: m = 3 gives 2/3, 2/3 and -1/3; together 1
    star = graph((0, 1, 9.0), (0, 2, 9.0), (0, 3, 9.0))
    assert arriving(star, 1, 5.0) == pytest.approx({(0, 0.0): -1 / 3, (2, 0.0): 2 / 3, (4, 0.0): 2 / 3})


@pytest.mark.parametrize("m", [3, 4, 5, 8])
def test_what_leaves_a_junction_is_what_came(graph, m):
    star = graph(*[(0, arm + 1, 9.0) for arm in range(m)])
    assert sum(arriving(star, 1, 5.0).values()) == pytest.approx(1.0)


def test_a_dead_end_throws_everything_back(graph):
    road = graph((0, 1, 9.0))
    assert arriving(road, 0, 5.0) == {(1, 0.0): 1.0}


def test_a_bend_between_two_pieces_throws_nothing_back(graph):
    road = graph((0, 1, 9.0), (1, 2, 9.0))
    assert arriving(road, 0, 5.0) == {(2, 0.0): 1.0}


def test_a_closed_loop_is_gone_round_again_and_again(graph):
    ring = graph((0, 0, 10.0))
    assert arriving(ring, 0, 25.0) == {(0, 0.0): 1.0, (0, 10.0): 1.0, (0, 20.0): 1.0}


def test_a_loop_at_the_end_of_a_road_counts_two_ends(graph):
    balloon = graph((0, 1, 9.0), (1, 1, 4.0))  # three ends meet at node 1
    assert arriving(balloon, 0, 1.0) == pytest.approx({(1, 0.0): -1 / 3, (2, 0.0): 2 / 3, (3, 0.0): 2 / 3})


def test_paths_end_at_the_reach(graph):
    road = graph((0, 1, 9.0), (1, 2, 3.0), (2, 3, 9.0))
    assert set(arriving(road, 0, 3.0)) == {(2, 0.0)}
    assert set(arriving(road, 0, 3.1)) == {(2, 0.0), (4, 3.0)}


def test_each_root_keeps_its_own_reach(graph):
    road = graph((0, 1, 9.0), (1, 2, 3.0), (2, 3, 9.0))
    found = echoes(road, np.array([0, 5]), np.array([1.0, 4.0]))
    assert sorted(zip(found.root.tolist(), found.arc.tolist(), strict=True)) == [(0, 2), (5, 1), (5, 3)]


def test_paths_that_carry_too_little_are_dropped(graph):
    star = graph((0, 1, 1.0), (0, 2, 1.3), (0, 3, 1.7))
    everything = arriving(star, 1, 9.0, smallest_share=0.0)
    strong = arriving(star, 1, 9.0, smallest_share=0.2)
    assert len(strong) < len(everything)
    assert min(abs(share) for share in strong.values()) > 0.2


def test_no_root_gives_no_echo(graph):
    assert len(echoes(graph((0, 1, 9.0)), np.empty(0, dtype=int), np.empty(0))) == 0


@pytest.mark.parametrize("sliver_m", [1.0211, 1.0, 0.01, 1e-7])
def test_two_parallel_slivers_do_not_keep_the_walk_going_for_ever(graph, sliver_m):
    # between two slivers of like length a wave is trapped: listing its paths one by one takes 2^300 steps
    road = graph((0, 1, 500.0), (1, 2, 1.02), (1, 2, sliver_m), (2, 3, 500.0))
    found = echoes(road, np.array([0]), np.array([300.0]))
    assert len(found) < 500_000
    assert np.isfinite(found.share).all()
    assert np.abs(found.share).max() <= 1.0 + 1e-9


def test_a_bound_on_paths_merges_more_coarsely_and_changes_little(graph):
    rng = np.random.default_rng(5)
    block = [(r * 6 + c, r * 6 + c + 1, rng.uniform(30, 60)) for r in range(6) for c in range(5)]
    block += [(r * 6 + c, r * 6 + 6 + c, rng.uniform(30, 60)) for r in range(5) for c in range(6)]
    town = graph(*block)
    free, bound = (echoes(town, np.array([0]), np.array([300.0]), most_paths=most) for most in (10**9, 300))
    assert len(bound) < len(free) / 3
    carried_on = [
        np.bincount(found.arc, found.share * (1 - (found.distance_m / 300.0) ** 2), 120) for found in (free, bound)
    ]
    assert carried_on[1] == pytest.approx(carried_on[0], abs=0.02)


def test_merging_keeps_what_is_carried_and_its_mean_distance():
    front = Echoes(
        np.array([0, 0, 0]), np.array([4, 4, 5]), np.array([10.001, 10.003, 10.0]), np.array([0.1, 0.3, 0.5])
    )
    merged = _merge_within(front, 0.1)
    assert merged.arc.tolist() == [4, 5]
    assert merged.share == pytest.approx([0.4, 0.5])
    assert merged.distance_m == pytest.approx([10.0025, 10.0])  # (0.1 x 10.001 + 0.3 x 10.003) / 0.4


def test_ranks_count_within_groups():
    assert ranks(np.array([2, 0, 3])).tolist() == [0, 1, 0, 1, 2]
    assert ranks(np.array([], dtype=int)).tolist() == []
