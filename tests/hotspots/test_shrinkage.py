"""Shrunk ratios and count intervals against worked examples, scipy's distributions, and simulated counties."""

from itertools import product

import numpy as np
import pytest
from scipy import integrate, stats

from roadwatch.hotspots.shrinkage import (
    SPECIAL_RATIOS,
    SPECIAL_SHARES,
    USUAL_SHAPES,
    RatePrior,
    count_interval,
    fit_prior,
    gamma_prior,
    log_count_chance,
    posterior_ratio,
)


def test_the_worked_example_of_a_single_gamma():
    # prior shape 0.25 and mean 0.3, four deaths where one is expected: Gamma(4.25, 0.25/0.3 + 1), by hand 2.318182
    found = posterior_ratio(4.0, 1.0, prior=gamma_prior(0.25, 0.25 / 0.3))
    assert found.mean == pytest.approx(2.318182, abs=1e-6)
    assert (found.low, found.high) == pytest.approx((0.664513, 4.986123), abs=1e-6)


def test_a_mixture_against_scipy_integration():
    prior = RatePrior(np.array([0.9, 0.1]), np.array([5.0, 1.0]), np.array([6.0, 0.1]))
    deaths, expected = 3, 0.4

    def posterior(ratio):
        before = 0.9 * stats.gamma.pdf(ratio, 5.0, scale=1 / 6.0) + 0.1 * stats.gamma.pdf(ratio, 1.0, scale=10.0)
        return before * stats.poisson.pmf(deaths, expected * ratio)

    whole, _ = integrate.quad(posterior, 0, 200, limit=500, points=[1, 10])
    mean, _ = integrate.quad(lambda r: r * posterior(r), 0, 200, limit=500, points=[1, 10])
    found = posterior_ratio(deaths, expected, prior=prior)
    assert found.mean == pytest.approx(mean / whole, rel=1e-6)
    for bound, p in ((found.low, 0.025), (found.high, 0.975)):
        below, _ = integrate.quad(posterior, 0, bound, limit=500, points=[min(1, bound / 2)])
        assert below / whole == pytest.approx(p, abs=1e-6)


def test_without_expectation_the_prior_stays():
    assert posterior_ratio(0.0, 0.0, prior=gamma_prior(2.0, 2.0)).mean == pytest.approx(1.0)


def test_more_deaths_never_lower_the_ratio_and_more_expected_never_raise_it():
    prior = fit_prior(np.array([0.0, 1, 0, 2, 9, 0, 1, 1] * 10), np.ones(80))
    by_deaths = [posterior_ratio(x, 1.0, prior=prior).mean for x in np.arange(0, 20, 0.5)]
    by_expected = [posterior_ratio(6.0, e, prior=prior).mean for e in np.geomspace(0.05, 20, 30)]
    assert (np.diff(by_deaths) > 0).all()
    assert (np.diff(by_expected) < 0).all()


@pytest.mark.parametrize(
    ("count", "low", "high"),
    [(0, 0.0, 3.688879), (1, 0.025318, 5.571643), (5, 1.623486, 11.668332), (20, 12.216520, 30.888378)],
)
def test_count_intervals_as_in_the_tables_after_garwood(count, low, high):
    assert count_interval(float(count)) == pytest.approx((low, high), abs=1e-6)
    by_scipy = stats.chi2.ppf([0.025, 0.975], [2 * count or np.nan, 2 * count + 2]) / 2
    assert count_interval(float(count))[1] == pytest.approx(by_scipy[1])


def test_count_intervals_grow_with_coverage_and_take_weighted_counts():
    narrow, wide = count_interval(4.3, coverage=0.5), count_interval(4.3, coverage=0.99)
    assert wide[0] < narrow[0] < 4.3 < narrow[1] < wide[1]


def test_counts_with_gamma_rates_are_negative_binomial():
    counts, expected, shape, rate = np.arange(12.0), np.full(12, 1.7), 0.6, 0.8
    by_scipy = stats.nbinom.logpmf(counts, shape, rate / (rate + 1.7))
    assert log_count_chance(counts, expected, shape, rate) == pytest.approx(by_scipy)


def test_where_all_road_is_alike_ratios_stay_near_one():
    rng = np.random.default_rng(11)
    expected = np.full(400, 0.5)
    counts = rng.poisson(expected).astype(float)
    prior = fit_prior(counts, expected)
    assert (prior.weight * prior.shape / prior.rate).sum() == pytest.approx(1.0, abs=0.01)
    top = posterior_ratio(counts.max(), 0.5, prior=prior)
    assert counts.max() / 0.5 >= 6.0  # the raw ratio of the luckiest section
    assert top.mean < 3.0
    assert top.low < 1.0


def test_one_special_section_among_many_usual_ones_is_not_taken_for_chance():
    counts = np.r_[np.random.default_rng(2).poisson(0.4, 220), 16].astype(float)
    found = posterior_ratio(16.0, 0.4, prior=fit_prior(counts, np.full(221, counts.sum() / 221)))
    assert found.low < 40.0 < found.high
    assert found.mean > 25.0


def test_intervals_hold_the_true_ratio_as_often_as_they_say():
    # 40 counties of 100 sections drawn as the prior says roads are; 4,000 intervals. Sections of a county share its
    # prior, which costs precision: the bound allows six standard errors of a proportion over 4,000
    rng = np.random.default_rng(4)
    possible = [c for c in product(SPECIAL_SHARES, SPECIAL_RATIOS, USUAL_SHAPES) if c[0] * c[1] < 0.9]
    held = []
    for share, mean, shape in rng.choice(possible, 40):
        usual = rng.gamma(shape, (1 - share * mean) / (1 - share) / shape, 100)
        truth = np.where(rng.random(100) < share, rng.exponential(mean, 100), usual)
        counts = rng.poisson(2.0 * truth).astype(float)
        prior = fit_prior(counts, np.full(100, 2.0))
        by_count = {x: posterior_ratio(x, 2.0, prior=prior) for x in set(counts)}
        held += [by_count[x].low <= t <= by_count[x].high for x, t in zip(counts, truth, strict=True)]
    assert np.mean(held) == pytest.approx(0.95, abs=6 * np.sqrt(0.95 * 0.05 / 4000))


def test_the_luckiest_section_is_not_overrated():
    # the raw ratio of the top section is far above its true ratio; the shrunk one is not
    rng = np.random.default_rng(6)
    raw, shrunk, true = [], [], []
    for _ in range(40):
        truth = rng.gamma(2.0, 0.5, 300)
        expected = np.full(300, 1.0)
        counts = rng.poisson(truth * expected).astype(float)
        top = int(counts.argmax())
        raw.append(counts[top])
        shrunk.append(posterior_ratio(counts[top], 1.0, prior=fit_prior(counts, expected)).mean)
        true.append(truth[top])
    assert np.mean(raw) > 1.5 * np.mean(true)
    assert abs(np.mean(shrunk) - np.mean(true)) < 0.5 * (np.mean(raw) - np.mean(true))


def test_sections_that_expect_nothing_are_ignored():
    counts, expected = np.array([1.0, 0, 2, 5]), np.array([1.0, 1, 1, 0])
    with_empty, without = fit_prior(counts, expected), fit_prior(counts[:3], expected[:3])
    assert with_empty.weight == pytest.approx(without.weight)
