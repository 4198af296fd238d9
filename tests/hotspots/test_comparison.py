"""Records compared with their scatterings: p by its definition, and the false-alarm rate as a statistic."""

import numpy as np
import pytest
from hotspots.scattered_records import scatter
from scipy import sparse, stats

from roadwatch.hotspots.ceilings import Ceiling
from roadwatch.hotspots.comparison import compare_with_scatterings
from roadwatch.hotspots.density import kernel_matrix
from roadwatch.hotspots.null import Scatter
from roadwatch.roads.stretches import cut_stretches


def compare(records, kernel, *, n_draws=99, seed=1, **options):
    return compare_with_scatterings(
        records, kernels=[kernel], n_draws=n_draws, rng=np.random.default_rng(seed), **options
    )


def test_p_counts_the_observed_map_among_the_scatterings(ring):
    # five records on one stretch: no scattering reaches them, so p is 1 / (1 + 99), never 0
    found = compare(scatter([30] * 5), ring)
    assert found.p_value[30] == pytest.approx(0.01)
    assert found.p_value[0] == 1.0
    assert len(found.largest) == 99


def test_p_over_the_map_by_its_definition(ring):
    found = compare(scatter([3, 3, 3, 20, 20, 41, 55]), ring, n_draws=199)
    for stretch in (3, 20, 41):
        reached = sum(largest >= found.surprise[stretch] * (1 - 1e-9) for largest in found.largest)
        assert found.p_value[stretch] == pytest.approx((1 + reached) / 200)
    assert (found.p_value >= found.p_local).all()


def test_a_scattering_equal_to_what_was_seen_counts_as_reaching_it():
    # one stretch for two records: every scattering is the observed map
    found = compare(scatter([0, 0], n=1), sparse.csr_array(np.eye(1)))
    assert found.p_value.tolist() == [1.0]


def test_draws_depend_on_the_seed_only_not_on_blocks_or_record_order(ring):
    rng = np.random.default_rng(2)
    stretch, weight = rng.integers(60, size=40), rng.choice([0.5, 0.8, 1.0], 40)
    whole = compare(scatter(stretch, weight=weight), ring)
    order = rng.permutation(40)
    for records, cells in (
        (scatter(stretch, weight=weight), 60),
        (scatter(stretch, weight=weight), 60 * 7),
        (scatter(stretch[order], weight=weight[order]), 10**6),
    ):
        other = compare(records, ring, cells_per_block=cells)
        assert other.largest.tolist() == whole.largest.tolist()
        assert other.p_value.tolist() == whole.p_value.tolist()
        assert other.p_local.tolist() == whole.p_local.tolist()
    assert compare(scatter(stretch, weight=weight), ring, seed=2).largest.tolist() != whole.largest.tolist()


def test_unsearched_road_gets_no_record_no_p_and_changes_nothing(ring):
    stretch = [3, 3, 3, 20, 41]
    longer = sparse.block_diag([ring, sparse.csr_array(np.eye(5))], format="csr")
    near, far = compare(scatter(stretch), ring), compare(scatter(stretch, chance=[[1 / 60] * 60 + [0.0] * 5]), longer)
    assert far.p_value[:60].tolist() == near.p_value.tolist()
    assert np.isnan(far.p_value[60:]).all()
    assert np.isnan(far.p_local[60:]).all()
    assert np.isnan(far.surprise[60:]).all()


def test_progress_is_told_block_by_block(ring):
    told = []
    compare(scatter([1, 2, 3]), ring, progress=lambda done, total: told.append((done, total)), cells_per_block=60 * 40)
    assert told == [(40, 99), (80, 99), (99, 99)]


def test_with_several_kernels_p_counts_the_largest_of_all_made_alike(ring):
    wide = sparse.csr_array(ring @ ring)
    records = scatter([3, 3, 3, 20, 20, 41, 55])
    found = compare_with_scatterings(records, kernels=[ring, wide], n_draws=199, rng=np.random.default_rng(1))
    seen = np.array([one.surprise(records.observed()) for one in found.yardsticks])
    for kernel in (0, 1):
        for stretch in (3, 20, 41):
            reached = sum(largest >= seen[kernel, stretch] * (1 - 1e-9) for largest in found.largest)
            assert found.p_by_kernel[kernel, stretch] == pytest.approx((1 + reached) / 200)
    assert found.p_value.tolist() == found.p_by_kernel.min(axis=0).tolist()
    assert found.p_of(seen[1]).tolist() == found.p_by_kernel[1].tolist()


def test_kernels_made_alike_reach_as_high_by_chance(ring):
    wide = sparse.csr_array(ring @ ring @ ring)
    records = scatter(np.arange(0, 60, 3))
    alone = [
        compare_with_scatterings(records, kernels=[one], n_draws=999, rng=np.random.default_rng(1)).largest
        for one in (ring, wide)
    ]
    both = compare_with_scatterings(records, kernels=[ring, wide], n_draws=999, rng=np.random.default_rng(1))
    factor = (
        both.yardsticks[1].scale
        / compare_with_scatterings(records, kernels=[wide], n_draws=999, rng=np.random.default_rng(1))
        .yardsticks[0]
        .scale
    )
    assert factor == pytest.approx(np.full(60, factor[0]))
    assert np.quantile(alone[1], 0.95) * factor[0] == pytest.approx(np.quantile(alone[0], 0.95), rel=0.02)


def test_k_fold_duplication_with_weights_one_in_k_leaves_density_and_expected_as_they_are(ring):
    rng = np.random.default_rng(4)
    stretch = rng.integers(60, size=30)
    once = compare(scatter(stretch), ring)
    often = compare(scatter(np.repeat(stretch, 5), weight=np.full(150, 0.2)), ring)
    assert often.density == pytest.approx(once.density, rel=1e-9)
    assert often.expected_density == pytest.approx(once.expected_density, rel=1e-9)


def test_doubling_all_effort_changes_no_draw(ring):
    chance = np.random.default_rng(5).uniform(0.2, 2.0, (1, 60))
    found = [compare(scatter([3, 3, 20, 41], chance=c / c.sum()), ring).p_value.tolist() for c in (chance, 2 * chance)]
    assert found[0] == found[1]


def test_draws_follow_the_places_not_the_numbers_of_the_stretches(ring):
    order = np.random.default_rng(8).permutation(60)  # new number -> old number
    old = compare(scatter([3, 3, 3, 20, 41]), ring)
    back = np.argsort(order)
    moved = Scatter(back[[3, 3, 3, 20, 41]], np.ones(5), np.zeros(5, int), np.full((1, 60), 1 / 60), order=back)
    new = compare(moved, sparse.csr_array(ring[order][:, order]))
    assert new.largest == pytest.approx(old.largest)
    assert new.p_value[back].tolist() == old.p_value.tolist()


def test_a_first_look_ends_what_cannot_be_found_and_says_p_from_what_was_drawn(ring):
    even = scatter(np.arange(0, 60, 3))
    found = compare(even, ring, n_draws=199, futile_p=0.2)
    fifth = compare(even, ring, n_draws=39)
    assert found.largest.tolist() == fifth.largest.tolist()
    assert found.p_value.tolist() == fifth.p_value.tolist()


def test_a_first_look_at_what_may_be_found_changes_nothing(ring):
    several = scatter([30] * 5 + [1, 7, 20])
    looked = compare(several, ring, n_draws=199, futile_p=0.2)
    whole = compare(several, ring, n_draws=199)
    assert looked.largest.tolist() == whole.largest.tolist()
    assert looked.p_value.tolist() == whole.p_value.tolist()
    assert looked.p_local.tolist() == whole.p_local.tolist()


def test_a_first_look_of_fewer_draws_than_can_tell_is_not_taken(ring):
    assert len(compare(scatter(np.arange(0, 60, 3)), ring, n_draws=94, futile_p=0.2).largest) == 94


def test_a_first_look_falls_after_the_same_draws_whatever_the_blocks(ring):
    even = scatter(np.arange(0, 60, 3))
    for cells in (60, 60 * 7, 10**6):
        found = compare(even, ring, n_draws=199, futile_p=0.2, cells_per_block=cells)
        assert len(found.largest) == 39


def test_a_first_look_adds_no_false_alarm(ring):
    # 400 maps of even records: what is found with the look is found without it, and no more often than it may
    alarms = 0
    for seed in range(400):
        stretch = np.random.default_rng([7, seed]).integers(60, size=30)
        looked, whole = (compare(scatter(stretch), ring, seed=seed, futile_p=futile) for futile in (0.2, None))
        assert looked.p_value.min() > 0.05 or looked.p_value.tolist() == whole.p_value.tolist()
        alarms += looked.p_value.min() <= 0.05
    assert alarms <= stats.binom.ppf(0.999, 400, 0.05)


def test_local_p_is_left_out_where_nobody_asks(ring):
    asked, not_asked = (compare(scatter([3, 3, 20]), ring, is_local=local) for local in (True, False))
    assert np.isnan(not_asked.p_local).all()
    assert not_asked.p_value.tolist() == asked.p_value.tolist()


def test_ceilings_at_hand_change_nothing(ring):
    ceiling = Ceiling.of(ring)
    given, made = (compare(scatter([3, 3, 20]), ring, ceilings=one) for one in ([ceiling], None))
    assert given.largest.tolist() == made.largest.tolist()
    assert given.yardsticks[0].ceiling is ceiling


def test_false_alarms_stay_within_the_binomial_bound(county):
    # 300 counties without a hotspot, with uneven effort and weights, 99 scatterings each: the test is exact, so alarms
    # are binomial with 300 and at most 5 %; a lower bound guards against a test that never speaks
    network = county(4, 700.0)
    stretches = cut_stretches(network)
    kernel = kernel_matrix(network, stretches)
    n = len(stretches.edge)
    rng = np.random.default_rng(20)
    alarms = 0
    for _ in range(300):
        chance = rng.choice([0.0, 1.0, 2.0, 6.0], n) * stretches.length_m
        chance = (chance / chance.sum())[None]
        places = rng.choice(n, 60, p=chance[0])
        records = scatter(places, weight=rng.choice([0.5, 0.8, 1.0], 60), chance=chance)
        alarms += np.nanmin(compare_with_scatterings(records, kernels=[kernel], n_draws=99, rng=rng).p_value) <= 0.05
    assert alarms <= stats.binom.ppf(0.999, 300, 0.05)
    assert alarms >= stats.binom.ppf(0.001, 300, 0.04)


def test_ignoring_effort_raises_false_alarms(county):
    # the guard of the test above: with effort left out of the baseline the same counties alarm far more often
    network = county(4, 700.0)
    stretches = cut_stretches(network)
    kernel = kernel_matrix(network, stretches)
    n = len(stretches.edge)
    rng = np.random.default_rng(21)
    watched = np.where(stretches.edge < 4, 12.0, 1.0) * stretches.length_m
    alarms = 0
    for _ in range(30):
        places = rng.choice(n, 60, p=watched / watched.sum())
        records = scatter(places, chance=(stretches.length_m / stretches.length_m.sum())[None])
        alarms += np.nanmin(compare_with_scatterings(records, kernels=[kernel], n_draws=99, rng=rng).p_value) <= 0.05
    assert alarms > stats.binom.ppf(0.999, 30, 0.05)
