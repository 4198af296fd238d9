"""
Fits against published durations, plain least squares, and statsmodels as an independent likelihood.

Durations are those that the papers named beside them print; the expected bases and sums of the plain line were worked
out apart from this project, by ordinary least squares of 1/days on temperature.
"""

from __future__ import annotations

import warnings

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.optimize import curve_fit
from statsmodels.tools.sm_exceptions import ConvergenceWarning

from roadwatch.errors import NotEnoughDataError
from roadwatch.hatch.fitting import days_at, fit_durations, parameter_row, straight_line

PUBLISHED = {
    # name: temperatures, days, base, its error, sum, its error
    "slider-like, Alabama, five means (Folkerts Caldwell 2026)": (
        [24, 26, 28, 30, 32],
        [98.94, 78.47, 64.75, 55.94, 50.23],
        (15.70, 0.39, 808.5, 25),
    ),
    "slider, Illinois (Les 2007, 2009)": ([23, 28.5, 31], [133.9, 61.0, 50.1], (18.21, 0.29, 636, 19)),
    "painted turtle, Nebraska (Gutzke 1987)": (
        [22] * 3 + [27] * 3 + [32] * 3,
        [97.9, 97.9, 100, 53.5, 52.7, 51.4, 45.4, 42, 41],
        (13.78, 1.19, 754, 65),
    ),
    "painted turtle, pooled (Gutzke 1987, Les 2007 and 2009, Paitz 2010)": (
        [22] * 3 + [27] * 3 + [32] * 3 + [23, 31, 28.5, 27],
        [97.9, 97.9, 100, 53.5, 52.7, 51.4, 45.4, 42, 41, 102, 48, 56, 60.1],
        (14.19, 1.09, 754, 61),
    ),
    "smooth softshell, Iowa (Janzen 1993)": (
        [26, 26, 28, 28, 30, 30],
        [80.5, 81.9, 60.3, 63.8, 48.5, 52.8],
        (19.38, 0.80, 536, 49),
    ),
    "gopher tortoise, Florida, to 31 degrees (Demuth 2001)": (
        [26, 28, 29, 30, 31],
        [112.6, 94.9, 88.6, 83.1, 79.9],
        (13.86, 0.74, 1352, 67),
    ),
}
REFUSED = {
    "snapping turtle (Yntema 1978)": ([22, 24, 26, 28, 30], [92.9, 73.6, 69.4, 64.6, 62.2], r"known only to 4\.2 °C"),
    "alligator snapping turtle (Ligon 2009)": ([26.5, 28.5, 30.5], [95.3, 84.0, 81.2], r"known only to 8\.1 °C"),
    "western pond turtle (Geist 2015)": (
        [26, 27, 28, 29, 30, 31],
        [89, 84.2, 83.8, 85.0, 87.2, 87.8],
        "does not rise with temperature",
    ),
    "gopher tortoise with 34 degrees (Demuth 2001)": (
        [26, 28, 29, 30, 31, 34],
        [112.6, 94.9, 88.6, 83.1, 79.9, 85.0],
        "longer at 34 °C than at a lower temperature",
    ),
    "two temperatures": ([24, 24, 30], [70.4, 71.1, 50.9], r"2 temperatures \(3 are needed\)"),
    "a narrow span": ([27, 28, 29], [70, 65, 60], r"span 2 °C \(4 are needed\)"),
    "one egg": ([28], [65], "1 temperatures"),
    "nothing": ([], [], "0 temperatures"),
}


def arrays(temps, days):
    return np.array(temps, float), np.array(days, float)


@pytest.mark.parametrize("name", PUBLISHED)
def test_the_plain_line_meets_the_fits_worked_out_apart(name):
    temps, days, (base, base_se, total, total_se) = PUBLISHED[name]
    line = straight_line(*arrays(temps, days))
    assert line.base_c == pytest.approx(base, abs=0.03)
    assert line.base_se_c == pytest.approx(base_se, abs=0.006)
    assert line.sum_dd == pytest.approx(total, rel=0.002)
    assert line.sum_se_dd == pytest.approx(total_se, rel=0.02)


@pytest.mark.parametrize("name", PUBLISHED)
def test_the_plain_line_agrees_with_statsmodels(name):
    temps, days = arrays(*PUBLISHED[name][:2])
    fit = sm.OLS(1 / days, sm.add_constant(temps)).fit()
    ratio = -fit.params[0] / fit.params[1]
    gradient = np.array([-1 / fit.params[1], fit.params[0] / fit.params[1] ** 2])
    line = straight_line(temps, days)
    assert line.base_c == pytest.approx(ratio)
    assert line.base_se_c == pytest.approx(np.sqrt(gradient @ fit.cov_params() @ gradient))
    assert (line.slope, line.sum_se_dd) == pytest.approx((fit.params[1], fit.bse[1] / fit.params[1] ** 2))


@pytest.mark.parametrize("name", PUBLISHED)
def test_the_fit_in_logarithms_agrees_with_scipys_least_squares(name):
    temps, days = arrays(*PUBLISHED[name][:2])
    found, covariance = curve_fit(
        lambda t, base, log_sum: log_sum - np.log(np.maximum(t - base, 1e-9)), temps, np.log(days), p0=[14, 6.6]
    )
    fit = fit_durations(temps, days)
    assert (fit.base_c, np.log(fit.sum_dd)) == pytest.approx(tuple(found), rel=1e-4)
    assert (fit.base_se_c, fit.sum_se_dd / fit.sum_dd) == pytest.approx(tuple(np.sqrt(np.diag(covariance))), rel=1e-3)
    assert fit.correlation == pytest.approx(covariance[0, 1] / np.sqrt(covariance.diagonal().prod()), rel=1e-3)


@pytest.mark.parametrize("name", PUBLISHED)
def test_both_fits_lie_within_their_errors_of_each_other(name):
    fit = fit_durations(*arrays(*PUBLISHED[name][:2]))
    assert abs(fit.base_c - fit.line.base_c) < fit.line.base_se_c
    assert abs(fit.sum_dd - fit.line.sum_dd) < fit.line.sum_se_dd


@pytest.mark.parametrize("name", REFUSED)
def test_durations_that_carry_no_fit_are_refused_with_the_reason(name):
    temps, days, reason = REFUSED[name]
    with pytest.raises(NotEnoughDataError, match=reason):
        fit_durations(*arrays(temps, days))


def test_all_reasons_are_given_at_once():
    with pytest.raises(NotEnoughDataError, match=r"2 temperatures.*span 2.*does not rise"):
        fit_durations(*arrays([26, 26, 28], [60, 60, 70]))


def clutches(rng, *, n_clutches=12, each=8, base=15.7, total=804.0, between=0.03, within=0.02):
    """Invented eggs, split by temperature, that follow the model exactly."""
    clutch = np.repeat(np.arange(n_clutches), each)
    temps = np.tile(np.array([24.0, 26, 28, 30, 32])[np.arange(each) % 5], n_clutches)
    noise = rng.normal(0, between, n_clutches)[clutch] + rng.normal(0, within, len(clutch))
    return temps, total / (temps - base) * np.exp(noise), [f"c{one}" for one in clutch]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_clutch_effects_agree_with_the_mixed_model_of_statsmodels(seed):
    temps, days, names = clutches(np.random.default_rng(seed))
    fit = fit_durations(temps, days, clutch=names)
    shifted = np.log(days) + np.log(temps - fit.base_c)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ConvergenceWarning)
        model = sm.MixedLM(shifted, np.ones((len(temps), 1)), groups=np.array(names)).fit(reml=False)
    assert fit.log_likelihood == pytest.approx(model.llf, abs=1e-3)
    assert np.log(fit.sum_dd) == pytest.approx(model.params[0], abs=1e-5)
    assert fit.clutch_sd**2 / fit.residual_sd**2 == pytest.approx(model.cov_re[0, 0] / model.scale, rel=0.01)


def test_the_base_found_has_the_highest_likelihood_of_statsmodels():
    temps, days, names = clutches(np.random.default_rng(7))
    fit = fit_durations(temps, days, clutch=names)
    by_base = []
    for base in fit.base_c + np.array([-0.3, 0.0, 0.3]):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", ConvergenceWarning)
            shifted = np.log(days) + np.log(temps - base)
            by_base.append(sm.MixedLM(shifted, np.ones((len(temps), 1)), groups=np.array(names)).fit(reml=False).llf)
    assert np.argmax(by_base) == 1


def test_intervals_hold_the_truth_at_their_rate_when_clutches_differ():
    # 120 drawn experiments; 95 of 100 intervals should hold; binomial limits of about 1 in 1000 by chance
    rng = np.random.default_rng(17)
    held = np.zeros(2)
    for _ in range(120):
        temps, days, names = clutches(rng)
        fit = fit_durations(temps, days, clutch=names)
        held += [abs(fit.base_c - 15.7) <= 1.96 * fit.base_se_c, abs(fit.sum_dd - 804) <= 1.96 * fit.sum_se_dd]
    slack = 3.3 * np.sqrt(0.95 * 0.05 / 120)
    assert (held / 120 > 0.95 - slack).all()


def test_forgetting_the_clutches_makes_the_sum_look_surer_than_it_is():
    temps, days, names = clutches(np.random.default_rng(5), between=0.05)
    assert fit_durations(temps, days).sum_se_dd != fit_durations(temps, days, clutch=names).sum_se_dd
    assert np.isnan(fit_durations(temps, days).clutch_sd)
    assert fit_durations(temps, days, clutch=names).clutch_sd == pytest.approx(0.05, abs=0.025)


def test_a_mean_of_many_eggs_weighs_as_many_eggs():
    temps, days, _ = clutches(np.random.default_rng(9), between=0.0)
    means = {t: np.exp(np.log(days[temps == t]).mean()) for t in np.unique(temps)}
    counts = [float((temps == t).sum()) for t in means]
    whole = fit_durations(temps, days)
    short = fit_durations(np.array(list(means)), np.array(list(means.values())), n_eggs=np.array(counts))
    assert (short.base_c, short.sum_dd) == pytest.approx((whole.base_c, whole.sum_dd), rel=1e-4)
    assert short.n_eggs == len(temps)


def test_days_and_their_error_follow_from_base_and_sum_together():
    # An oracle by drawing: base and sum as a pair of normals with the fit's errors and correlation
    fit = fit_durations(*arrays(*PUBLISHED["smooth softshell, Iowa (Janzen 1993)"][:2]))
    rng = np.random.default_rng(3)
    tie = fit.correlation * fit.base_se_c * fit.sum_se_dd
    draws = rng.multivariate_normal(
        [fit.base_c, fit.sum_dd], [[fit.base_se_c**2, tie], [tie, fit.sum_se_dd**2]], size=200_000
    )
    days, error = days_at(fit, 28.0)
    drawn = draws[:, 1] / (28.0 - draws[:, 0])
    assert days == pytest.approx(np.median(drawn), rel=0.005)
    assert error == pytest.approx(drawn.std(), rel=0.05)


def test_the_alabama_line_foretells_what_northern_florida_measured():
    # Jackson 1988: 66 days at 28 degrees C, eggs that the fit has not seen
    fit = fit_durations(*arrays(*PUBLISHED["slider-like, Alabama, five means (Folkerts Caldwell 2026)"][:2]))
    assert days_at(fit, 28.0)[0] == pytest.approx(66, rel=0.02)


def test_a_fit_becomes_a_row_of_the_table():
    fit = fit_durations(*arrays(*PUBLISHED["slider-like, Alabama, five means (Folkerts Caldwell 2026)"][:2]))
    row = parameter_row(fit, taxon="Trachemys scripta", region="any", source="local_durations")
    assert (row["basis"], row["lowest_c"], row["highest_c"], row["sureness"]) == ("linear", 24, 32, "medium")
    three = fit_durations(*arrays(*PUBLISHED["slider, Illinois (Les 2007, 2009)"][:2]))
    assert parameter_row(three, taxon="x", region="any", source="s")["sureness"] == "low"
