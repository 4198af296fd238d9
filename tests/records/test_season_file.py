"""Files that are no season, disks that are full, and programs that hold the lock: each told in plain words."""

import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing

import geopandas as gpd
import pytest
from records.store_cases import batch_of, crossing, different_crossings, new_season, put
from shapely.geometry import Point

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.records import season_file
from roadwatch.records.store import Season


@pytest.fixture
def season(tmp_path):
    made = new_season(tmp_path)
    put(made, different_crossings(200))
    return made


def run_sql(path, *statements):
    with closing(sqlite3.connect(path)) as connection:
        for statement in statements:
            connection.execute(statement)
        connection.commit()


def test_a_season_that_does_not_exist_is_a_wrong_call(tmp_path):
    with pytest.raises(UsageError, match=r"nowhere\.gpkg does not exist; check the name, or start a season with"):
        Season.open(tmp_path / "nowhere.gpkg")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_is_not_a_season(tmp_path):
    with pytest.raises(UsageError, match="is a folder, not a season file"):
        Season.open(tmp_path)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "is empty; delete it"),
        (b"latitude,longitude\n29.6,-82.3\n", "is not a season file; name the file made by 'roadwatch new'"),
        (b"PK\x03\x04 a zip", "is not a season file"),
        (b"SQLite format 3\x00", "is damaged; go back to your last copy"),
        (b"SQLite format 3\x00" + b"\xff" * 5000, "is damaged; go back to your last copy"),
    ],
    ids=["empty", "text", "zip", "first bytes only", "rubbish after the first bytes"],
)
def test_a_file_of_another_kind_is_refused_and_not_touched(tmp_path, content, message):
    path = tmp_path / "x.gpkg"
    path.write_bytes(content)
    with pytest.raises(UnfitFileError, match=message):
        Season.open(path)
    assert path.read_bytes() == content


def test_a_geopackage_of_another_program_is_refused(tmp_path):
    path = tmp_path / "places.gpkg"
    gpd.GeoDataFrame(geometry=[Point(0, 0)], crs=4326).to_file(path)
    with pytest.raises(UnfitFileError, match="is a GeoPackage but not a season; start one with 'roadwatch new'"):
        Season.open(path)


def test_a_database_of_another_program_is_refused(tmp_path):
    run_sql(tmp_path / "x.db", "CREATE TABLE settings (name, value)")
    with pytest.raises(UnfitFileError, match="is a database but not a season"):
        Season.open(tmp_path / "x.db")


@pytest.mark.parametrize("share", [0.1, 0.5, 0.95])
def test_a_season_cut_short_is_refused(season, share):
    whole = season.path.read_bytes()
    season.path.write_bytes(whole[: int(len(whole) * share)])
    with pytest.raises(UnfitFileError, match="is damaged; go back to your last copy of it"):
        Season.open(season.path)


def test_damage_found_while_reading_is_told(season):
    whole = bytearray(season.path.read_bytes())
    half = len(whole) // 2
    whole[half:] = b"\xff" * (len(whole) - half)
    season.path.write_bytes(whole)
    with pytest.raises(UnfitFileError, match="is damaged; go back to your last copy of it"):
        Season(season.path).read("crossings")


def test_a_season_of_a_newer_version_is_refused(season):
    run_sql(season.path, "UPDATE settings SET value = '99' WHERE name = 'schema_version'")
    with pytest.raises(
        UnfitFileError, match=r"made by a newer version of this program \(schema 99, this one knows 2\)"
    ):
        Season.open(season.path)


@pytest.mark.parametrize("change", ["DELETE FROM settings", "UPDATE settings SET value = 'x'"])
def test_a_season_without_a_schema_version_is_refused(season, change):
    run_sql(season.path, change)
    with pytest.raises(UnfitFileError, match="does not say its schema version"):
        Season.open(season.path)


def test_a_season_that_another_program_is_writing_is_told(season, monkeypatch):
    monkeypatch.setattr(season_file, "LOCK_WAIT_S", 0.05)
    with closing(sqlite3.connect(season.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(UnfitFileError, match="is being written by another program; try again"):
            put(season, [crossing()], file="b.csv")
        assert len(season.read("crossings")) == 200, "reading goes on beside a writer"
        other.execute("ROLLBACK")
    assert put(season, [crossing()], file="b.csv").accepted == 1


def limited(pragma):
    """A connection under a limit that SQLite itself enforces."""
    connect = season_file.connect

    def connect_with_limit(path):
        connection = connect(path)
        connection.execute(f"PRAGMA {pragma}")
        return connection

    return connect_with_limit


@pytest.mark.parametrize(
    ("pragma", "message"),
    [
        ("max_page_count = 1", "cannot grow, the disk is full; nothing of this step was stored"),
        ("query_only = ON", "cannot be written; give yourself the right to change the file"),
    ],
    ids=["full disk", "read-only"],
)
def test_a_disk_that_takes_nothing_is_told_and_nothing_is_half_stored(season, monkeypatch, pragma, message):
    with monkeypatch.context() as patch:
        patch.setattr(season_file, "connect", limited(pragma))
        with pytest.raises(UnfitFileError, match=message):
            put(season, [crossing(notes="x" * 5000) for _ in range(200)], file="b.csv")
    assert len(season.read("crossings")) == 200
    assert len(season.batches()) == 1


@pytest.mark.skipif(os.geteuid() == 0 and shutil.which("setpriv") is None, reason="root may write everything")
def test_a_write_protected_file_can_be_read_but_not_written(season):
    code = (
        "import sys; sys.path[:0] = ['tests', '.']\n"
        "from records.store_cases import crossing, put\n"
        "from roadwatch.records.store import Season\n"
        f"season = Season.open({str(season.path)!r})\n"
        "print(len(season.read('crossings')))\n"
        "try:\n    put(season, [crossing()], file='b.csv')\n"
        "except Exception as error:\n    print(type(error).__name__, error)\n"
    )
    season.path.chmod(0o444)
    command = [sys.executable, "-c", code]
    if os.geteuid() == 0:  # even root obeys the file's mode once it has given up its capabilities
        command = ["setpriv", "--bounding-set=-all", "--inh-caps=-all", *command]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stdout.splitlines()
    assert said[0] == "200"
    assert said[1].startswith("UnfitFileError")
    assert "cannot be written; give yourself the right to change the file and its folder" in said[1]


def test_a_spatial_index_of_another_program_is_told(season):
    run_sql(
        season.path,
        "CREATE TRIGGER rtree_crossings_insert AFTER INSERT ON crossings WHEN (NOT ST_IsEmpty(NEW.geom)) "
        "BEGIN DELETE FROM remarks; END",
    )
    with pytest.raises(UnfitFileError, match="has a spatial index that another program added"):
        put(season, [crossing()], file="b.csv")


def test_our_own_mistakes_are_not_told_as_faults_of_the_file(season):
    with pytest.raises(sqlite3.OperationalError, match="no such table"), season_file.reading(season.path) as connection:
        connection.execute("SELECT * FROM no_such_table")


@pytest.mark.parametrize("name", ["a b.gpkg", "what?.gpkg", "50%25#1.gpkg", "Übersicht 🐢.gpkg", "season"])
def test_any_file_name_will_do(tmp_path, name):
    season = new_season(tmp_path, name=name)
    season.write_batch(batch_of([crossing()]))
    assert len(Season.open(season.path).read("crossings")) == 1
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_an_exception_in_the_middle_stores_nothing(season):
    with pytest.raises(KeyboardInterrupt), season_file.writing(season.path) as connection:  # noqa: PT012
        connection.execute("DELETE FROM crossings")
        raise KeyboardInterrupt
    assert len(season.read("crossings")) == 200
