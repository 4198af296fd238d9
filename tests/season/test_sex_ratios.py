"""Shares of females by the season file and the command."""

from datetime import date, timedelta

import numpy as np
import pytest

from roadwatch.errors import NotEnoughDataError
from roadwatch.season.sex_ratios import season_sex_ratios


@pytest.fixture
def season(county, nest):
    """Ingest 20 equal invented summers, 20 to 34 degrees C, and two nests."""
    rows = []
    for year in range(2005, 2026):
        for number in range(365):
            day = date(year, 1, 1) + timedelta(days=number)
            warm = 4 <= day.month <= 10
            rows.append({"series_id": "inv", "date": day, "tmin_c": 20 if warm else 5, "tmax_c": 34 if warm else 15})
    assert county.ingest("weather.csv", rows).exit_code == 0
    assert county.ingest("nests.csv", [nest(), nest(nest_id="n2", taxon="spiny softshell")]).exit_code == 0
    return county


def test_every_nest_has_a_share_or_a_reason(season):
    table = season_sex_ratios(season.season, as_of=date(2025, 9, 1), rng=np.random.default_rng(1)).table
    by_nest = table.set_index("nest_id")
    # 27 degrees of air and 2 more: 29 on average, swinging by 4.6: equivalent near 30.5, above the pivot of 29.1
    assert by_nest.loc["n1", "cte_likely_c"] == pytest.approx(30.5, abs=0.5)
    assert by_nest.loc["n1", "females_low"] < by_nest.loc["n1", "females_likely"]
    assert by_nest.loc["n2", "basis"] == "none"


def test_the_command_prints_shares_and_reasons(season):
    shown = season.run("sex-ratio", season.season, "--as-of", "2025-09-01")
    assert shown.exit_code == 0, shown.output
    assert "females_likely" in shown.output
    assert "n2: sex of Apalone spinifera is set by genes" in shown.output
    out = season.folder / "s.csv"
    found = season.json("sex-ratio", season.season, "--as-of", "2025-09-01", "-o", out)
    assert [row["nest_id"] for row in found["sex_ratios"]] == ["n1", "n2"]
    assert out.exists()


def test_a_season_without_nests_or_temperatures_says_what_is_missing(county, nest):
    with pytest.raises(NotEnoughDataError, match="holds no nest"):
        season_sex_ratios(county.season, as_of=date(2025, 9, 1), rng=np.random.default_rng(1))
    county.ingest("nests.csv", [nest()])
    with pytest.raises(NotEnoughDataError, match="holds no temperature"):
        season_sex_ratios(county.season, as_of=date(2025, 9, 1), rng=np.random.default_rng(1))
