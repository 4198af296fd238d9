"""Tables of temperatures are known by their columns; tables of animals are not mistaken for them."""

import pytest

from roadwatch.records.readers.temperature_columns import temperature_columns


@pytest.mark.parametrize(
    "names",
    [
        ["date", "tmin", "tmax"],
        ["rownames", "date", "tmin", "tmax"],
        ["STATION", "NAME", "DATE", "TMAX", "TMIN"],
        ["Date", "Min Temp (°C)", "Max Temp (°C)"],
        ["day", "Date", "low", "high"],
        ["date", "tmin_f", "tmax_f"],
        ["Date", "Minimum temperature", "Maximum temperature", "rain mm"],
        ["date", "daily_low_f", "daily_high_f"],
    ],
)
def test_days_with_low_and_high_are_daily(names):
    columns = temperature_columns(names)
    assert columns is not None
    assert columns.is_daily


@pytest.mark.parametrize(
    "names",
    [
        ["#", "Date Time, GMT-04:00", "Temp, °F (S/N 1)"],
        ["timestamp", "temperature"],
        ["Date/Time", "Celsius(°C)", "Humidity(%rh)"],
        ["Date", "Time", "Soil temp (C)"],
        ["at", "temp_c"],
    ],
)
def test_a_clock_with_a_reading_is_a_series(names):
    columns = temperature_columns(names)
    assert columns is not None
    assert columns.is_series_of_readings


@pytest.mark.parametrize(
    "names",
    [
        ["date", "time", "species", "lat", "lon", "temperature"],
        ["nest_id", "date", "outcome", "temp"],
        ["search_id", "start time", "temp"],
        ["observer", "date", "tmin", "tmax"],
    ],
)
def test_records_of_animals_with_a_temperature_are_no_temperatures(names):
    assert temperature_columns(names) is None


def test_a_table_without_clock_is_neither():
    columns = temperature_columns(["road", "high", "low"])
    assert columns is not None
    assert not columns.is_daily
    assert not columns.is_series_of_readings


def test_series_and_index_columns_are_found():
    columns = temperature_columns(["#", "Station ID", "date", "tmin", "tmax"])
    assert columns is not None
    assert (columns.series, columns.index) == ("Station ID", "#")
