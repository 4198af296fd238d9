"""Rates of death: right as a whole, drawn towards the usual, fair to places searched more, unknown where unsearched."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from small_networks import network_of

from roadwatch.hotspots.assembly import assemble
from roadwatch.hotspots.density import kernel_matrix
from roadwatch.roads.stretches import cut_stretches
from roadwatch.siting.benefit import DeathRates, death_rates

LONG = {"A": [(0, 0), (20_000, 0)]}


def rates_of(metres, *, searched=np.ones_like, seed=1):
    network = network_of(LONG)
    stretches = cut_stretches(network)
    middle = stretches.start_m + stretches.length_m / 2
    n = len(metres)
    records = pd.DataFrame(
        {
            "edge": 0,
            "offset_m": metres,
            "weight": 1.0,
            "year": 2024 + np.arange(n) % 2,
            "date": [f"2024-05-{1 + k % 28:02d}" for k in range(n)],
            "observer": "a",
        }
    )
    effort = np.where(searched(middle) > 0, searched(middle) * stretches.length_m / 1000, np.nan)
    made = assemble(network, stretches, records, effort_km={2024: effort, 2025: effort}, exposure=None, beyond="search")
    return death_rates(made.study, kernel_matrix(network, stretches)), middle, stretches.length_m


def even(n, low=0.0, high=20_000.0, seed=1):
    return np.random.default_rng(seed).uniform(low, high, n)


def test_all_stretches_together_hold_the_deaths_recorded_per_year():
    rates, _, length_m = rates_of(np.r_[even(150), even(50, 8000, 8500)])
    assert (rates.mean() * length_m).sum() == pytest.approx(100.0, rel=0.1)  # 200 in two years


def test_a_place_of_many_deaths_stands_out_but_less_than_its_raw_count():
    rates, middle, _ = rates_of(np.r_[even(150), even(50, 8000, 8500)])
    per_km = rates.mean() * 1000
    top = per_km[np.abs(middle - 8250) < 50].mean()
    assert middle[per_km.argmax()] == pytest.approx(8250, abs=150)
    assert 20.0 < top < 54.0, "the raw rate is (50 + 3.75) / 0.5 km / 2 years"
    assert per_km[np.abs(middle - 15_000) < 2000].mean() < 6.0


def test_twice_the_search_with_twice_the_records_is_no_deadlier():
    def double_east(middle):
        return np.where(middle > 10_000, 2.0, 1.0)

    rates, middle, _ = rates_of(np.r_[even(150, 0, 10_000), even(300, 10_000, 20_000)], searched=double_east)
    per_km = rates.mean() * 1000
    west, east = per_km[middle < 9000].mean(), per_km[middle > 11_000].mean()
    assert east == pytest.approx(west, rel=0.2)


def test_a_stretch_never_searched_is_unknown():
    rates, middle, _ = rates_of(even(100, 0, 12_000), searched=lambda middle: (middle < 12_000).astype(float))
    assert np.isnan(rates.mean()[middle > 12_100]).all()
    assert np.isnan(rates.draw(np.random.default_rng(1), n_draws=3)[:, middle > 12_100]).all()
    assert np.isfinite(rates.mean()[middle < 11_900]).all()


def test_draws_follow_the_mixture():
    # One gamma distribution: scipy's own tells its quantiles.
    rates, _, _ = rates_of(even(80))
    n = len(rates.is_known)
    plain = DeathRates(np.ones((n, 1)), np.full((n, 1), 3.0), np.full((n, 1), 2.0), 0.01, rates.is_known, rates.shared)
    drawn = plain.draw(np.random.default_rng(2), n_draws=4000)
    assert plain.mean() == pytest.approx(np.full(n, 0.015))
    for p in (0.025, 0.5, 0.975):
        share = (drawn[:, 100] < 0.01 * stats.gamma.ppf(p, 3.0, scale=0.5)).mean()
        assert share == pytest.approx(p, abs=4 * np.sqrt(p * (1 - p) / 4000))


def test_draws_of_a_mixture_have_its_mean():
    rates, _, length_m = rates_of(np.r_[even(150), even(50, 8000, 8500)])
    drawn = rates.draw(np.random.default_rng(3), n_draws=2000) @ length_m
    error = drawn.std() / np.sqrt(2000)
    assert drawn.mean() == pytest.approx((rates.mean() * length_m).sum(), abs=4 * error)


def test_neighbours_move_together_and_far_places_do_not():
    rates, _, _ = rates_of(even(200))
    drawn = rates.draw(np.random.default_rng(4), n_draws=2000)
    assert stats.spearmanr(drawn[:, 100], drawn[:, 101])[0] > 0.8
    assert abs(stats.spearmanr(drawn[:, 100], drawn[:, 300])[0]) < 4 / np.sqrt(2000)
