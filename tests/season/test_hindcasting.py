"""Past windows of a season's own station, by the season file."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from roadwatch.errors import NotEnoughDataError
from roadwatch.season.hindcasting import season_hindcast


@pytest.fixture(scope="module")
def weather_rows():
    """Invented daily temperatures, 2003 to 2025: a yearly wave and days that wander around it."""
    days = pd.date_range("2003-01-01", "2025-12-31")
    rng = np.random.default_rng(4)
    wave = 18 - 9 * np.cos(2 * np.pi * (days.day_of_year - 20) / 365.25)
    middle = wave + np.convolve(rng.normal(0, 2, len(days) + 9), np.ones(10) / np.sqrt(10), "valid")
    return [
        {"series_id": "inv", "date": str(day.date()), "tmin_c": round(mean - 6, 1), "tmax_c": round(mean + 6, 1)}
        for day, mean in zip(days, middle, strict=True)
    ]


@pytest.fixture
def season(county, weather_rows, nest):
    assert county.ingest("weather.csv", weather_rows).exit_code == 0
    county.ingest("nests.csv", [nest(), nest(nest_id="n2", laid_on="2025-05-20", exposure="open")])
    return county


def test_both_scores_stand_apart(season):
    found = season_hindcast(season.season, rng=np.random.default_rng(1))
    assert list(found.weather["lead_days"]) == ["60", "45", "30", "15", "5", "all"]
    assert found.weather["years"].iloc[-1] == 23 - 9
    assert (found.full["n"].iloc[:2] >= 2000).all()
    assert found.notes[0].startswith("Weather alone, 2 nests, 14 summers of inv")
    assert "simulated nest-years" in found.notes[1]
    assert found.picture.startswith("<svg")


def test_without_real_ends_nothing_real_is_scored(season):
    found = season_hindcast(season.season, rng=np.random.default_rng(1))
    assert found.real.empty
    assert any("nothing real is scored" in note for note in found.notes)


def test_real_nests_are_scored_by_the_window_that_was_given_when_they_were_found(season):
    checks = [
        {"nest_id": "n1", "checked_at": "2025-08-01", "outcome": "intact", "observer": "A"},
        {"nest_id": "n1", "checked_at": "2025-08-29", "outcome": "emerged", "observer": "A"},
        {"nest_id": "n2", "checked_at": "2025-06-03", "outcome": "emerging", "observer": "A"},
    ]
    season.ingest("checks.csv", checks)
    real = season_hindcast(season.season, rng=np.random.default_rng(1)).real.set_index("nest_id")
    assert real.loc["n1", ["as_of", "not_before", "by"]].tolist() == ["2025-06-01", "2025-08-01", "2025-08-29"]
    assert bool(real.loc["n1", "held"])
    assert not real.loc["n2", "held"]  # two weeks after laying: no window reaches there
    assert date.fromisoformat(real.loc["n1", "autumn_early"]) > date(2025, 7, 1)


def test_a_season_without_nests_that_weather_projects_says_so(county, weather_rows, nest):
    county.ingest("weather.csv", weather_rows)
    county.ingest("nests.csv", [nest(taxon="chicken turtle")])
    with pytest.raises(NotEnoughDataError, match="no nest of a taxon that weather projects"):
        season_hindcast(county.season, rng=np.random.default_rng(1))


def test_a_season_without_temperatures_says_so(county, nest):
    county.ingest("nests.csv", [nest()])
    with pytest.raises(NotEnoughDataError, match="holds no temperature"):
        season_hindcast(county.season, rng=np.random.default_rng(1))


def test_the_command_writes_table_or_picture_and_repeats_itself(season):
    svg, table = season.folder / "h.svg", season.folder / "h.csv"
    first, again = (season.json("hindcast", season.season, "-o", svg, "--seed", "3") for _ in range(2))
    assert first == again
    assert svg.read_text("utf-8").startswith("<svg")
    shown = season.run("hindcast", season.season, "-o", table)
    assert shown.exit_code == 0
    assert "Weather alone" in shown.output
    assert "Full windows" in shown.output
    assert len(pd.read_csv(table)) == 6
