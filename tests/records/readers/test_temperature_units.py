"""Units of temperatures. Fixed points: 32 F is 0 C, 212 F is 100 C, -40 is the same (NIST SP 811)."""

import numpy as np
import pandas as pd
import pytest
from records.readers.weather_files import clemson, clemson_tenths

from roadwatch.records.readers.temperature_units import (
    celsius,
    celsius_texts,
    clean_cells,
    unit_in_name,
    unit_of_columns,
    unit_of_days,
    unit_of_readings,
)


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("Temp, °F (S/N 10234567)", "F"),
        ("Temp (°C)", "C"),
        ("tmin_c", "C"),
        ("tmax_f", "F"),
        ("TMAX (Deg F)", "F"),
        ("Temperature [degC]", "C"),
        ("Temperature, Celsius", "C"),
        ("fahrenheit", "F"),
        ("Temp, Â°F", "F"),
        ("tmin", None),
        ("Temp sensor", None),
        ("Channel 1 temp", None),
    ],
)
def test_a_unit_in_a_name_is_read(name, unit):
    assert unit_in_name(name) == unit


def test_columns_that_disagree_give_no_unit():
    assert unit_of_columns(["tmin_c", "tmax_f"]) is None
    assert unit_of_columns(["tmin", "tmax_f"]) is None


@pytest.mark.parametrize(
    ("written", "unit", "degrees_c"),
    [
        (212.0, "F", 100.0),
        (32.0, "F", 0.0),
        (-40.0, "F", -40.0),
        (-12.5, "C", -12.5),
        (289.0, "tenths of C", 28.9),
    ],
)
def test_fixed_points_convert(written, unit, degrees_c):
    assert celsius(np.array([written]), unit=unit).tolist() == pytest.approx([degrees_c])


def test_a_warm_place_in_fahrenheit_is_known_by_values_that_celsius_never_has():
    days = clemson()
    found = unit_of_days(days["tmin"].to_numpy(), days["tmax"].to_numpy(), months=12, may_be_tenths=False)
    assert found is not None
    assert found.unit == "F"


def test_the_same_place_in_celsius_and_in_tenths_is_known_too():
    days = clemson_tenths(2010)
    low, high = days["tmin"].to_numpy(float), days["tmax"].to_numpy(float)
    tenths = unit_of_days(low, high, months=12, may_be_tenths=True)
    whole = unit_of_days(np.round(low / 10), np.round(high / 10), months=12, may_be_tenths=True)
    assert tenths is not None
    assert whole is not None
    assert (tenths.unit, whole.unit) == ("tenths of C", "C")


@pytest.mark.parametrize("month", range(1, 13))
def test_no_single_month_is_ever_taken_for_the_wrong_unit(month):
    """A month alone may leave the unit open, but must not be misread."""
    days = clemson_tenths(2010)
    days = days[days["date"].str[5:7] == f"{month:02d}"]
    low, high = days["tmin"].to_numpy(float), days["tmax"].to_numpy(float)
    as_written = {
        "tenths of C": (low, high),
        "C": (np.round(low / 10), np.round(high / 10)),
        "F": (np.round(low * 0.18 + 32), np.round(high * 0.18 + 32)),
    }
    for unit, (one, other) in as_written.items():
        found = unit_of_days(one, other, months=1, may_be_tenths=True)
        assert found is None or found.unit == unit


def test_a_cool_season_leaves_the_unit_open():
    assert unit_of_readings(np.linspace(5, 35, 100), months=4) is None


def test_a_whole_year_below_57_can_only_be_celsius():
    found = unit_of_readings(np.linspace(-10, 35, 365), months=12)
    assert found is not None
    assert found.unit == "C"


def test_one_sensor_fault_of_85_does_not_make_a_year_of_celsius_fahrenheit():
    found = unit_of_readings(np.array([*np.linspace(-10, 35, 365), 85.0]), months=12)
    assert found is not None
    assert found.unit == "C"


@pytest.mark.parametrize("values", [[], [np.nan], [300.0] * 50])
def test_no_values_or_impossible_ones_give_no_unit(values):
    assert unit_of_readings(np.array(values), months=12) is None


def test_signs_of_missing_values_become_blank_and_words_stay():
    cells = pd.Series(["20", "NA", "-9999", "-999.0", "M", " nan ", "cold", None, "-99.9"], dtype=object)
    cleaned = clean_cells(cells)
    assert cleaned.dropna().tolist() == ["20", "cold"]


def test_texts_are_in_celsius_and_a_word_stays_for_the_checks():
    assert celsius_texts(pd.Series(["68", "cold", None, "28.94"]), unit="F") == ["20", "cold", None, "-1.7"]


def test_decimal_commas_become_points():
    assert celsius_texts(pd.Series(["20,5"]), unit="C", decimal_comma=True) == ["20.5"]
