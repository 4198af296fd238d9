from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from roadwatch.hatch.ensemble import season_weather
from roadwatch.hatch.forecasts import forecast_weather
from roadwatch.hatch.temperatures import daily_weather
from roadwatch.hatch.window import project_windows

AS_OF = date(2024, 7, 15)


def foretold(*days, issued="2024-07-12T06:00:00-04:00", low=20.0, high=34.0, **changes) -> pd.DataFrame:
    """Invented rows of a daily forecast."""
    row = {"series_id": "F", "kind": "forecast", "issued_at": issued, "tmin_c": low, "tmax_c": high}
    return pd.DataFrame([{**row, "date": day, **changes} for day in days])


def test_days_of_a_forecast_are_taken_up_to_its_reach():
    days = [str(day.date()) for day in pd.date_range("2024-07-12", periods=20)]
    weather = forecast_weather(foretold(*days), as_of=AS_OF)
    assert (weather.first_day, weather.last_day) == (date(2024, 7, 12), date(2024, 7, 22))
    assert weather.source == "the forecast F issued 2024-07-12"


def test_what_was_issued_after_the_day_asked_for_is_not_known_yet():
    assert forecast_weather(foretold("2024-07-17", issued="2024-07-16"), as_of=AS_OF) is None


def test_a_forecast_without_its_issue_cannot_be_used():
    assert forecast_weather(foretold("2024-07-17", issued=None), as_of=AS_OF) is None


def test_the_latest_issue_speaks_for_a_day():
    rows = pd.concat([foretold("2024-07-16", low=25), foretold("2024-07-16", issued="2024-07-14", low=18)])
    assert forecast_weather(rows, as_of=AS_OF).low_c[0] == 18
    assert forecast_weather(rows, as_of=date(2024, 7, 13)).low_c[0] == 25


def test_a_forecast_by_the_hour_gives_the_days_extremes():
    hours = pd.date_range("2024-07-16", periods=8, freq="3h")
    rows = pd.DataFrame(
        {
            "series_id": "F",
            "kind": "forecast",
            "issued_at": "2024-07-15T00:00:00-04:00",
            "at": hours.strftime("%Y-%m-%dT%H:%M:%S-04:00"),
            "temp_c": [22, 20, 23, 28, 32, 33, 29, 25],
        }
    )
    weather = forecast_weather(rows, as_of=AS_OF)
    assert (weather.low_c[0], weather.high_c[0]) == (20, 33)
    assert forecast_weather(rows.iloc[:5], as_of=AS_OF) is None


@pytest.mark.parametrize("wrong", [{"tmin_c": 40.0}, {"tmax_c": 99.0}, {"tmin_c": np.nan}])
def test_a_day_that_cannot_be_is_left_out(wrong):
    assert forecast_weather(foretold("2024-07-16", **wrong), as_of=AS_OF) is None


def test_a_table_without_forecasts_gives_none():
    assert forecast_weather(pd.DataFrame({"series_id": ["S"], "tmin_c": [1.0]}), as_of=AS_OF) is None


def test_a_forecast_is_no_reading_whatever_its_series_is_called():
    rows = pd.concat(
        [foretold("2024-07-16", series_id="S"), foretold("2024-07-12", kind="air", issued=None, series_id="S", low=10)]
    )
    weather = daily_weather(rows, series_id="S")
    assert (weather.first_day, weather.last_day, weather.low_c[0]) == (date(2024, 7, 12), date(2024, 7, 12), 10)


def test_a_forecast_stands_only_for_days_without_a_reading(years_of_weather):
    weather = years_of_weather()
    forecast = forecast_weather(foretold("2024-07-12", "2024-07-16", "2024-07-17", low=1.0, high=2.0), as_of=AS_OF)
    season = season_weather(weather, year=2024, as_of=AS_OF, forecast=forecast)
    day = (date(2024, 7, 16) - date(2024, 1, 1)).days
    assert season.low_c[day] == 1.0
    assert season.low_c[day - 4] != 1.0
    assert season.is_forecast.sum() == 2
    assert season.last_observed == day - 1
    assert season.is_known.sum() == season.is_observed.sum() + 2


@pytest.fixture
def told(years_of_weather, nest):
    """Windows on 15 July from a station that was last read on the 10th."""

    def make(*days, **changes):
        weather = years_of_weather()
        until = (date(2024, 7, 11) - weather.first_day).days
        low, high = weather.low_c[:until], weather.high_c[:until]
        station = type(weather)(weather.first_day, low, high, "S")
        forecast = forecast_weather(foretold(*days, **changes), as_of=AS_OF) if days else None
        return project_windows(
            pd.DataFrame([nest()]),
            station,
            region="AL_Mobile_delta",
            as_of=AS_OF,
            rng=np.random.default_rng(1),
            forecast=forecast,
        )

    return make


def test_days_filled_by_forecast_and_by_past_years_are_counted_in_the_first_note(told):
    days = ["2024-07-12", "2024-07-13", "2024-07-14", "2024-07-16", "2024-07-17"]
    assert told(*days).notes[0] == (
        "2024: temperatures of S are observed up to 2024-07-10; of the 5 days from then to 2024-07-15, 3 are filled "
        "from the forecast F issued 2024-07-12, 2 from past years; 2 days after it come from the forecast F issued "
        "2024-07-12."
    )


def test_without_a_forecast_the_first_note_counts_past_years_alone(told):
    assert told().notes[0] == (
        "2024: temperatures of S are observed up to 2024-07-10; the 5 days from then to 2024-07-15 are filled from "
        "past years."
    )


def test_a_hot_forecast_brings_hatching_forward(told):
    days = [str(day.date()) for day in pd.date_range("2024-07-12", periods=11)]
    hot, cool = (told(*days, low=low, high=low + 10).table.iloc[0] for low in (28.0, 18.0))
    assert hot["hatch_likely"] < cool["hatch_likely"]
    assert hot["progress"] > cool["progress"]
