"""How small a fall could have been seen."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from roadwatch.siting.evaluation_model import fit_baci
from roadwatch.siting.evaluation_power import is_fall_seen, power, smallest_fall

KM = np.array([10.0, 10.0, 100.0, 100.0])
GROUPS = ((1, 1), (1, 0), (0, 1), (0, 0))


def rows_of(deaths) -> pd.DataFrame:
    return pd.DataFrame(
        {"impact": g[0], "after": g[1], "deaths": d, "km": k} for g, d, k in zip(GROUPS, deaths, KM, strict=True)
    )


def test_a_fall_is_seen_where_the_fitted_interval_lies_below_1():
    rng = np.random.default_rng(2)
    deaths = rng.poisson([6, 14, 40, 40], (200, 4)).astype(float)
    seen = is_fall_seen(deaths, KM)
    assert 0 < seen.sum() < len(seen)
    assert seen.tolist() == [fit_baci(rows_of(one)).high < 1.0 for one in deaths]


def test_power_agrees_with_the_normal_formula_where_counts_are_large():
    # Textbook: chance = Phi(|log ratio| / SE - 1.96), SE from the reciprocals of the expected counts.
    expected, fall = np.array([200.0, 200.0, 2000.0, 2000.0]), 0.25
    error = np.sqrt((1.0 / (expected * [1 - fall, 1, 1, 1])).sum())
    formula = stats.norm.cdf(-np.log(1 - fall) / error - 1.959964)
    found = power(expected, KM, fall=fall, rng=np.random.default_rng(3), n_draws=4000)
    assert found == pytest.approx(formula, abs=4 * np.sqrt(formula * (1 - formula) / 4000) + 0.01)


def test_without_a_fall_the_chance_is_no_more_than_2_5_in_100():
    n = 4000
    found = power(np.array([12.0, 12.0, 60.0, 60.0]), KM, fall=0.0, rng=np.random.default_rng(4), n_draws=n)
    assert found * n <= stats.binom.ppf(0.999, n, 0.03)  # the log scale may be off by half a percent at 12


def test_the_smallest_fall_is_seen_with_80_percent_by_a_simulation_of_its_own():
    expected = np.array([30.0, 30.0, 200.0, 200.0])
    fall = smallest_fall(expected, KM, rng=np.random.default_rng(5), n_draws=1000)
    rng, n = np.random.default_rng(6), 600
    deaths = rng.poisson(expected * [1 - fall, 1, 1, 1], (n, 4))
    seen = sum(fit_baci(rows_of(one)).high < 1.0 for one in deaths)
    assert stats.binom.ppf(0.001, n, 0.76) <= seen <= stats.binom.ppf(0.999, n, 0.84)


def test_more_search_sees_smaller_falls():
    few, many = np.array([10.0, 10.0, 40.0, 40.0]), np.array([80.0, 80.0, 320.0, 320.0])
    rng = np.random.default_rng(7)
    assert smallest_fall(many, KM, rng=rng) < smallest_fall(few, KM, rng=rng)


def test_with_next_to_no_deaths_no_fall_could_be_seen():
    assert np.isnan(smallest_fall(np.array([1.0, 1.0, 5.0, 5.0]), KM, rng=np.random.default_rng(8)))


def test_uneven_years_hide_falls():
    expected, rng = np.array([60.0, 60.0, 300.0, 300.0]), np.random.default_rng(9)
    even = power(expected, KM, fall=0.4, rng=rng)
    assert power(expected, KM, fall=0.4, rng=rng, extra_variance=0.2) < even


def test_the_same_seed_gives_the_same_answer():
    expected = np.array([30.0, 30.0, 200.0, 200.0])
    one, other = (smallest_fall(expected, KM, rng=np.random.default_rng(1)) for _ in range(2))
    assert one == other


def test_where_every_fall_would_be_seen_the_smallest_that_was_tried_is_told():
    expected = np.array([40_000.0, 40_000.0, 400_000.0, 400_000.0])
    assert smallest_fall(expected, KM, rng=np.random.default_rng(10)) == 0.05
