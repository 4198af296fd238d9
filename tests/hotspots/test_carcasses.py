"""Gone and overlooked carcasses: worked values, Shoenfeld's formula, and coverage as a statistic."""

import numpy as np
import pytest
from scipy import stats

from roadwatch.errors import UsageError
from roadwatch.hotspots.carcasses import (
    CarcassTrial,
    animals_killed,
    draw_recorded_share,
    fit_found_share,
    fit_persistence,
    killed_interval,
    present_share,
    recorded_share,
)


def test_twelve_found_by_the_worked_case():
    # by hand: t = 4 d, I = 7 d, p = .6: r = 4/7 (1 - e^-1.75) = .472129; one look g = r p = .283278, 12 / g = 42.3613,
    # variance 12 (1 - g) / g^2 = 107.18
    assert float(present_share(4.0, 7.0)) == pytest.approx(0.472129, abs=1e-6)
    once = float(recorded_share(4.0, 0.6, 7.0, looked_again=False))
    assert once == pytest.approx(0.283278, abs=1e-6)
    killed, variance = animals_killed(12.0, once)
    assert killed == pytest.approx(42.3613, abs=1e-3)
    assert variance == pytest.approx(107.18, abs=0.01)


@pytest.mark.parametrize(("t", "interval", "p"), [(4.0, 7.0, 0.6), (1.2, 3.0, 0.3), (20.0, 1.0, 0.9)])
def test_later_searches_that_find_it_agree_with_shoenfelds_formula(t, interval, p):
    # Shoenfeld (2004): killed = I C / (t p) (e^(I/t) - 1 + p) / (e^(I/t) - 1)
    recorded = 12.0
    grow = np.exp(interval / t)
    by_formula = interval * recorded / (t * p) * (grow - 1 + p) / (grow - 1)
    assert animals_killed(recorded, float(recorded_share(t, p, interval)))[0] == pytest.approx(by_formula, rel=1e-12)


def test_simulated_carcasses_are_recorded_as_often_as_the_formula_says():
    rng = np.random.default_rng(5)
    n, t, interval, p = 40_000, 3.0, 2.0, 0.4
    died, stays = rng.uniform(0.0, interval, n), rng.exponential(t, n)
    looks = np.floor((died + stays) / interval).astype(int)  # searches at I, 2 I, ... before it is gone
    found = rng.random(n) < 1.0 - (1.0 - p) ** looks
    g = float(recorded_share(t, p, interval))
    assert found.mean() == pytest.approx(g, abs=4 * np.sqrt(g * (1 - g) / n))


def test_carcasses_that_stay_and_are_always_found_need_no_factor():
    trial = CarcassTrial(1e9, 0.0, 1.0, 0.0, 7.0)
    best, low, high = killed_interval(20.0, trial, np.random.default_rng(1))
    assert best == pytest.approx(20.0)
    assert (low, high) == pytest.approx(tuple(stats.gamma.ppf([0.025, 0.975], 20.5)), rel=0.05)


def test_the_interval_holds_the_truth_as_often_as_it_says():
    # the count, the trial's persistence and its finding are drawn anew each time
    rng = np.random.default_rng(8)
    truth, t, p, interval = 60.0, 5.0, 0.5, 7.0
    held = 0
    for _ in range(300):
        days = rng.exponential(t, 40)
        found = rng.binomial(40, p)
        trial = CarcassTrial(*fit_persistence(days, np.ones(40, dtype=bool)), *fit_found_share(found, 40), interval)
        recorded = rng.poisson(truth * float(recorded_share(t, p, interval)))
        _, low, high = killed_interval(recorded, trial, rng, n_draws=500)
        held += low <= truth <= high
    assert held >= stats.binom.ppf(0.001, 300, 0.92)


def test_persistence_is_days_watched_over_carcasses_gone():
    # exponential by greatest likelihood with two still there at the end: (1 + 3 + 8 + 10 + 10) / 3, se / sqrt(3)
    mean, error = fit_persistence(np.array([1.0, 3.0, 8.0, 10.0, 10.0]), np.array([True, True, True, False, False]))
    assert mean == pytest.approx(32 / 3)
    assert error == pytest.approx(32 / 3 / np.sqrt(3))


def test_a_trial_in_which_none_was_gone_tells_no_persistence():
    with pytest.raises(UsageError, match="every carcass outlasted it; watch longer"):
        fit_persistence(np.array([5.0]), np.array([False]))


def test_found_share_is_that_of_a_beta_distribution():
    expected = stats.beta(14 + 0.5, 20 - 14 + 0.5)
    assert fit_found_share(14, 20) == pytest.approx((expected.mean(), expected.std()))


@pytest.mark.parametrize(("found", "placed"), [(0, 0), (5, 4), (-1, 3)])
def test_an_impossible_trial_is_refused(found, placed):
    with pytest.raises(UsageError, match=f"{found} of {placed} found"):
        fit_found_share(found, placed)


@pytest.mark.parametrize("wrong", [{"persistence_days": 0.0}, {"found_share": 0.0}, {"days_between_searches": -1.0}])
def test_a_trial_without_time_or_finding_is_refused(wrong):
    right = {"persistence_days": 4.0, "found_share": 0.5, "days_between_searches": 7.0}
    with pytest.raises(UsageError, match="expected days above 0 and a share above 0"):
        CarcassTrial(**(right | wrong), persistence_days_se=1.0, found_share_se=0.1)


def test_draws_scatter_about_the_share_as_far_as_the_trial_is_unsure():
    share = [
        draw_recorded_share(CarcassTrial(4.0, e, 0.6, e / 20, 7.0), np.random.default_rng(2), n_draws=4000)
        for e in (0.2, 1.5)
    ]
    assert share[0].mean() == pytest.approx(float(recorded_share(4.0, 0.6, 7.0)), abs=0.01)
    assert share[1].std() > 3 * share[0].std()
    assert ((share[1] > 0) & (share[1] <= 1)).all()
