"""A season of an older version is brought up to date, whole or not at all, and a copy is kept."""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import geopandas as gpd
import pyogrio
import pytest
from records.store_cases import LATER, batch_of, crossing, new_season, put

from roadwatch.errors import UnfitFileError
from roadwatch.records import season_file, store_migrations
from roadwatch.records.fields import RECORD_KINDS
from roadwatch.records.store import Season
from roadwatch.records.store_columns import Column
from roadwatch.records.store_schema import PLAIN_TABLES, STORED_KINDS, stored_columns, table_columns

VERSION_1 = Path(__file__).parents[1] / "golden" / "season_version_1.sql"


@pytest.fixture
def old(tmp_path):
    """The season that version 1 of the program wrote: five crossings, a nest, a check, two rows held back."""
    path = tmp_path / "season.gpkg"
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(VERSION_1.read_text("utf-8"))
    return path


def ask(path, query):
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(query).fetchall()


def test_the_fixture_is_of_version_1(old):
    assert ask(old, "SELECT value FROM settings WHERE name = 'schema_version'") == [("1",)]
    assert "undone_at" not in {row[1] for row in ask(old, "PRAGMA table_info(batches)")}


def test_nothing_is_lost_on_the_way_to_version_2(old):
    tables = [*PLAIN_TABLES, *STORED_KINDS]
    tables.remove("withdrawn")
    before = {table: ask(old, f'SELECT * FROM "{table}" ORDER BY id') for table in tables if table != "settings"}
    assert Season.open(old).settings["schema_version"] == "2"
    for table, rows in before.items():
        names = [row[1] for row in ask(old.with_name("season.schema-1.gpkg"), f'PRAGMA table_info("{table}")')]
        columns = ", ".join(f'"{name}"' for name in names)
        assert ask(old, f'SELECT {columns} FROM "{table}" ORDER BY id') == rows, table


def test_the_season_is_whole_afterwards_and_opens_in_gdal(old):
    Season.open(old)
    assert ask(old, "PRAGMA integrity_check") == [("ok",)]
    assert ask(old, "PRAGMA foreign_key_check") == []
    assert {name for name, _ in pyogrio.list_layers(old)} == {*STORED_KINDS, *PLAIN_TABLES}
    assert len(gpd.read_file(old, layer="crossings")) == 4


def test_it_has_the_same_tables_as_a_new_season(old, tmp_path):
    Season.open(old)
    new = new_season(tmp_path, name="new.gpkg").path
    for table in (*PLAIN_TABLES, *RECORD_KINDS):
        with closing(sqlite3.connect(old)) as one, closing(sqlite3.connect(new)) as other:
            assert set(table_columns(one, table).values()) >= set(table_columns(other, table).values()), table
    indexes = "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL ORDER BY name"
    assert ask(old, indexes) == ask(new, indexes)


def test_fields_that_have_come_since_get_their_columns(old, monkeypatch):
    def with_a_new_one(kind):
        return (*stored_columns(kind), Column("new_field", "REAL"))

    monkeypatch.setattr(store_migrations, "stored_columns", with_a_new_one)
    assert "new_field" in Season.open(old).read("nests").columns


def test_a_copy_of_the_older_file_lies_beside_it(old):
    before = ask(old, "SELECT * FROM crossings")
    Season.open(old)
    copy = old.with_name("season.schema-1.gpkg")
    assert sorted(path.name for path in old.parent.iterdir()) == ["season.gpkg", "season.schema-1.gpkg"]
    assert ask(copy, "SELECT * FROM crossings") == before
    assert ask(copy, "SELECT value FROM settings WHERE name = 'schema_version'") == [("1",)]


def test_a_copy_that_lies_there_already_is_not_overwritten(old):
    first = old.with_name("season.schema-1.gpkg")
    first.write_text("an older copy")
    Season.open(old)
    assert first.read_text() == "an older copy"
    assert ask(old.with_name("season.schema-1-2.gpkg"), "SELECT count(*) FROM crossings") == [(4,)]


def test_the_second_opening_changes_nothing(old):
    Season.open(old)
    before = old.read_bytes()
    Season.open(old)
    assert old.read_bytes() == before
    assert len(list(old.parent.iterdir())) == 2


def test_a_migration_that_fails_leaves_the_season_as_it_was_and_no_copy(old, monkeypatch):
    def broken(connection):
        connection.execute("DROP TABLE crossings")
        raise RuntimeError("the step broke")

    before = old.read_bytes()
    monkeypatch.setattr(season_file, "MIGRATIONS", {1: broken})
    with pytest.raises(RuntimeError, match="the step broke"):
        Season.open(old)
    assert old.read_bytes() == before
    assert [path.name for path in old.parent.iterdir()] == ["season.gpkg"]


def test_an_older_season_that_is_being_read_elsewhere_is_told_and_stays(old, monkeypatch):
    monkeypatch.setattr(season_file, "LOCK_WAIT_S", 0.05)
    with closing(sqlite3.connect(old, isolation_level=None)) as other:
        other.execute("BEGIN")
        other.execute("SELECT count(*) FROM crossings").fetchone()
        with pytest.raises(UnfitFileError, match="is open in another program that goes on reading it"):
            Season.open(old)
    assert ask(old, "SELECT value FROM settings WHERE name = 'schema_version'") == [("1",)]
    assert [path.name for path in old.parent.iterdir()] == ["season.gpkg"]


def test_an_old_batch_can_be_undone_and_its_corrections_with_it(old):
    season = Season.open(old)
    done = season.undo(1, who="Ana", when=LATER, why="")
    assert (done.withdrawn, done.kept, done.corrections, done.dropped) == (2, 1, 1, 1)
    assert season.read("crossings")["record_key"].tolist() == ["c3", "c5"]


def test_old_rows_held_back_are_listed_without_cells(old):
    rows = Season.open(old).held_rows()
    assert [(row.held_back_id, row.cells, dict(row.proposal)) for row in rows] == [
        ("h1-3", None, {}),
        ("h4-3", None, {}),
    ]


def test_new_batches_go_on_counting(old):
    season = Season.open(old)
    assert put(season, [crossing()], file="new.csv").batch == 5
    assert season.write_batch(batch_of([crossing()], file="again.csv")).known == 1


def test_a_file_that_an_old_season_knows_is_known_still(old, tmp_path):
    """The digest of the rows is made as it was."""
    sha256, rows_sha256 = ask(old, "SELECT sha256, rows_sha256 FROM batches WHERE id = 2")[0]
    source = ask(old, "SELECT line, original FROM source_rows WHERE batch = 2 ORDER BY line")
    table = Season.open(old).read("crossings").drop(columns="geometry").iloc[2:4]
    table = table.assign(line=[line for line, _ in source], original=[text for _, text in source])
    report = Season.open(old).write_batch(batch_of(table, sha256=sha256))
    assert report.message == "crossings.csv: read before as batch 2; nothing added"
    assert ask(old, "SELECT rows_sha256 FROM batches WHERE id = 2") == [(rows_sha256,)]


def test_two_programs_that_open_an_old_season_at_once_bring_it_up_to_date_once(old, monkeypatch):
    """The second finds, once it may write, that the work is done, and makes no copy of the new file."""
    twin = old.with_name("twin.gpkg")
    shutil.copy(old, twin)
    Season.open(twin)

    def overtaken(path, **options):
        shutil.copy(twin, old)
        return writing(path, **options)

    writing = season_file.writing
    monkeypatch.setattr(season_file, "writing", overtaken)
    assert Season.open(old).settings["schema_version"] == "2"
    assert not old.with_name("season.schema-1.gpkg").exists()
