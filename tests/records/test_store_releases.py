"""What was made public stays written down in the season file, and the file stays one that others can open."""

import geopandas as gpd
import pytest

from roadwatch.errors import UnfitFileError
from roadwatch.records.season_file import reading, writing
from roadwatch.records.store import Season
from roadwatch.records.store_releases import TABLE, keep_release, standing_records


@pytest.fixture
def season(tmp_path):
    """An empty season without a release."""
    return Season.create(tmp_path / "s.gpkg", timezone="America/New_York", region=None, settings={})


def keep(season, *came, changed=(), left=(), released_at="2025-07-01"):
    with writing(season.path) as connection:
        return keep_release(
            connection, released_at=released_at, what="map", grid="10 km", file_name="map.html", came=came,
            changed=changed, left=left,
        )  # fmt: skip


def standing(season):
    with reading(season.path) as connection:
        return standing_records(connection)


def test_a_season_without_a_release_has_nothing_standing_and_no_further_table(season):
    assert standing(season).empty
    assert TABLE not in set(gpd.list_layers(season.path)["name"])


def test_records_keep_number_and_first_release_over_later_ones(season):
    assert keep(season, ("nests", "n1", "1 2", ""), ("crossings", "c1", "", "slider")) == 1
    assert keep(season, ("nests", "n2", "1 2", ""), released_at="2025-08-01") == 2
    told = standing(season)
    assert told["number"].tolist() == [1, 2, 3]
    assert told["first_released_at"].tolist() == ["2025-07-01", "2025-07-01", "2025-08-01"]
    assert told["content"].tolist() == ["", "slider", ""]


def test_what_left_is_no_longer_standing_and_its_row_is_kept(season):
    keep(season, ("nests", "n1", "1 2", ""), ("nests", "n2", "1 2", ""))
    keep(season, left=[1])
    assert standing(season)["record_key"].tolist() == ["n2"]
    with reading(season.path) as connection:
        assert connection.execute(f"SELECT record_key, left_in FROM {TABLE}").fetchall() == [("n1", 2), ("n2", None)]


def test_a_record_may_come_back_under_a_new_number(season):
    keep(season, ("nests", "n1", "1 2", ""))
    keep(season, left=[1])
    keep(season, ("nests", "n1", "1 2", ""))
    assert standing(season)["number"].tolist() == [2]


def test_a_changed_content_replaces_what_was_shown(season):
    keep(season, ("crossings", "c1", "", "slider"))
    keep(season, changed=[(1, "cooter")])
    assert standing(season)["content"].tolist() == ["cooter"]


def test_releases_stand_in_their_own_table_with_time_grid_and_file(season):
    keep(season)
    with reading(season.path) as connection:
        told = connection.execute("SELECT released_at, what, grid, file_name FROM releases").fetchall()
    assert told == [("2025-07-01", "map", "10 km", "map.html")]


def test_a_release_is_kept_whole_or_not_at_all(season):
    with pytest.raises(UnfitFileError, match="cannot be written"):
        broken(season)
    assert standing(season).empty


def broken(season):
    with writing(season.path) as connection:
        keep_release(
            connection, released_at="2025-07-01", what="map", grid="", file_name="", changed=[], left=[],
            came=[("nests", "n1", "1 2", "")],
        )  # fmt: skip
        raise UnfitFileError("it cannot be written after all")


def test_other_programs_find_the_table_listed(season):
    keep(season, ("nests", "n1", "1 2", ""))
    assert {TABLE, "releases"} <= set(gpd.list_layers(season.path)["name"])  # GDAL reads the contents of a GeoPackage


def test_a_season_that_cannot_be_written_gives_no_release(season):
    season.path.write_bytes(b"SQLite format 3\x00" + b"\x00" * 4000)
    with pytest.raises(UnfitFileError, match="damaged"):
        keep(season)
