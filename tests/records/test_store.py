"""A season as its callers know it."""

import json

import geopandas as gpd
import pytest
from records.store_cases import NOW, batch_of, crossing, different_crossings, new_season, put, road_layer

from roadwatch.errors import NotEnoughDataError, UsageError
from roadwatch.records.store import Season


@pytest.fixture
def season(tmp_path):
    return new_season(tmp_path)


def test_a_new_season_knows_its_settings(tmp_path):
    made = Season.create(
        tmp_path / "s.gpkg", timezone="America/New_York", region="florida", settings={"county": "Invented"}
    )
    assert made.settings == {
        "county": "Invented",
        "timezone": "America/New_York",
        "schema_version": "2",
        "region": "florida",
    }
    assert Season.open(tmp_path / "s.gpkg").settings == made.settings


def test_a_season_without_a_region_says_none(season):
    assert "region" not in season.settings


def test_a_season_cannot_pretend_another_schema_version(tmp_path):
    assert new_season(tmp_path, schema_version="7").settings["schema_version"] == "2"


def test_an_existing_file_is_never_overwritten(tmp_path):
    path = tmp_path / "season.gpkg"
    path.write_text("a letter")
    with pytest.raises(UsageError, match=r"season\.gpkg exists; choose another name, or add to this season"):
        new_season(tmp_path)
    assert path.read_text() == "a letter"


def test_a_folder_that_does_not_exist_is_told(tmp_path):
    with pytest.raises(UsageError, match=r"cannot be made .*check the folder"):
        new_season(tmp_path / "nowhere")


def test_a_season_that_cannot_be_made_leaves_no_file(tmp_path):
    with pytest.raises(Exception, match=r"binding|NOT NULL"):
        Season.create(tmp_path / "s.gpkg", timezone="UTC", region=None, settings={"county": None})
    assert list(tmp_path.iterdir()) == []


def test_paths_may_be_text(tmp_path):
    Season.create(str(tmp_path / "s.gpkg"), timezone="UTC", region=None, settings={})
    assert Season.open(str(tmp_path / "s.gpkg")).settings["timezone"] == "UTC"


def test_the_extent_is_that_of_the_roads(season):
    season.replace_layer("roads", road_layer("EPSG:26917"), source="roads.shp")
    expected = gpd.GeoSeries(road_layer().geometry).total_bounds
    assert season.extent() == pytest.approx(tuple(expected), abs=1e-8)


def test_the_extent_follows_a_new_roads_layer(season):
    season.replace_layer("roads", road_layer(), source="roads.shp")
    season.replace_layer("roads", road_layer().iloc[1:], source="one road.shp")
    assert season.extent() == (-82.35, 29.55, -82.35, 29.65)


def test_without_roads_there_is_no_extent(season):
    with pytest.raises(NotEnoughDataError, match="has no roads; start a season with 'roadwatch new'"):
        season.extent()


def test_known_names_are_those_stored(season):
    put(season, [crossing(record_id="c1"), crossing(record_id="c2")])
    assert season.known("crossings") == {"c1", "c2"}
    assert season.known("nests") == set()


def test_a_file_is_recognised_by_its_digest(season):
    batch = batch_of([crossing()])
    assert season.standing_batches(batch.sha256) == []
    season.write_batch(batch)
    assert [one["batch"] for one in season.standing_batches(batch.sha256)] == [1]
    season.undo(1, who="Ana", when=NOW, why="")
    assert season.standing_batches(batch.sha256) == []


def test_batches_say_what_was_read_and_when(season):
    put(season, different_crossings(2))
    (row,) = season.batches().to_dict("records")
    assert {name: row[name] for name in ("batch", "file_name", "kind", "ingested_at", "rows_in", "accepted")} == {
        "batch": 1,
        "file_name": "crossings.csv",
        "kind": "crossings",
        "ingested_at": NOW,
        "rows_in": 2,
        "accepted": 2,
    }


@pytest.mark.parametrize("table", ["batches", "held_back", "remarks", "changes"])
def test_empty_lists_have_their_columns(season, table):
    found = getattr(season, table)()
    assert len(found) == 0
    assert len(found.columns) >= 6


def test_the_lists_can_be_written_as_json(season):
    put(season, different_crossings(1))
    assert json.loads(season.batches().to_json(orient="records"))[0]["accepted"] == 1
