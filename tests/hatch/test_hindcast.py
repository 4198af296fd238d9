"""Past summers against their own forecasts: on three real stations, and on nests drawn from the stated errors."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest
from stations_of_packages import aquacrop_station

from roadwatch.errors import NotEnoughDataError
from roadwatch.hatch.crossing import crossing_days, cumulative_warmth
from roadwatch.hatch.degree_days import degree_days
from roadwatch.hatch.development import hatch_tables, parameters_for
from roadwatch.hatch.hindcast import (
    FEWEST_PAST_YEARS,
    LEADS_D,
    FixedNest,
    weather_cases,
    weather_scores,
)
from roadwatch.hatch.hindcast_full import full_scores
from roadwatch.hatch.nest_heat import nest_offset
from roadwatch.hatch.temperatures import Weather

TABLES = hatch_tables()


@pytest.fixture(scope="module")
def fixed():
    """A slider's nest, laid 1 June, so much warmer than the air that it hatches in most summers of the station."""

    def make(*, offset_c=2.0, lay_day=151.0) -> FixedNest:
        slider = parameters_for("Trachemys scripta", development_region="deep_south", tables=TABLES)
        return FixedNest(slider, replace(nest_offset("partial"), mean_c=offset_c), 6.5, lay_day)

    return make


@pytest.fixture(scope="module")
def stations(clemson):
    """Each with the warmth above its air at which eggs hatch by autumn; the northern two stand for weather only."""
    return {
        "clemson": (clemson, 2.0),
        "champion": (aquacrop_station("champion"), 6.0),
        "brussels": (aquacrop_station("brussels"), 9.0),
    }


@pytest.mark.parametrize("name", ["clemson", "champion", "brussels"])
def test_stretched_windows_hold_within_two_standard_errors_at_three_stations(stations, fixed, name):
    weather, offset = stations[name]
    cases = weather_cases(weather, [fixed(offset_c=offset)], tables=TABLES)
    scores, _ = weather_scores(cases, rng=np.random.default_rng(1))
    every = scores.iloc[-1]
    assert every["n"] == every["years"] * len(LEADS_D)
    for of, promised in (("50", 0.5), ("80", 0.8)):
        assert abs(every[f"widened_{of}"] - promised) <= 2 * every[f"widened_{of}_se"]
        assert every[f"factor_{of}"] >= 1
        assert every[f"widened_{of}"] >= every[f"coverage_{of}"]


@pytest.mark.parametrize(("name", "offset"), [("clemson", 2.0), ("champion", 9.0), ("brussels", 12.0)])
def test_full_windows_hold_within_three_points_on_simulated_nests(stations, fixed, name, offset):
    scores = full_scores(stations[name][0], fixed(offset_c=offset), tables=TABLES, rng=np.random.default_rng(2))
    every = scores.iloc[-1]
    assert every["n"] >= 2 * 2_000
    # three points, and what the draw of 2,000 nests in few summers adds: two standard errors by whole years
    assert every["coverage_50"] == pytest.approx(0.5, abs=0.03 + 2 * every["coverage_50_se"])
    assert every["coverage_80"] == pytest.approx(0.8, abs=0.03 + 2 * every["coverage_80_se"])


def test_at_clemson_full_windows_hold_within_three_points_flat(stations, fixed):
    every = full_scores(stations["clemson"][0], fixed(), tables=TABLES, rng=np.random.default_rng(2)).iloc[-1]
    assert every["coverage_50"] == pytest.approx(0.5, abs=0.03)
    assert every["coverage_80"] == pytest.approx(0.8, abs=0.03)


def test_the_days_that_came_are_the_reference_at_clemson(clemson, fixed):
    # Laid 1 June at +2 degrees: 90 summers worked out apart, mean 69.33 days after laying, spread 5.26, shortest 58.28,
    # longest 83.18. Hindcasts leave out the first years and damp the wave, which moves a mean by less than a day.
    cases = weather_cases(clemson, [fixed()], tables=TABLES)
    truth = cases.truth[cases.lead_d == 60] - 151
    assert truth.mean() == pytest.approx(69.33, abs=1.0)
    assert truth.std() == pytest.approx(5.26, abs=0.5)
    assert 58 <= truth.min() < truth.max() <= 84


def test_a_case_agrees_with_walking_through_its_years(clemson, fixed):
    # An oracle by hand for one year and lead: observed warmth up to the day, then each of the 30 years before.
    cases = weather_cases(clemson, [fixed()], tables=TABLES)
    chosen = (cases.year == 2010) & (cases.lead_d == 30)
    shrink = 1.16 * np.exp(-0.065 / np.sqrt(0.5e-6 * 86400 / np.pi))
    by_year = {}
    days = clemson.days()
    for year in range(1979, 2011):
        here = np.asarray((days.year == year) & ~((days.month == 2) & (days.day == 29)))
        low, high = clemson.low_c[here], clemson.high_c[here]
        middle, half = (low + high) / 2 + 2.0, (high - low) / 2 * shrink
        by_year[year] = degree_days(middle - half, middle + half, base_c=15.74, upper_c=34.0)
    truth = crossing_days(cumulative_warmth(by_year[2010][None]), np.array([151.0]), np.array([804.0]))[0, 0]
    assert cases.truth[chosen][0] == pytest.approx(truth)
    origin = int(truth) - 30
    left = 804.0 - by_year[2010][151:origin].sum()
    expected = []
    for year in range(1980, 2010):
        gathered = np.concatenate([[0], by_year[year][origin:].cumsum()])
        after = int(np.argmax(gathered >= left))
        expected.append(origin + after - 1 + (left - gathered[after - 1]) / (gathered[after] - gathered[after - 1]))
    found = cases.ensemble[chosen][0]
    np.testing.assert_allclose(np.sort(found[~np.isnan(found)]), np.sort(expected))


def test_no_member_is_of_the_same_year_or_later_or_older_than_thirty_years(clemson, fixed):
    cases = weather_cases(clemson, [fixed()], tables=TABLES)
    years = np.arange(1930, 2021)
    used = ~np.isnan(cases.ensemble)
    for row in range(0, len(cases.year), 37):
        members = years[used[row]]
        assert members.max() < cases.year[row]
        assert FEWEST_PAST_YEARS <= len(members) <= 30
        assert 1962 not in members  # a whole September is missing


def test_changing_the_future_changes_no_earlier_forecast(clemson, fixed):
    until = (date(2000, 1, 1) - clemson.first_day).days
    low, high = clemson.low_c.copy(), clemson.high_c.copy()
    low[until:] += 5
    high[until:] += 5
    hot = Weather(clemson.first_day, low, high, "hot")
    tables = [
        weather_scores(weather_cases(w, [fixed()], tables=TABLES), rng=np.random.default_rng(1))[1]
        for w in (clemson, hot)
    ]
    before = [table[table["year"] < 2000].reset_index(drop=True) for table in tables]
    pd.testing.assert_frame_equal(*before)
    assert not tables[0].equals(tables[1])


def test_nearer_to_hatching_the_forecast_is_narrower_and_better(clemson, fixed):
    scores, _ = weather_scores(weather_cases(clemson, [fixed()], tables=TABLES), rng=np.random.default_rng(1))
    leads = scores.iloc[:-1]
    assert leads["width_80"].is_monotonic_decreasing
    assert leads["crps"].is_monotonic_decreasing
    assert leads["skill"].is_monotonic_increasing
    assert (scores["skill"] > 0).all()
    assert scores["pit_mean"].between(0.4, 0.6).all()


def test_nests_laid_on_several_days_are_all_scored(clemson, fixed):
    nests = [fixed(lay_day=day) for day in (121.0, 151.0)] + [fixed(offset_c=3.0)]
    one = weather_cases(clemson, nests[:1], tables=TABLES)
    cases = weather_cases(clemson, nests, tables=TABLES)
    assert len(cases.year) == pytest.approx(3 * len(one.year), abs=2 * len(LEADS_D))
    np.testing.assert_allclose(np.sort(cases.truth)[: len(one.year) // 2], np.sort(cases.truth)[: len(one.year) // 2])


def test_summers_without_hatching_are_left_out_and_counted(stations, fixed):
    cases = weather_cases(stations["champion"][0], [fixed(offset_c=-3.0)], tables=TABLES)
    assert cases.n_never > 0
    assert np.isfinite(cases.truth).all()


def test_a_short_record_is_told_to_be_too_short(years_of_weather, fixed):
    short = years_of_weather(first=2016)
    with pytest.raises(NotEnoughDataError, match="9 complete earlier years"):
        weather_cases(short, [fixed()], tables=TABLES)
    with pytest.raises(NotEnoughDataError, match="9 complete earlier years"):
        full_scores(short, fixed(), tables=TABLES, rng=np.random.default_rng(1))


def test_progress_is_told_year_by_year(years_of_weather, fixed):
    told = []
    full_scores(
        years_of_weather(first=2010),
        fixed(),
        tables=TABLES,
        rng=np.random.default_rng(1),
        n_nest_years=20,
        progress=lambda done, total: told.append((done, total)),
    )
    assert told == [(k, 6) for k in range(1, 7)]


def test_windows_that_leave_out_an_error_fail_the_same_test(stations, fixed):
    # The score can fail: a nest taken to be known to 0.1 degree, among nests that scatter by 1.5, is not covered.
    clemson, _ = stations["clemson"]
    honest = fixed()
    sure = replace(honest, offset=replace(honest.offset, sd_c=0.1))
    scored = full_scores(clemson, sure, tables=TABLES, rng=np.random.default_rng(2), drawn_as=honest).iloc[-1]
    assert scored["coverage_80"] < 0.6
