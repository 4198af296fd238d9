"""Windows by the temperatures there are: a logger, a short series, a silent station, and the notes that say so."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from nest_windows import AS_OF, own

from roadwatch.hatch.temperatures import Weather


def test_a_nest_with_its_own_logger_follows_it(row):
    warm, cool = (row({"logger_id": "HB7"}, loggers=own(celsius)) for celsius in (31.0, 26.0))
    assert (warm["basis"], warm["sureness"]) == ("own_logger", "high")
    assert warm["hatch_likely"] < cool["hatch_likely"]
    assert "nest temperatures from logger HB7 up to 2024-07-01, the station's after that" in warm["note"]


def test_a_loggers_progress_is_its_warmth_over_the_need(row):
    # By hand: 30.5 days (laid some time on 1 June, to the end of 1 July) at 29 degrees: 30.5 x 13.26 of 804.
    found = row({"logger_id": "HB7"}, loggers=own(29.0))
    assert found["progress"] == pytest.approx(30.5 * (29 - 15.74) / 804, abs=0.01)


def test_a_logger_placed_too_late_leaves_the_station_in_its_place(row):
    found = row({"logger_id": "HB7"}, loggers=own(31.0, first="2024-06-25", days=6))
    assert found["basis"] == "station_offset"
    assert "logger HB7 covers less than half of the days since laying; the station stands in" in found["note"]


def test_a_logger_without_temperatures_is_told(row):
    found = row({"logger_id": "HB7"})
    assert found["basis"] == "station_offset"
    assert "logger HB7 has no temperatures here; the station stands in" in found["note"]


def test_a_station_with_too_few_years_gives_no_window_and_the_cure(row, years_of_weather):
    found = row(weather=years_of_weather(first=2021, last=2024))
    assert found["basis"] == "none"
    assert found["note"] == (
        "no projection: invented has 3 complete earlier years for the days still to come, 5 are needed; "
        "ingest a longer series"
    )


def test_few_past_years_lower_the_sureness(row, years_of_weather):
    found = row(weather=years_of_weather(first=2015, last=2024))
    assert found["sureness"] == "low"
    assert "only 9 past years stand for the weather to come" in found["note"]


def test_a_summer_seen_to_its_end_needs_no_past_years(row, years_of_weather):
    found = row(weather=years_of_weather(first=2024, last=2024), as_of=date(2025, 1, 10))
    assert found["p_hatched"] > 0.9
    assert isinstance(found["hatch_likely"], str)


def test_a_station_silent_for_weeks_lowers_the_sureness(row, weather):
    until = (date(2024, 6, 10) - weather.first_day).days + 1
    silent = Weather(weather.first_day, weather.low_c[:until], weather.high_c[:until], "silent")
    found = row(weather=silent)
    assert found["sureness"] == "low"
    assert "no temperature in the 21 days before 2024-07-01; past years stand in" in found["note"]


def test_the_notes_say_how_many_days_were_filled_and_with_which_years(windows, nest, weather):
    until = (date(2024, 6, 25) - weather.first_day).days + 1
    short = Weather(weather.first_day, weather.low_c[:until], weather.high_c[:until], "KMOB")
    notes = windows(nest(), weather=short).notes
    observed = next(
        note for note in notes if note.startswith("2024: temperatures of KMOB are observed up to 2024-06-25")
    )
    assert observed.endswith("; the 6 days from then to 2024-07-01 are filled from past years.")
    assert "30 past years of the same station, 1994 to 2023, stand for the weather to come." in notes


def test_the_notes_name_years_left_out_for_a_gap(windows, nest, weather):
    holed = Weather(weather.first_day, weather.low_c.copy(), weather.high_c, weather.source)
    start = (date(2010, 8, 1) - weather.first_day).days
    holed.low_c[start : start + 5] = np.nan
    assert any("needed span: 2010." in note for note in windows(nest(), weather=holed).notes)


def test_the_notes_carry_limits_and_cautions(windows, nest):
    notes = " ".join(windows(nest(), nest(nest_id="N2", taxon=None)).notes)
    for words in (
        "80% of what is drawn",
        "past years cover less than they promise where climate or station drifts",
        "held in 75 % of 81 years",
        "1 of 2 nests have no window",
        "Never dig to check a nest",
        "ask your state wildlife agency",
        "No nest is called failed",
        "Sureness starts from",
    ):
        assert words in notes


@pytest.mark.parametrize(("days", "basis"), [(13, "station_offset"), (18, "own_logger"), (24, "own_logger")])
def test_a_logger_is_taken_from_half_of_the_days_since_laying_on(row, days, basis):
    # 31 days from 1 June to 1 July: 13, 18 and 24 of them are 42 %, 58 % and 77 %
    first = str(AS_OF - timedelta(days=days - 1))
    assert row({"logger_id": "HB7"}, loggers=own(29.0, first=first, days=days))["basis"] == basis


@pytest.mark.parametrize(("days", "basis"), [(26, "station_offset"), (36, "own_logger"), (62, "own_logger")])
def test_a_logger_counts_against_the_days_to_hatching_however_late_it_is_asked(row, days, basis):
    # By hand: at 29 degrees 804 / 13.26 = 60.6 days to hatching, of which 26, 36 and 62 are 43 %, 59 % and all; to
    # 31 December it would be 12 %, 17 % and 29 %
    found = row({"logger_id": "HB7"}, loggers=own(29.0, first="2024-06-01", days=days), as_of=date(2024, 12, 31))
    assert found["basis"] == basis


def test_a_logger_with_nothing_but_days_before_laying_leaves_the_station_in_its_place(row):
    found = row({"logger_id": "HB7"}, loggers=own(29.0, first="2024-05-01", days=20))
    assert found["basis"] != "own_logger"
    assert "covers less than half" in found["note"]


@pytest.mark.parametrize(
    ("first", "laid", "words"),
    [
        (2005, "1999-06-01", "invented has no temperatures of 1999, it begins on 2005-01-01; ingest a longer series"),
        (2024, "2024-06-01", "invented has 0 complete earlier years for the days still to come, 5 are needed; ingest"),
    ],
)
def test_a_series_that_cannot_serve_a_nest_says_what_it_lacks(row, years_of_weather, first, laid, words):
    found = row({"laid_on": laid, "found_at": laid}, weather=years_of_weather(first=first))
    assert found["basis"] == "none"
    assert found["note"].startswith(f"no projection: {words}")


def test_a_series_that_begins_after_laying_in_the_same_year_says_so(row, weather):
    start = (date(2024, 6, 20) - weather.first_day).days
    late = Weather(date(2024, 6, 20), weather.low_c[start:], weather.high_c[start:], "late")
    words = "no projection: late has no temperatures of 2024-06-01, it begins on 2024-06-20; ingest a longer series"
    assert row(weather=late)["note"] == words


def test_a_series_that_ended_before_the_season_says_that_and_counts_its_years(row, years_of_weather):
    assert row(weather=years_of_weather(first=2020, last=2022))["note"] == (
        "no projection: invented has no temperatures of 2024 by 2024-07-01, and 3 complete earlier years for the days "
        "still to come, 5 are needed; ingest a longer series"
    )
