from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from roadwatch.errors import NotEnoughDataError, UsageError
from roadwatch.hatch.temperatures import Weather, daily_weather, nest_loggers


def daily_rows(lows, highs, *, first="2024-06-01", series="S", kind="air") -> pd.DataFrame:
    days = pd.date_range(first, periods=len(lows), freq="D").strftime("%Y-%m-%d")
    return pd.DataFrame({"series_id": series, "kind": kind, "date": days, "tmin_c": lows, "tmax_c": highs})


def readings(celsius, *, start="2024-06-01T00:00:00-04:00", step_h=1.0, series="L", kind="nest") -> pd.DataFrame:
    first = pd.Timestamp(start)
    at = [(first + pd.Timedelta(hours=step_h * index)).isoformat() for index in range(len(celsius))]
    return pd.DataFrame({"series_id": series, "kind": kind, "at": at, "temp_c": celsius})


def test_daily_rows_come_back_day_by_day():
    weather = daily_weather(daily_rows([10.0, 11.0], [20.0, 22.0]))
    assert (weather.first_day, weather.last_day, weather.source) == (date(2024, 6, 1), date(2024, 6, 2), "S")
    np.testing.assert_array_equal(weather.low_c, [10, 11])
    np.testing.assert_array_equal(weather.high_c, [20, 22])
    assert weather.notes == ()


def test_the_order_of_rows_does_not_matter():
    rows = daily_rows([10.0, 11.0, 12.0], [20.0, 22.0, 24.0])
    shuffled = daily_weather(rows.iloc[[2, 0, 1]])
    np.testing.assert_array_equal(shuffled.low_c, daily_weather(rows).low_c)


def test_a_gap_of_three_days_is_interpolated_and_said():
    weather = daily_weather(daily_rows([10, np.nan, np.nan, np.nan, 14], [20, np.nan, np.nan, np.nan, 28]))
    np.testing.assert_allclose(weather.low_c, [10, 11, 12, 13, 14])
    np.testing.assert_allclose(weather.high_c, [20, 22, 24, 26, 28])
    assert weather.notes == ("S: 3 days in gaps of up to 3 days were interpolated.",)


def test_a_gap_of_four_days_stays_blank_and_said():
    weather = daily_weather(daily_rows([10, *[np.nan] * 4, 14], [20, *[np.nan] * 4, 28]))
    np.testing.assert_array_equal(np.isnan(weather.low_c), [False, True, True, True, True, False])
    assert weather.notes == ("S: 4 days in longer gaps stay blank.",)


def test_days_absent_from_the_file_are_gaps_too():
    rows = pd.concat([daily_rows([10.0], [20.0]), daily_rows([12.0], [24.0], first="2024-06-03")])
    np.testing.assert_allclose(daily_weather(rows).low_c, [10, 11, 12])


def test_nothing_is_made_up_before_the_first_or_after_the_last_value():
    weather = daily_weather(daily_rows([np.nan, 10, 11, np.nan], [20.0, 20, 21, 22]))
    assert np.isnan(weather.low_c[[0, 3]]).all()


def test_an_interpolated_low_never_passes_the_high_of_its_day():
    weather = daily_weather(daily_rows([20.0, np.nan, 20.0], [30.0, 15.0, 30.0]))
    assert weather.low_c[1] == 15.0


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (-95.0, 20.0, "1 days outside bounds left blank, first 2024-06-02 (-95.0 °C)"),
        (20.0, 61.0, "1 days outside bounds left blank, first 2024-06-02 (61.0 °C)"),
        (25.0, 20.0, "1 days with the low above the high left blank, first 2024-06-02 (25.0 to 20.0 °C)"),
        (-57.0, 33.0, "1 days with a range above 56 °C left blank, first 2024-06-02 (-57.0 to 33.0 °C)"),
    ],
)
def test_what_cannot_be_is_left_blank_and_named(low, high, words):
    weather = daily_weather(daily_rows([10.0, low, 14.0], [20.0, high, 24.0]))
    assert weather.notes[0] == f"S: {words}."
    assert weather.low_c[1] <= weather.high_c[1]  # interpolated afterwards
    assert 10 <= weather.low_c[1] <= 20


def test_the_real_station_is_cleaned_as_its_known_faults_ask(clemson):
    # Known from the file: 90 days absent (whole Sep 1962 and Feb 2005), one low of -72 degrees F on 1936-07-18.
    assert (clemson.first_day, clemson.last_day) == (date(1930, 1, 1), date(2020, 12, 31))
    assert len(clemson.low_c) == 33_238
    assert clemson.notes[0].startswith("clemson: 1 days with a range above 56 °C left blank, first 1936-07-18 (-57.8")
    september = slice((date(1962, 9, 1) - clemson.first_day).days, (date(1962, 9, 30) - clemson.first_day).days + 1)
    february = slice((date(2005, 2, 1) - clemson.first_day).days, (date(2005, 2, 28) - clemson.first_day).days + 1)
    assert np.isnan(clemson.low_c[september]).all()
    assert np.isnan(clemson.low_c[february]).all()
    assert np.isnan(clemson.low_c).sum() == 30 + 28


def test_the_longest_air_series_is_taken_and_the_others_named():
    rows = pd.concat(
        [
            daily_rows([10.0], [20.0], series="short"),
            daily_rows([11.0, 12.0], [21.0, 22.0], series="long", kind=None),
            daily_rows([25.0] * 9, [26.0] * 9, series="soil", kind="soil"),
            daily_rows([25.0] * 9, [26.0] * 9, series="next week", kind="forecast"),
        ]
    )
    weather = daily_weather(rows)
    assert weather.source == "long"
    assert weather.notes == ("Of 2 air series, long has the most days (2) and was taken; not: short.",)


@pytest.mark.parametrize("kind", [None, "air"])
def test_a_logger_that_a_nest_names_is_never_the_station_however_long_it_is(kind):
    rows = pd.concat(
        [daily_rows([11.0], [21.0], series="S"), daily_rows([25.0] * 9, [26.0] * 9, series="L", kind=kind)]
    )
    assert daily_weather(rows).source == "L"
    weather = daily_weather(rows, not_series=[None, float("nan"), "K; L"])
    assert weather.source == "S"
    assert weather.notes == ("Not taken for the station, as nests name them as loggers: L.",)
    with pytest.raises(NotEnoughDataError, match=r"no air temperature series besides the nests' loggers \(L, S\);"):
        daily_weather(rows, not_series=["S;L"])


def test_a_named_series_is_taken_whatever_it_measured():
    rows = pd.concat([daily_rows([10.0], [20.0]), daily_rows([25.0], [26.0], series="soil", kind="soil")])
    assert daily_weather(rows, series_id="soil").low_c[0] == 25.0


def test_an_unknown_series_is_refused_and_the_known_ones_named():
    with pytest.raises(UsageError, match="there is no temperature series 'X'; choose one of S"):
        daily_weather(daily_rows([10.0], [20.0]), series_id="X")


@pytest.mark.parametrize("rows", [pd.DataFrame(), daily_rows([25.0], [26.0], kind="soil"), daily_rows([], [])])
def test_without_an_air_series_there_is_no_weather(rows):
    with pytest.raises(NotEnoughDataError, match="no air temperature series; ingest a weather station's daily lows"):
        daily_weather(rows)


def test_a_series_with_no_complete_day_is_refused():
    with pytest.raises(NotEnoughDataError, match="series L has not one complete day"):
        daily_weather(readings([20.0, 21.0], kind="air"))


def test_a_day_that_stands_twice_is_kept_once_and_said():
    rows = pd.concat([daily_rows([10.0, 11.0], [20.0, 21.0]), daily_rows([9.0], [19.0])])
    weather = daily_weather(rows)
    np.testing.assert_array_equal(weather.low_c, [10, 11])
    assert weather.notes == ("S: 1 days stand twice; the first of each was kept.",)


def test_hourly_readings_become_the_low_high_and_mean_of_each_local_day():
    # By hand: a saw from 20 to 43 in steps of one; low, high and middle of a day's 24 readings.
    weather = daily_weather(readings([*np.arange(20.0, 44.0)] * 3, kind="air"))
    np.testing.assert_array_equal(weather.low_c, [20, 20, 20])
    np.testing.assert_array_equal(weather.high_c, [43, 43, 43])
    assert weather.mean_c is not None
    assert weather.mean_c[1] == pytest.approx(31.5)


def test_a_day_cut_short_by_launch_or_retrieval_has_no_low_and_high():
    weather = daily_weather(readings([25.0] * 60, start="2024-06-01T15:00:00-04:00", kind="air"))
    assert (weather.first_day, weather.last_day) == (date(2024, 6, 2), date(2024, 6, 3))
    assert weather.notes == ("L: 2 days with more than 6 hours between readings have no low and high.",)


def test_a_dropped_afternoon_leaves_its_day_to_the_gap_rule():
    table = readings([*[20.0] * 24, *[30.0] * 24, *[40.0] * 24], kind="air")
    weather = daily_weather(table.drop(index=range(34, 44)))
    np.testing.assert_allclose(weather.low_c, [20, 30, 40])
    assert weather.notes[-1] == "L: 1 days in gaps of up to 3 days were interpolated."


def test_the_mean_weighs_readings_by_the_time_they_stand_for():
    # By hand: 20 degrees every hour until noon, 30 every three hours after it. Each reading stands for half the time
    # to its neighbours, so the twelve of 20 stand for 12 h (the first counts midnight from the day before).
    cool = readings([20.0] * 13, start="2024-06-02T00:00:00-04:00")
    warm = readings([30.0] * 4, start="2024-06-02T15:00:00-04:00", step_h=3)
    before = readings([20.0] * 24, start="2024-06-01T00:00:00-04:00")
    weather = daily_weather(pd.concat([before, cool, warm.iloc[:3]]), series_id="L")
    assert weather.mean_c is not None
    hours_20, hours_30 = 12 + (1 + 3) / 2, 3 + 3 + (3 + 3) / 2
    assert weather.mean_c[1] == pytest.approx((20 * hours_20 + 30 * hours_30) / (hours_20 + hours_30))


def test_an_exact_repeat_of_a_reading_changes_nothing():
    table = readings([*np.arange(20.0, 44.0)] * 2)
    twice = pd.concat([table, table.iloc[[5]]])
    first, second = daily_weather(table, series_id="L"), daily_weather(twice, series_id="L")
    np.testing.assert_array_equal(first.mean_c, second.mean_c)


def test_the_hour_that_comes_twice_in_autumn_is_kept_twice():
    # New York, 3 November 2013: 25 hours, 01:00 local both at -04:00 and at -05:00.
    utc = pd.date_range("2013-11-02T04:00:00Z", periods=73, freq="h")
    at = [moment.isoformat() for moment in utc.tz_convert("America/New_York")]
    celsius = np.full(73, 20.0)
    celsius[25:27] = 10.0, 30.0  # the two readings of 01:00 on 3 November
    table = pd.DataFrame({"series_id": "L", "kind": "nest", "at": at, "temp_c": celsius})
    weather = daily_weather(table, series_id="L")
    assert (weather.low_c[1], weather.high_c[1]) == (10.0, 30.0)
    assert len(weather.low_c) == 3
    assert weather.mean_c is not None
    assert weather.mean_c[1] == pytest.approx(20.0)


def test_loggers_are_found_by_the_names_that_nests_give():
    table = pd.concat([readings([25.0] * 48), readings([26.0] * 48, series="M"), readings([27.0] * 2, series="cut")])
    found = nest_loggers(table, logger_ids=["L", None, "L", "absent", "cut", np.nan])
    assert list(found) == ["L"]
    assert isinstance(found["L"], Weather)


def test_no_table_gives_no_loggers():
    assert nest_loggers(pd.DataFrame(), logger_ids=["L"]) == {}
