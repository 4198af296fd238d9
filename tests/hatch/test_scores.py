from __future__ import annotations

import numpy as np
import pytest
import scoringrules
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.hatch.scores import (
    central_interval,
    learned_factors,
    needed_factor,
    probability_integral,
    ranked_probability,
    share_by_years,
    stretch,
)

BY_HAND = np.array([[60.0, 62, 65, 66, 70, 71, 75]])


def test_the_score_of_seven_members_is_that_worked_by_hand():
    # By hand: mean distance to 68 is 31/7; half the mean distance of pairs 68/49 * 2 ... as the two estimators say
    truth = np.array([68.0])
    assert ranked_probability(BY_HAND, truth, fair=False)[0] == pytest.approx(1.653061, abs=1e-6)
    assert ranked_probability(BY_HAND, truth)[0] == pytest.approx(1.190476, abs=1e-6)


@pytest.mark.parametrize(("fair", "estimator"), [(False, "nrg"), (True, "fair")])
@pytest.mark.parametrize("seed", [1, 2])
def test_scores_agree_with_scoringrules(fair, estimator, seed):
    rng = np.random.default_rng(seed)
    ensemble, truth = rng.gamma(3, 20, (50, 17)), rng.gamma(3, 20, 50)
    expected = scoringrules.crps_ensemble(truth, ensemble, estimator=estimator)
    np.testing.assert_allclose(ranked_probability(ensemble, truth, fair=fair), expected, rtol=1e-10)


def test_missing_members_count_as_not_there():
    with_gaps = np.hstack([BY_HAND, np.full((1, 3), np.nan)])[:, [8, 0, 1, 9, 2, 3, 4, 7, 5, 6]]
    truth = np.array([68.0])
    np.testing.assert_allclose(ranked_probability(with_gaps, truth), ranked_probability(BY_HAND, truth))
    np.testing.assert_allclose(probability_integral(with_gaps, truth), probability_integral(BY_HAND, truth))
    np.testing.assert_allclose(central_interval(with_gaps, coverage=0.8), central_interval(BY_HAND, coverage=0.8))


@given(st.integers(9, 60), st.sampled_from([0.5, 0.8]))
def test_intervals_are_numpys_weibull_quantiles(count, coverage):
    members = np.random.default_rng(count).normal(200, 10, (3, count))
    early, late = central_interval(members, coverage=coverage)
    expected = np.quantile(members, [(1 - coverage) / 2, (1 + coverage) / 2], axis=1, method="weibull")
    np.testing.assert_allclose([early, late], expected)


@pytest.mark.parametrize("count", [9, 30, 89])
@pytest.mark.parametrize("coverage", [0.5, 0.8])
def test_exchangeable_members_hold_the_truth_at_the_stated_rate(count, coverage):
    # 4,000 draws of members and truth from one distribution; limits by the binomial bound, 1 in 1000 by chance
    draws = np.random.default_rng(count).normal(size=(4000, count + 1))
    early, late = central_interval(draws[:, 1:], coverage=coverage)
    held = np.mean((early <= draws[:, 0]) & (draws[:, 0] <= late))
    assert held == pytest.approx(coverage, abs=3.3 * np.sqrt(coverage * (1 - coverage) / 4000))


def test_members_beyond_december_push_the_late_end_out():
    members = np.array([[1.0, 2, 3, 4, 5, 6, 7, np.inf, np.inf]])
    early, late = central_interval(members, coverage=0.8)
    assert (early[0], late[0]) == (1.0, np.inf)
    assert central_interval(members, coverage=0.5)[1][0] == np.inf
    assert np.isfinite(central_interval(members[:, :7], coverage=0.5)[1][0])


def test_places_of_the_truth_are_even_when_all_is_well():
    draws = np.random.default_rng(6).normal(size=(5000, 20))
    rank = probability_integral(draws[:, 1:], draws[:, 0])
    # mean and spread of an even spread over 20 places: 0.5 and sqrt((1 - 1/400) / 12); three standard errors
    assert rank.mean() == pytest.approx(0.5, abs=3.3 * 0.2887 / np.sqrt(5000))
    assert rank.std() == pytest.approx(np.sqrt((1 - 1 / 400) / 12), abs=0.01)


def test_the_truth_before_all_members_stands_at_the_start():
    assert probability_integral(BY_HAND, np.array([1.0]))[0] == pytest.approx(0.5 / 8)
    assert probability_integral(BY_HAND, np.array([99.0]))[0] == pytest.approx(7.5 / 8)


def test_the_factor_a_window_needed_is_counted_on_its_own_side():
    middle, early, late = np.full(4, 100.0), np.full(4, 96.0), np.full(4, 102.0)
    needed = needed_factor(middle, early, late, np.array([100.0, 92.0, 103.0, 101.0]))
    np.testing.assert_allclose(needed, [0, 2, 1.5, 0.5])


@pytest.mark.parametrize(
    ("needed", "coverage", "expected"),
    [
        ([2.0, 0.1, 1.5, 3.0], 0.8, 3.0),  # (4 + 1) x 0.8 = the 4th smallest
        ([2.0, 0.1, 1.5, 3.0], 0.5, 2.0),  # 2.5, rounded up: the 3rd
        ([2.0, 0.1, 1.5], 0.8, 2.0),  # the 4th of three: the greatest there is
        ([0.1, 0.2, 0.3, 0.4], 0.8, 1.0),  # never below 1
        ([np.inf, np.nan, 1.2], 0.5, 1.2),  # windows without a width or a middle do not count
        ([np.inf], 0.8, 1.0),
        ([0.1 * k for k in range(1, 10)] + [2.0, 4.0, *[5.0] * 8], 0.55, 4.0),  # 20 x 0.55 is 11, whatever its bits
    ],
)
def test_the_stretch_is_the_conformal_rank_of_what_was_needed(needed, coverage, expected):
    assert stretch(np.array(needed), coverage=coverage) == expected


def test_a_middle_beyond_december_needs_no_number():
    found = needed_factor(*(np.array([value]) for value in (np.inf, 200.0, np.inf, 210.0)))
    assert not np.isfinite(found[0])


def test_a_factor_is_learned_from_earlier_years_alone_and_never_below_1():
    year = np.repeat(np.arange(2000, 2015), 1)
    needed = np.linspace(0.1, 1.5, 15)
    factors = learned_factors(needed, year, coverage=0.8, fewest_years=9)
    assert (factors[:9] == 1).all()
    # By hand: ten earlier years 0.1 to 1.0: the ceil(11 x 0.8) = 9th is 0.9, so 1; fourteen: the 12th is 1.2
    assert factors[10] == 1.0
    assert factors[14] == pytest.approx(1.2)
    later = needed.copy()
    later[14] = 99.0
    np.testing.assert_array_equal(learned_factors(later, year, coverage=0.8, fewest_years=9), factors)


def test_stretched_windows_hold_at_the_stated_rate_though_the_plain_ones_do_not():
    # Windows half as wide as they should be; 40 histories of 80 years; the last 40 years of each are scored.
    rng, held = np.random.default_rng(3), []
    for _ in range(40):
        truth = rng.normal(size=80)
        end = np.full(80, 1.2816 / 2)
        factor = learned_factors(np.abs(truth) / end, np.arange(80), coverage=0.8, fewest_years=9)
        held.append(np.mean(np.abs(truth[40:]) <= (factor * end)[40:]))
    assert np.mean(held) == pytest.approx(0.8, abs=3.3 * np.sqrt(0.16 / 1600) + 0.02)  # (k+1) rounds up by 1/60


def test_errors_by_whole_years_are_those_of_years_not_of_cases():
    # 50 years of 20 cases that share one fate: by hand sqrt(0.25 / 50), not sqrt(0.25 / 1000)
    year = np.repeat(np.arange(50), 20)
    held = np.repeat(np.arange(50) % 2 == 0, 20)
    share = share_by_years(held, year, rng=np.random.default_rng(1))
    assert (share.share, share.n) == (0.5, 1000)
    assert share.se == pytest.approx(np.sqrt(0.25 / 50), rel=0.1)
