from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from roadwatch.hatch.ensemble import (
    MOST_YEARS,
    complete_years,
    days_to_fill,
    filled_season,
    own_series,
    season_weather,
)
from roadwatch.hatch.temperatures import Weather


def counted(first: date, last: date, *, mean=False) -> Weather:
    """Weather whose low tells its own day: the day of the month plus a hundred times the month."""
    days = [first + timedelta(days=index) for index in range((last - first).days + 1)]
    low = np.array([day.month * 100.0 + day.day for day in days])
    return Weather(first, low, low + 1, "counted", mean_c=low + 0.9 if mean else None)


def day_of(year: int, month: int, day: int) -> int:
    return (date(year, month, day) - date(year, 1, 1)).days


@pytest.mark.parametrize("year", [2023, 2024])
@pytest.mark.parametrize(("month", "day"), [(1, 1), (2, 28), (3, 1), (7, 4), (12, 31)])
def test_past_years_stand_on_the_same_calendar_days(year, month, day):
    season = season_weather(counted(date(2019, 1, 1), date(2024, 12, 31)), year=year, as_of=date(year, 1, 15))
    np.testing.assert_array_equal(season.past_low_c[:, day_of(year, month, day)], month * 100 + day)


def test_a_leap_day_in_a_common_year_repeats_the_28th():
    season = season_weather(counted(date(2019, 1, 1), date(2024, 12, 31)), year=2024, as_of=date(2024, 1, 15))
    leap = season.past_low_c[:, day_of(2024, 2, 29)]
    np.testing.assert_array_equal(leap, [228, 229, 228, 228, 228])  # 2020 has its own


def test_a_common_season_leaves_the_leap_day_of_past_years_out():
    season = season_weather(counted(date(2019, 1, 1), date(2024, 12, 31)), year=2023, as_of=date(2023, 1, 15))
    assert season.n_days == 365
    assert 229 not in season.past_low_c


def test_the_season_itself_never_invents_its_leap_day():
    weather = counted(date(2020, 3, 1), date(2024, 1, 31))
    season = season_weather(weather, year=2024, as_of=date(2024, 12, 31))
    assert np.isnan(season.low_c[day_of(2024, 2, 29)])


def test_later_days_are_hidden_in_the_season_and_everywhere():
    weather = counted(date(2019, 1, 1), date(2024, 12, 31))
    season = season_weather(weather, year=2023, as_of=date(2023, 7, 1))
    assert season.last_observed == day_of(2023, 7, 1)
    assert list(season.years) == [2019, 2020, 2021, 2022]


def test_a_season_after_the_series_has_no_observed_day():
    season = season_weather(counted(date(2019, 1, 1), date(2022, 12, 31)), year=2024, as_of=date(2024, 7, 1))
    assert season.last_observed == -1
    assert list(season.years) == [2019, 2020, 2021, 2022, 2023]


def test_a_season_before_the_series_has_no_past():
    season = season_weather(counted(date(2019, 1, 1), date(2022, 12, 31)), year=2018, as_of=date(2024, 7, 1))
    assert len(season.years) == 0
    assert season.last_observed == -1


def test_only_days_from_laying_on_that_nothing_covers_are_filled():
    season = season_weather(counted(date(2019, 1, 1), date(2024, 6, 10)), year=2024, as_of=date(2024, 6, 20))
    covered = np.zeros(season.n_days, bool)
    covered[day_of(2024, 6, 11) : day_of(2024, 6, 15)] = True
    to_fill = days_to_fill(season, from_day=day_of(2024, 6, 1), covered=covered)
    assert np.flatnonzero(to_fill)[0] == day_of(2024, 6, 15)
    assert to_fill.sum() == day_of(2024, 12, 31) - day_of(2024, 6, 15) + 1


def test_a_year_with_a_gap_in_the_needed_span_is_left_out_and_one_with_a_gap_before_it_is_not():
    weather = counted(date(2015, 1, 1), date(2024, 6, 10))
    weather.low_c[(date(2017, 8, 1) - weather.first_day).days] = np.nan
    weather.high_c[(date(2018, 2, 1) - weather.first_day).days] = np.nan
    season = season_weather(weather, year=2024, as_of=date(2024, 6, 20))
    members = complete_years(season, to_fill=days_to_fill(season, from_day=day_of(2024, 6, 1)))
    assert list(season.years[members]) == [2015, 2016, 2018, 2019, 2020, 2021, 2022, 2023]


def test_the_most_recent_thirty_years_are_taken():
    season = season_weather(counted(date(1950, 1, 1), date(2024, 6, 10)), year=2024, as_of=date(2024, 6, 20))
    members = complete_years(season, to_fill=days_to_fill(season, from_day=100))
    assert len(members) == MOST_YEARS
    assert season.years[members[-1]] == 2023


def test_observed_days_are_the_same_in_every_member_and_later_ones_are_each_years_own():
    weather = counted(date(2019, 1, 1), date(2024, 6, 10))
    weather.low_c[: (date(2024, 1, 1) - weather.first_day).days] += 5000
    season = season_weather(weather, year=2024, as_of=date(2024, 6, 20))
    low, high = filled_season(season, np.arange(5))
    assert low.shape == high.shape == (5, 366)
    np.testing.assert_array_equal(low[:, day_of(2024, 6, 10)], 610)
    np.testing.assert_array_equal(low[:, day_of(2024, 6, 11)], 5611)


def test_a_season_observed_to_its_end_stands_alone():
    season = season_weather(counted(date(2024, 1, 1), date(2024, 12, 31)), year=2024, as_of=date(2025, 2, 1))
    assert not days_to_fill(season, from_day=0).any()
    low, _ = filled_season(season, np.array([], int))
    np.testing.assert_array_equal(low[0], season.low_c)
    assert (low == low[0]).all()


def test_a_loggers_day_is_centred_on_the_mean_of_its_readings():
    low, high = own_series(counted(date(2024, 6, 1), date(2024, 6, 9), mean=True), year=2024, as_of=date(2024, 6, 5))
    day = day_of(2024, 6, 3)
    assert (low[day] + high[day]) / 2 == pytest.approx(603.9)
    assert high[day] - low[day] == pytest.approx(1.0)
    assert np.isnan(low[day_of(2024, 6, 6)])
