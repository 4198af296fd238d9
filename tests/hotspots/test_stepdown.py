"""One hotspot after another, without more false alarms."""

import numpy as np
import pytest
from scipy import sparse, stats

from roadwatch.hotspots.null import Scatter
from roadwatch.hotspots.stepdown import MOST_ROUNDS, combined, step_down

N = 200


@pytest.fixture(scope="module")
def ring():
    near = sparse.diags_array([0.25, 0.5, 0.25, 0.25, 0.25], offsets=[-1, 0, 1, N - 1, 1 - N], shape=(N, N))
    return sparse.csr_array(near)


def steps(stretch, ring, *, seed=1, record=None, n_draws=99):
    stretch = np.asarray(stretch)
    records = Scatter(
        stretch, np.ones(len(stretch)), np.zeros(len(stretch), dtype=int), np.full((1, N), 1 / N), record=record
    )
    return step_down(
        records,
        kernels=[ring],
        mark=lambda null: null.p_value <= 0.05,
        n_draws=n_draws,
        rng=np.random.default_rng(seed),
    )


def test_a_weak_hotspot_beside_a_strong_one_is_found_in_the_second_round(ring):
    # 150 of 190 records lie on one stretch: chance alone then puts many on others, until they are set aside
    background = np.arange(0, N, 6)
    rounds = steps([10] * 150 + [100] * 5 + background.tolist(), ring)
    assert rounds[0].marked[10]
    assert not rounds[0].marked[100]
    assert rounds[1].marked[100]
    assert combined(rounds).p_value[100] <= 0.05
    assert rounds[0].null.p_value[100] > 0.05


def test_what_was_found_is_out_of_the_next_round_with_its_records(ring):
    rounds = steps([10] * 30 + list(range(0, N, 6)), ring)
    assert not rounds[1].kept[:30].any()
    assert np.isnan(rounds[1].null.p_value[10])
    assert combined(rounds).p_value[10] == rounds[0].null.p_value[10]


def test_all_parts_of_a_record_leave_together(ring):
    record = np.r_[np.zeros(2, dtype=int), np.arange(1, 63)]
    stretch = [10, 150] + [10] * 29 + list(range(0, N, 6))[:33]
    rounds = steps(stretch, ring, record=record)
    assert not rounds[1].kept[1]


def test_p_never_falls_below_what_was_found_before(ring):
    rounds = steps([10] * 150 + [100] * 5 + list(range(0, N, 6)), ring)
    p = combined(rounds).p_value
    assert p[100] >= rounds[0].null.p_value[rounds[0].marked].max()
    untouched = ~(rounds[0].marked | rounds[1].marked)
    assert p[untouched].tolist() == rounds[0].null.p_value[untouched].tolist()


def test_without_anything_found_there_is_one_round(ring):
    assert len(steps(range(0, N, 6), ring)) == 1


def test_rounds_end_when_nothing_is_left(ring):
    assert 1 <= len(steps([10] * 40, ring)) <= MOST_ROUNDS


def test_even_records_alarm_no_more_often_than_they_may(ring):
    rng = np.random.default_rng(12)
    alarms = sum(steps(rng.integers(N, size=40), ring, seed=seed)[0].marked.any() or False for seed in range(300))
    assert alarms <= stats.binom.ppf(0.999, 300, 0.05)


def test_beside_a_true_hotspot_the_rest_alarms_no_more_often_than_it_may(ring):
    rng = np.random.default_rng(13)
    alarms = 0
    for seed in range(200):
        rounds = steps(np.r_[np.full(40, 10), rng.integers(N, size=40)], ring, seed=seed)
        far = np.ones(N, dtype=bool)
        far[6:15] = False
        alarms += any(one.marked[far].any() for one in rounds)
    assert alarms <= stats.binom.ppf(0.999, 200, 0.05)
