"""Near pairs are all found, and a heap of records cannot hang the search."""

import numpy as np
import pytest

from roadwatch.records.double_candidates import heaps, near_pairs, reach_m


def all_near(x_m, y_m, day, sd_m, longest_days):
    """Every pair compared with every other: the slow way that cannot be wrong."""
    left, right = np.triu_indices(len(x_m), 1)
    near = np.hypot(x_m[left] - x_m[right], y_m[left] - y_m[right]) <= reach_m(np.hypot(sd_m[left], sd_m[right]))
    near &= np.abs(day[left] - day[right]) <= longest_days
    return list(zip(left[near].tolist(), right[near].tolist(), strict=True))


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("longest_days", [0, 1, 30])
def test_the_tree_finds_what_comparing_all_with_all_finds(seed, longest_days):
    rng = np.random.default_rng(seed)
    x_m, y_m = rng.uniform(0, 1500, (2, 300))
    day, sd_m = rng.integers(0, 40, 300), rng.choice([4.0, 10.0, 25.0, 60.0, 300.0], 300)
    left, right = near_pairs(x_m, y_m, day, sd_m, longest_days=longest_days)
    expected = all_near(x_m, y_m, day, sd_m, longest_days)
    assert len(expected) > 20
    assert list(zip(left.tolist(), right.tolist(), strict=True)) == expected


def test_reach_grows_with_the_error_and_ends_at_300_m():
    # by hand: 4.5 standard deviations
    assert reach_m(np.array([10.0, 50.0, 1000.0])) == pytest.approx([45.0, 225.0, 300.0])


def test_no_record_has_no_pair():
    left, right = near_pairs(np.zeros(0), np.zeros(0), np.zeros(0, dtype=int), np.zeros(0), longest_days=30)
    assert len(left) == len(right) == 0


def test_a_heap_is_more_than_300_records_in_one_square_and_fortnight():
    x_m, day = np.zeros(602), np.zeros(602, dtype=int)
    x_m[301:], day[301:] = 1000.0, np.r_[np.zeros(300, dtype=int), 40]
    _, is_heaped = heaps(x_m, np.zeros(602), day)
    assert is_heaped.tolist() == [True] * 301 + [False] * 301


def test_in_a_heap_each_record_meets_ten_others_at_most():
    n = 5000
    left, right = near_pairs(np.zeros(n), np.zeros(n), np.zeros(n, dtype=int), np.full(n, 10.0), longest_days=30)
    assert len(left) <= 10 * n
    assert np.bincount(left).max() <= 10
    assert (left < right).all()


def test_identical_records_in_a_heap_still_meet():
    rng = np.random.default_rng(1)
    x_m = np.repeat(rng.uniform(0, 49, 400), 2)
    left, right = near_pairs(x_m, np.zeros(800), np.zeros(800, dtype=int), np.full(800, 10.0), longest_days=30)
    assert {(2 * k, 2 * k + 1) for k in range(400)} <= set(zip(left.tolist(), right.tolist(), strict=True))
