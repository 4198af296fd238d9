from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from roadwatch.hatch.remarks import DRIFT_LIMIT, PATIENCE, PERMISSION
from roadwatch.hatch.temperatures import Weather
from roadwatch.hatch.window import project_windows


@pytest.fixture
def notes(nest):
    def make(weather, *rows, as_of=date(2024, 7, 1), loggers=None):
        nests = pd.DataFrame(list(rows) or [nest()])
        return project_windows(
            nests, weather, region="FL_Suwannee", as_of=as_of, rng=np.random.default_rng(1), loggers=loggers
        ).notes

    return make


def test_the_spreads_that_are_told_are_those_of_the_table(notes, years_of_weather):
    told = " ".join(notes(years_of_weather()))
    for name, words in (
        ("clutch_sd", "clutches (3.2%)"),
        ("structure_sd", "the straight line (5%)"),
        ("offset_partial_sd_c", "offset from the air (1.5 °C, "),
        ("offset_unknown_sd_c", "1.9 where exposure is blank"),
        ("upper_c", "above 34 °C development no longer speeds up"),
    ):
        assert words in told, name


def test_every_parameter_set_is_told_once_with_its_source(notes, nest, years_of_weather):
    told = notes(years_of_weather(), nest(), nest(nest_id="N2"), nest(nest_id="N3", taxon="Chelydra serpentina"))
    sets = [note for note in told if note.endswith(("(folkertscaldwell2026).", "(ewert2005)."))]
    assert [note.split(":")[0] for note in sets] == ["Chelydra serpentina", "Trachemys scripta"]


def test_what_was_found_in_a_logger_that_is_used_is_told(notes, nest, years_of_weather):
    low = np.full(60, 25.0)
    loggers = {name: Weather(date(2024, 5, 25), low, low + 4, name, (f"{name}: found.",)) for name in ("A", "B")}
    told = notes(years_of_weather(), nest(logger_id="A"), loggers=loggers)
    assert "A: found." in told
    assert "B: found." not in told


def test_cautions_defer_to_agencies_and_forbid_digging():
    assert "Never dig" in PERMISSION
    assert "never turn an egg" in PERMISSION
    assert "state wildlife agency" in PERMISSION
    assert "until after the spring window" in PATIENCE


def test_a_fully_observed_summer_says_so_without_days_filled(notes, years_of_weather):
    told = notes(years_of_weather(), as_of=date(2024, 7, 1))
    assert "2024: temperatures of invented are observed up to 2024-07-01." in told


def test_a_station_that_ended_before_the_summer_says_that_past_years_stand_alone(notes, years_of_weather):
    told = notes(years_of_weather(last=2023))
    assert "2024: invented has no temperature by 2024-07-01; windows rest on past years alone." in told


def test_holes_inside_the_observed_summer_are_counted(notes, years_of_weather):
    weather = years_of_weather()
    hole = (date(2024, 6, 10) - weather.first_day).days
    low = weather.low_c.copy()
    low[hole : hole + 5] = np.nan
    told = notes(Weather(weather.first_day, low, weather.high_c, "holed"))
    assert (
        "2024: temperatures of holed are observed up to 2024-07-01; 5 days missing before are filled likewise." in told
    )


def test_two_summers_are_told_one_by_one(notes, nest, years_of_weather):
    told = notes(years_of_weather(), nest(), nest(nest_id="N2", laid_on="2023-06-01", found_at="2023-06-01"))
    assert [note[:5] for note in told if "temperatures of invented are observed" in note] == ["2023:", "2024:"]


def test_the_days_filled_come_first_and_then_what_was_found_in_the_series(notes, years_of_weather):
    weather = years_of_weather()
    told = notes(Weather(weather.first_day, weather.low_c, weather.high_c, "S", ("S: something found.",)))
    assert told[0].startswith("2024: temperatures of S are observed up to")
    assert told.index("S: something found.") == 2  # after the past years that stand for the weather to come


def test_without_any_projected_nest_no_limit_of_weather_is_told(notes, nest, years_of_weather):
    told = notes(years_of_weather(), nest(taxon="Deirochelys reticularia"))
    assert DRIFT_LIMIT not in told
    assert "1 of 1 nests have no window; each says why in its note." in told
    assert PERMISSION in told
