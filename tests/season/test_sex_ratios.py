"""Shares of females by the season file and the command."""

from datetime import date, timedelta

import numpy as np
import pytest

from roadwatch.errors import NotEnoughDataError
from roadwatch.identify.tables import identify_tables, version_note
from roadwatch.season.sex_ratios import season_sex_ratios

REGION = "SC_GA_coastal_plain"


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


def test_a_nest_found_after_the_day_asked_for_has_no_share_yet(season):
    early = season_sex_ratios(season.season, as_of=date(2025, 5, 31), rng=np.random.default_rng(1)).table
    row = early.set_index("nest_id").loc["n1"]
    assert row["basis"] == "none"
    assert "found after the day asked for, on 2025-06-01" in row["note"]
    assert np.isnan(row["females_likely"])
    there = season_sex_ratios(season.season, as_of=date(2025, 6, 1), rng=np.random.default_rng(1)).table
    assert there.set_index("nest_id").loc["n1", "basis"] == "curve"


def test_a_share_says_how_probable_the_name_is_that_it_holds_for(season, nest):
    doubted = nest(nest_id="n3", id_confidence="unsure"), nest(nest_id="n4", id_confidence="1")
    assert season.ingest("more.csv", list(doubted)).exit_code == 0
    found = season_sex_ratios(season.season, as_of=date(2025, 9, 1), rng=np.random.default_rng(1))
    note = found.table.set_index("nest_id")["note"]
    # the words stand for .95 and .5; 1 leaves no doubt to tell
    assert "holds for Trachemys scripta, of probability 0.95 only" in note["n1"]
    assert "holds for Trachemys scripta, of probability 0.50 only" in note["n3"]
    assert "of probability" not in note["n4"]
    assert "of probability" not in note["n2"], "no share, so nothing that could hold"
    assert any("not named for certain: 2." in one for one in found.notes)
    assert version_note(identify_tables()) in found.notes


def test_where_no_nest_has_a_share_there_is_no_name_to_doubt(season):
    early = season_sex_ratios(season.season, as_of=date(2025, 5, 31), rng=np.random.default_rng(1))
    assert not any("identification tables" in one for one in early.notes)


def test_a_countys_own_tables_are_those_that_are_named(season):
    weather, nests = season.folder / "weather.csv", season.folder / "nests.csv"
    folder = season.folder / "tables"
    folder.mkdir()
    (folder / "skills.csv").write_text("skill,slip,source\nnovice,0.3,judgement\n", encoding="utf-8")
    own = season.folder / "own.gpkg"
    options = ("--timezone", "America/New_York", "--region", REGION, "--tables", folder)
    assert season.run("new", own, "--roads", season.folder / "roads.geojson", *options).exit_code == 0
    assert season.run("ingest", own, weather, nests).exit_code == 0
    notes = season_sex_ratios(own, as_of=date(2025, 9, 1), rng=np.random.default_rng(1)).notes
    assert version_note(identify_tables(folder)) in notes
    assert version_note(identify_tables()) not in notes
