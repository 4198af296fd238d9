"""Nest success against Mayfield's own example, exact intervals of scipy, and the product-limit curve by hand."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import binomtest, chi2

from roadwatch.hatch.survival import daily_survival, loss_ratio, survival_curve


def test_mayfields_warblers_survive_as_he_worked_out():
    # Mayfield 1961, 1975 (from memory): 35 nests lost in 878 nest-days of incubation: mortality .040 a day, and
    # .96 to the 14th is .56 over the 14 days of incubation.
    found = daily_survival(35, 878.0)
    assert 1 - found.daily == pytest.approx(0.040, abs=5e-4)
    assert found.over(14)[0] == pytest.approx(0.56, abs=0.01)


@pytest.mark.parametrize(("losses", "days"), [(35, 878.0), (3, 90.5), (1, 400.0)])
def test_error_and_interval_are_the_published_formulae(losses, days):
    found = daily_survival(losses, days)
    # Johnson 1979: variance (E - L) L / E^3; exact Poisson limits by chi-square (Garwood 1936)
    assert found.se**2 == pytest.approx((days - losses) * losses / days**3)
    assert 1 - found.low == pytest.approx(chi2.ppf(0.975, 2 * losses + 2) / 2 / days)
    assert 1 - found.high == pytest.approx(chi2.ppf(0.025, 2 * losses) / 2 / days)


@pytest.mark.parametrize(("losses", "days"), [(35, 878.0), (12, 250.0)])
def test_the_daily_rate_is_that_of_a_poisson_model_of_statsmodels(losses, days):
    split = [losses // 3, losses - losses // 3]  # two halves of the field, the same rate in both
    exposure = np.array([days / 2, days / 2])
    model = sm.GLM(split, np.ones((2, 1)), family=sm.families.Poisson(), exposure=exposure).fit()
    assert 1 - daily_survival(losses, days).daily == pytest.approx(float(np.exp(model.params[0])), rel=1e-6)


def test_without_losses_survival_is_whole_but_not_sure():
    found = daily_survival(0, 100.0)
    assert (found.daily, found.high, found.se) == (1.0, 1.0, 0.0)
    assert found.low == pytest.approx(1 - 3.689 / 100, abs=1e-4)  # 3.689: Poisson limit of zero, handbook tables


def test_without_nest_days_nothing_is_known():
    found = daily_survival(0, 0.0)
    assert np.isnan([found.daily, found.se, found.low, found.high]).all()


def test_intervals_of_success_hold_the_truth_at_their_rate():
    # 1,000 drawn seasons of 40 nests at 0.985 a day for 60 days; binomial bound of 1 in 1000 by chance
    rng, held = np.random.default_rng(2), 0
    for _ in range(1000):
        died = rng.geometric(0.015, 40)
        losses, days = int((died <= 60).sum()), float(np.minimum(died, 60).sum())
        _, low, high = daily_survival(losses, days).over(60)
        held += low <= 0.985**60 <= high
    assert held / 1000 >= 0.95 - 3.3 * np.sqrt(0.95 * 0.05 / 1000)


@pytest.mark.parametrize("losses", [(3, 12), (0, 5), (7, 0), (10, 10)])
def test_the_ratio_of_two_rates_has_the_exact_interval_of_scipys_binomial(losses):
    days = (400.0, 300.0)
    ratio, low, high = loss_ratio(losses, days)
    ends = binomtest(losses[0], sum(losses)).proportion_ci(0.95, method="exact")

    def turned(share):
        return np.inf if share >= 1 else share / (1 - share) * days[1] / days[0]

    assert ratio == pytest.approx(turned(losses[0] / sum(losses)))
    assert (low, high) == pytest.approx((turned(ends.low), turned(ends.high)))


@pytest.mark.parametrize(("losses", "days"), [((0, 0), (10.0, 10.0)), ((1, 2), (0.0, 10.0)), ((1, 2), (10.0, 0.0))])
def test_what_cannot_be_compared_is_not(losses, days):
    ratio, low, high = loss_ratio(losses, days)
    assert np.isnan(ratio)
    assert (low, high) == (0.0, np.inf)


def test_the_curve_of_five_nests_is_the_one_worked_by_hand():
    # Found on days 0, 0, 5, 5, 12; lost on 4 and 10; the others seen alive to 20, 20 and 8.
    # Day 4: 2 at risk, 1 lost: 1/2. Day 10: at risk are those found by then and not yet gone (20, 10): 1/2 x 1/2 = 1/4.
    entered, left = np.array([0.0, 0, 5, 5, 12]), np.array([4.0, 20, 10, 8, 20])
    curve = survival_curve(entered, left, np.array([True, False, True, False, False]))
    assert curve["day"].tolist() == [0, 4, 10]
    np.testing.assert_allclose(curve["survival"], [1, 0.5, 0.25])
    assert curve["at_risk"].tolist()[1:] == [2, 2]
    assert (curve["low"] <= curve["survival"]).all()
    assert (curve["high"] >= curve["survival"]).all()


def test_a_nest_lost_early_and_never_found_does_not_flatter_the_curve():
    # 4,000 nests, 0.98 a day, each found on a random day if still there: the plain share of those found is too high.
    rng = np.random.default_rng(4)
    died, found = rng.geometric(0.02, 4000).astype(float), rng.integers(0, 40, 4000).astype(float)
    seen = died > found
    curve = survival_curve(found[seen], np.minimum(died[seen], 60.0), died[seen] <= 60)
    at_sixty = curve[curve["day"] <= 60]["survival"].iloc[-1]
    assert at_sixty == pytest.approx(0.98**60, abs=0.05)
    assert (died[seen] > 60).mean() > at_sixty + 0.1


def test_without_losses_the_curve_stays_at_the_top():
    curve = survival_curve(np.zeros(3), np.full(3, 9.0), np.zeros(3, bool))
    assert curve[["day", "survival", "losses"]].to_numpy().tolist() == [[0, 1, 0]]


def test_nests_seen_once_are_not_at_risk():
    curve = survival_curve(np.array([0.0, 5]), np.array([10.0, 5]), np.array([True, True]))
    assert curve["losses"].sum() == 1
