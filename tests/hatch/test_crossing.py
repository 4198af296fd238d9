from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from roadwatch.hatch.crossing import crossing_days, cumulative_warmth, order_statistics, warmth_at
from roadwatch.hatch.degree_days import degree_days
from roadwatch.hatch.ensemble import season_weather
from roadwatch.hatch.temperatures import daily_weather

# Reference values, computed independently of this package from the same open series (Clemson, South Carolina,
# 1930-2020; base 15.74, 804 degree-days, single sine, no cut-off; the low of 1936-07-18 and that of 1933-07-05 left
# out; 1962 not usable). Month of laying (the 1st, 0 h), air + offset, then mean, sd, least, 10 %, 50 %, 90 %, most
# days to hatching over 90 years (in July at + 0 over the 88 that reach the sum).
REFERENCE = [
    (5, 0, 97.41, 7.67, 82.61, 88.73, 96.22, 108.92, 116.80),
    (5, 2, 82.75, 5.73, 71.46, 75.98, 82.51, 89.65, 97.07),
    (5, 3, 76.94, 5.18, 66.55, 70.65, 76.52, 83.18, 89.52),
    (6, 0, 83.22, 7.78, 67.61, 74.76, 82.08, 93.73, 107.92),
    (6, 2, 69.33, 5.26, 58.28, 63.28, 68.80, 76.61, 83.18),
    (6, 3, 64.06, 4.51, 54.89, 58.28, 63.99, 70.76, 75.92),
    (7, 0, 87.55, 13.64, 66.25, 74.49, 85.40, 103.81, 136.07),
    (7, 2, 67.47, 5.80, 56.37, 61.00, 67.27, 74.64, 85.24),
    (7, 3, 61.51, 4.67, 52.10, 56.75, 61.04, 67.56, 76.43),
]
SINGLE_YEARS = {1988: 83.543, 1994: 87.469, 2010: 67.615, 2020: 77.653}
JUNE_SUMS = {1988: 258.65, 1994: 278.60, 2010: 341.91, 2020: 255.94}


@pytest.fixture(scope="module")
def clemson_years(clemson_rows):
    rows = clemson_rows.copy()
    rows.loc[rows["date"].isin(["1933-07-05", "1936-07-18"]), "tmin_c"] = np.nan
    season = season_weather(daily_weather(rows), year=2020, as_of=date(2020, 12, 31))
    low, high = np.vstack([season.past_low_c, season.low_c]), np.vstack([season.past_high_c, season.high_c])
    return np.arange(1930, 2021), low, high


def days_to_hatch(clemson_years, month: int, offset_c: float):
    years, low, high = clemson_years
    laid = (date(2020, month, 1) - date(2020, 1, 1)).days
    usable = ~np.isnan(low + high)[:, laid:].any(axis=1)
    warmth = cumulative_warmth(degree_days(low[usable] + offset_c, high[usable] + offset_c, base_c=15.74))
    return years[usable], crossing_days(warmth, np.array([float(laid)]), np.array([804.0]))[0] - laid


@pytest.mark.parametrize(("month", "offset_c", "mean", "sd", "least", "p10", "p50", "p90", "most"), REFERENCE)
def test_ninety_years_at_clemson_meet_the_reference(
    clemson_years, month, offset_c, mean, sd, least, p10, p50, p90, most
):
    years, days = days_to_hatch(clemson_years, month, offset_c)
    reached = days[np.isfinite(days)]
    assert len(years) == 90
    assert 1962 not in years
    assert len(reached) == (88 if (month, offset_c) == (7, 0) else 90)
    found = [reached.mean(), reached.std(ddof=1), reached.min(), *np.percentile(reached, [10, 50, 90]), reached.max()]
    np.testing.assert_allclose(found, [mean, sd, least, p10, p50, p90, most], atol=0.011)


@pytest.mark.parametrize(("year", "days"), list(SINGLE_YEARS.items()))
def test_single_summers_at_clemson_meet_the_reference(clemson_years, year, days):
    years, found = days_to_hatch(clemson_years, 6, 0)
    assert found[years == year][0] == pytest.approx(days, abs=0.0006)


@pytest.mark.parametrize(("year", "total"), list(JUNE_SUMS.items()))
def test_junes_at_clemson_meet_the_reference(clemson_years, year, total):
    years, low, high = clemson_years
    june = slice((date(2020, 6, 1) - date(2020, 1, 1)).days, (date(2020, 7, 1) - date(2020, 1, 1)).days)
    row = int(np.flatnonzero(years == year)[0])
    assert degree_days(low[row, june], high[row, june], base_c=15.74).sum() == pytest.approx(total, abs=0.006)


def test_steady_warmth_takes_the_sum_over_the_excess():
    # By hand: 10 degree-days a day, 25 needed: two and a half days after laying at noon of the second day.
    warmth = cumulative_warmth(np.full((1, 10), 10.0))
    assert crossing_days(warmth, np.array([1.5]), np.array([25.0]))[0, 0] == pytest.approx(4.0)


def test_a_sum_reached_at_midnight_belongs_to_the_day_that_ends():
    warmth = cumulative_warmth(np.full((1, 4), 10.0))
    assert crossing_days(warmth, np.array([0.0]), np.array([40.0]))[0, 0] == 4.0


def test_a_sum_never_reached_is_infinite_and_not_dropped():
    warmth = cumulative_warmth(np.full((2, 4), 10.0) * np.array([[1.0], [2.0]]))
    np.testing.assert_array_equal(crossing_days(warmth, np.array([0.0]), np.array([60.0])), [[np.inf, 3.0]])


def test_days_without_warmth_are_waited_through():
    warmth = cumulative_warmth(np.array([[5.0, 0.0, 0.0, 5.0]]))
    assert crossing_days(warmth, np.array([0.0]), np.array([7.5]))[0, 0] == pytest.approx(3.5)


def test_laying_and_sum_can_differ_by_row():
    warmth = cumulative_warmth(np.full((2, 10), 10.0))
    lay, needed = np.array([[0.0, 2.0]]), np.array([[10.0, 30.0]])
    np.testing.assert_allclose(crossing_days(warmth, lay, needed), [[1.0, 5.0]])


@given(
    daily=arrays(float, (3, 30), elements=st.floats(0, 20).map(lambda warmth: round(warmth, 3))),
    lay=st.floats(0, 29),
    needed=st.floats(1, 300),
)
def test_any_crossing_agrees_with_walking_day_by_day(daily, lay, needed):
    found = crossing_days(cumulative_warmth(daily), np.array([lay]), np.array([needed]))[0]
    for days, crossed in zip(daily, found, strict=True):
        assert crossed == pytest.approx(walked(days, lay, needed), abs=1e-6)


def walked(days, lay: float, needed: float) -> float:
    """The first moment at which the sum since laying is complete, found by adding one day after another."""
    gathered = 0.0
    for day, warmth in enumerate(days):
        share = min(max(day + 1 - lay, 0.0), 1.0)
        if gathered + warmth * share >= needed - 1e-9 and share > 0:
            return day + 1 - share + (needed - gathered) / warmth if warmth > 0 else day + 1 - share
        gathered += warmth * share
    return np.inf


@given(daily=arrays(float, (1, 40), elements=st.floats(0.5, 20)), more=st.floats(0, 5), needed=st.floats(1, 200))
def test_more_warmth_never_hatches_later(daily, more, needed):
    lay, total = np.array([3.0]), np.array([needed])
    cool = crossing_days(cumulative_warmth(daily), lay, total)[0, 0]
    assert crossing_days(cumulative_warmth(daily + more), lay, total)[0, 0] <= cool + 1e-9


def test_warmth_between_days_is_shared_out_evenly():
    warmth = cumulative_warmth(np.array([[4.0, 8.0]]))
    np.testing.assert_allclose(warmth_at(warmth, np.array([0.5, 1.0, 1.25, 2.0])), [[2], [4], [6], [12]])


def test_moments_outside_the_season_count_as_its_ends():
    warmth = cumulative_warmth(np.array([[4.0, 8.0]]))
    np.testing.assert_allclose(warmth_at(warmth, np.array([-3.0, 9.0])), [[0], [12]])


def test_a_missing_day_counts_as_no_warmth():
    np.testing.assert_array_equal(cumulative_warmth(np.array([[1.0, np.nan, 2.0]])), [[0, 1, 1, 3]])


def test_quantiles_are_members_of_the_draws():
    draws = np.arange(1.0, 101.0)[None]
    np.testing.assert_array_equal(order_statistics(draws, coverage=0.8), [[11.0, 51.0, 90.0]])


def test_eighty_of_a_hundred_draws_lie_within_an_eighty_percent_window():
    draws = np.random.default_rng(3).normal(size=(50, 100))
    window = order_statistics(draws, coverage=0.8)
    inside = (draws >= window[:, [0]]) & (draws <= window[:, [2]])
    np.testing.assert_array_equal(inside.sum(axis=1), 80)


def test_draws_that_never_hatch_push_the_late_end_out():
    draws = np.append(np.arange(80.0), np.full(20, np.inf))[None]
    early, likely, late = order_statistics(draws, coverage=0.8)[0]
    assert (early, likely) == (10.0, 50.0)
    assert np.isinf(late)


def test_the_order_of_draws_does_not_matter():
    draws = np.random.default_rng(4).normal(size=(1, 99))
    shuffled = draws[:, np.random.default_rng(5).permutation(99)]
    np.testing.assert_array_equal(order_statistics(draws, coverage=0.5), order_statistics(shuffled, coverage=0.5))


def test_vectorised_crossings_agree_with_a_table_walked_by_pandas(clemson):
    # An oracle that shares no code: pandas slices, adds up and looks for the first day at or above the sum.
    season = season_weather(clemson, year=2020, as_of=date(2020, 12, 31))
    daily = degree_days(season.past_low_c[50:54] + 2, season.past_high_c[50:54] + 2, base_c=15.74)
    rng = np.random.default_rng(8)
    lay, needed = rng.integers(120, 200, 25).astype(float), rng.uniform(600, 1000, 25)
    found = crossing_days(cumulative_warmth(daily), lay, needed)
    for nest in range(25):
        for row in range(4):
            gathered = pd.Series(daily[row]).iloc[int(lay[nest]) :].cumsum()
            reached = gathered.index[gathered >= needed[nest]]
            expected = reached[0] if len(reached) else np.inf
            assert np.ceil(found[nest, row]) - 1 == expected


@pytest.mark.parametrize(("year", "day_of_year"), [(1988, 238), (1994, 239), (2010, 219), (2020, 230)])
def test_days_of_exceedance_are_those_of_a_climate_library(clemson, year, day_of_year):
    # Golden values of xclim 0.62.0, degree_days_exceedance_date on (low + high) / 2, threshold 15.74, sum 804,
    # operator '>', after 06-01: made twice, apart from this project, and stored, as the library's 18 dependencies are
    # not installed for four numbers. The sum by numpy below is a second oracle that runs every time.
    first = (date(year, 6, 1) - clemson.first_day).days
    low, high = clemson.low_c[first : first + 214], clemson.high_c[first : first + 214]
    warmth = cumulative_warmth(degree_days(low, high, base_c=15.74, curve="simple")[None])
    crossed = crossing_days(warmth, np.zeros(1), np.array([804.0]))[0, 0]
    by_numpy = int(np.argmax(np.cumsum(np.maximum((low + high) / 2 - 15.74, 0.0)) > 804.0))
    assert int(crossed) == by_numpy
    # xclim names the day on whose end the sum is passed; the crossing lies inside that day.
    assert date(year, 6, 1).timetuple().tm_yday + int(crossed) == day_of_year
