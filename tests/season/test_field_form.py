"""What a phone gets of a season: roads, water, region and tables; no record."""

import pytest

from roadwatch.errors import NotEnoughDataError, UsageError
from roadwatch.identify.tables import identify_tables
from roadwatch.records.store import Season
from roadwatch.season.field_form import field_season


def test_the_season_s_roads_region_and_tables_are_handed_on(county):
    held = field_season(county.season)
    assert held.roads["road"].tolist() == ["Invented East Road", "Invented North Road"]
    assert held.region == "SC_GA_coastal_plain"
    assert held.tables.version == identify_tables().version
    assert len(held.water) == 0


def test_the_coordinator_is_told_what_was_not_tried(county):
    assert any("tried in Chromium on a computer only" in note for note in field_season(county.season).notes)


def test_a_missing_season_is_a_wrong_use(tmp_path):
    with pytest.raises(UsageError, match=r"none\.gpkg"):
        field_season(tmp_path / "none.gpkg")


def test_a_region_that_no_table_knows_is_not_guessed(county, monkeypatch):
    monkeypatch.setattr(Season, "settings", {"timezone": "America/New_York", "region": "Nowhere"}, raising=False)
    with pytest.raises(NotEnoughDataError, match=r"how common taxa are in region 'Nowhere'"):
        field_season(county.season)
