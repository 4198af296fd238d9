"""Regression to the mean is there, and is taken out."""

import numpy as np
import pytest
from scipy import stats
from simulators.measures import simulate_study

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.shrinkage import gamma_prior
from roadwatch.siting.evaluation_regression import BeforeRates, Sections, before_rates, corrected_ratio


def sections(before, km_before, after, km_after) -> Sections:
    return Sections(*(np.atleast_1d(np.array(values, dtype=float)) for values in (before, km_before, after, km_after)))


def test_with_one_gamma_prior_the_expected_count_is_the_textbook_weight():
    # Hauer 1997: expected = w x mean + (1 - w) x count, w = 1 / (1 + mean / shape); mean 4, shape 2: w = 1/3.
    rates = BeforeRates(0.4, gamma_prior(2.0, 2.0))
    assert rates.expected(sections(16, 10, 0, 10)) == pytest.approx([4 / 3 + 16 * 2 / 3])


def test_draws_of_the_expected_count_have_the_posteriors_mean_and_spread():
    # Gamma posterior: shape 2 + 16, rate 2 + 4, times the mean 4: mean 12, variance 18 / 36 x 16 = 8.
    rates = BeforeRates(0.4, gamma_prior(2.0, 2.0))
    drawn = rates.draw(sections(16, 10, 0, 10), np.random.default_rng(1), n_draws=40_000)
    assert drawn.mean() == pytest.approx(12.0, abs=4 * np.sqrt(8 / 40_000))
    assert drawn.var() == pytest.approx(8.0, rel=0.05)


def test_sections_can_be_taken_by_number_and_by_mask():
    all_three = sections([1, 2, 3], [4, 5, 6], [7, 8, 9], [1, 1, 1])
    assert all_three.take(np.array([2, 0])).deaths_before.tolist() == [3, 1]
    assert all_three.take(np.array([False, True, False])).deaths_after.tolist() == [8]


def chosen_for_their_count(rng, *, n_counties: int):
    """The fullest of 150 sections in each of many counties without any measure, and what followed there."""
    totals = np.zeros(3)
    for _ in range(n_counties):
        rate, km = 0.12 * rng.gamma(1.0, 1.0, 150), rng.uniform(6.0, 18.0, (2, 150))
        before, after = rng.poisson(rate * km)
        county = sections(before, km[0], after, km[1])
        site = np.array([int(np.argmax(before))])
        expected = before_rates(county).expected(county.take(site))
        follows = km[1, site] / km[0, site]
        totals += [float(after[site].sum()), float((before[site] * follows).sum()), float((expected * follows).sum())]
    return totals


def test_the_fullest_sections_fall_by_themselves_and_the_expected_count_knows_it():
    after, by_count, by_expected = chosen_for_their_count(np.random.default_rng(12), n_counties=120)
    low, high = stats.poisson.ppf([0.001, 0.999], by_expected)
    assert after < stats.poisson.ppf(0.001, by_count)  # the count before promises too much: a do-nothing fence "works"
    assert low * 0.97 <= after <= high * 1.03  # 3 % for what the fitted prior itself may be off


@pytest.fixture(scope="module")
def no_effect():
    """100 studies of a measure that does nothing, built where most were found."""
    rng, studies = np.random.default_rng(13), []
    while len(studies) < 100:
        try:
            studies.append(simulate_study(rng, effect=1.0, chosen_by="count"))
        except NotEnoughDataError:
            continue
    return studies


def test_a_measure_that_does_nothing_is_seldom_said_to_lower_or_raise_deaths(no_effect):
    n = len(no_effect)
    for false in (
        sum(study.corrected.high < 1.0 for study in no_effect),
        sum(study.corrected.low > 1.0 for study in no_effect),
    ):
        assert false <= stats.binom.ppf(0.999, n, 0.05)  # 2.5 % each side, and as much again for the fitted prior


def test_before_and_after_alone_would_call_doing_nothing_a_success(no_effect):
    crude = np.median([study.before_after for study in no_effect])
    corrected = np.median([study.corrected.ratio for study in no_effect])
    assert crude < 0.85
    assert abs(np.log(corrected)) < abs(np.log(crude))


def test_the_corrected_interval_holds_a_true_fall_in_95_of_100_studies():
    rng, n, inside, done = np.random.default_rng(14), 100, 0, 0
    while done < n:
        try:
            found = simulate_study(rng, effect=0.4, chosen_by="count").corrected
        except NotEnoughDataError:
            continue
        inside, done = inside + (found.low <= 0.4 <= found.high), done + 1
    assert inside >= stats.binom.ppf(0.001, n, 0.95)


def test_uneven_years_widen_the_corrected_interval():
    rates = BeforeRates(0.4, gamma_prior(2.0, 2.0))
    sides = {"impact": sections(16, 10, 8, 10), "control": sections([9] * 5, [20] * 5, [8] * 5, [20] * 5)}

    def width(extra: float) -> float:
        found = corrected_ratio(**sides, rates=rates, extra_variance=extra, rng=np.random.default_rng(1))
        return found.high / found.low

    assert width(0.3) > width(0.0)
