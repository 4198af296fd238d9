"""Counts carry the doubt of their names."""

import numpy as np
import pytest
from scipy.stats import binom, chisquare

from roadwatch.identify.counts import count_distribution, draw_taxa, expected_count, pool

FOUR = np.array([0.9, 0.6, 0.2, 0.5])


def test_expected_count_and_the_variance_of_identity_by_hand():
    count = expected_count(FOUR)
    assert count.mean == pytest.approx(2.2)  # .9 + .6 + .2 + .5
    assert count.identity_variance == pytest.approx(0.74)  # .09 + .24 + .16 + .25


def test_the_distribution_of_the_count_by_hand():
    distribution = count_distribution(FOUR)
    np.testing.assert_allclose(distribution, [0.016, 0.188, 0.430, 0.312, 0.054], atol=5e-4)
    assert distribution[3:].sum() == pytest.approx(0.366, abs=5e-4)


def test_hardening_at_one_half_says_three_where_two_are_expected():
    assert (FOUR >= 0.5).sum() == 3
    assert expected_count(FOUR).mean == pytest.approx(2.2)


def test_equal_chances_give_the_binomial_of_scipy():
    np.testing.assert_allclose(count_distribution(np.full(9, 0.3)), binom.pmf(np.arange(10), 9, 0.3), atol=1e-12)


def test_no_record_is_a_count_of_none():
    assert expected_count(np.zeros(0)).mean == 0
    assert count_distribution(np.zeros(0)).tolist() == [1.0]


def test_pooling_by_rubins_rules_by_hand():
    # by hand: mean of the variances 2.2; squared distances .04 .64 .04 1.44 .64 over 4 = .70; 2.2 + 1.2*.70 = 3.04
    counts = np.array([2.0, 3.0, 2.0, 1.0, 3.0])
    pooled = pool(counts, counts)
    assert (pooled.mean, pooled.within, pooled.between) == pytest.approx((2.2, 2.2, 0.70))
    assert pooled.total == pytest.approx(3.04)


def test_names_are_drawn_as_often_as_they_are_probable():
    p = np.array([[0.5, 0.3, 0.2], [0.0, 1.0, 0.0]])
    drawn = draw_taxa(p, n_sets=6000, rng=np.random.default_rng(11))
    assert drawn.shape == (6000, 2)
    assert set(drawn[:, 1]) == {1}
    assert chisquare(np.bincount(drawn[:, 0], minlength=3), 6000 * p[0]).pvalue > 0.001


def test_equal_seeds_draw_equal_names():
    p = np.random.default_rng(0).dirichlet(np.ones(5), size=40)
    first, second = (draw_taxa(p, n_sets=20, rng=np.random.default_rng(4)) for _ in range(2))
    np.testing.assert_array_equal(first, second)


def test_drawn_counts_agree_with_the_expected_count():
    p = np.random.default_rng(6).dirichlet(np.ones(4), size=60)
    counts = (draw_taxa(p, n_sets=4000, rng=np.random.default_rng(7)) == 2).sum(axis=1)
    expected = expected_count(p[:, 2])
    error = np.sqrt(expected.identity_variance / 4000)
    assert abs(counts.mean() - expected.mean) < 4 * error
    assert counts.var(ddof=1) == pytest.approx(expected.identity_variance, rel=0.12)  # 4000 draws: about 2.2 % a sigma
