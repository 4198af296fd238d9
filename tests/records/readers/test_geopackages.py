"""GeoPackages that would compute something when they are read."""

import sqlite3
from contextlib import closing

import pytest
from records.readers.layer_files import plain_table, save, sightings

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import read_file
from roadwatch.records.readers.geopackages import look_over_geopackage
from roadwatch.records.readers.layers import read_layer


@pytest.fixture
def changed(tmp_path):
    """A GeoPackage after some SQL."""

    def make(*statements):
        path = save(sightings(), tmp_path / "season.gpkg")
        with closing(sqlite3.connect(path)) as database, database:
            for statement in statements:
                database.execute(statement)
        return path

    return make


ENDLESS = "CREATE VIEW boom AS WITH RECURSIVE t(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM t) SELECT x FROM t"


@pytest.mark.parametrize("reader", [read_file, read_layer])
def test_a_view_that_never_ends_is_refused_before_anything_reads_it(changed, reader):
    path = changed(ENDLESS, "INSERT INTO gpkg_contents (table_name, data_type) VALUES ('boom', 'attributes')")
    with pytest.raises(UnfitFileError, match="a view 'boom', which is computed when it is read"):
        reader(path)


def test_a_view_in_the_place_of_a_table_of_contents_is_refused(changed):
    path = changed("ALTER TABLE gpkg_contents RENAME TO x", ENDLESS.replace("boom", "gpkg_contents"))
    with pytest.raises(UnfitFileError, match="a view 'gpkg_contents'"):
        read_file(path)


@pytest.mark.parametrize(
    "column", ["y AS (zeroblob(1000000000))", "y GENERATED ALWAYS AS (zeroblob(1000000000)) VIRTUAL"]
)
def test_a_computed_column_is_refused(changed, column):
    with pytest.raises(UnfitFileError, match="a computed column in table 'big'"):
        read_file(changed(f"CREATE TABLE big (x INTEGER, {column})"))


def test_the_index_of_a_layer_and_plain_tables_are_no_harm(tmp_path):
    path = plain_table({"nest_id": ["N1"]}, save(sightings(), tmp_path / "a.gpkg"), layer="checks")
    look_over_geopackage(path)
    assert len(read_file(path)) == 2


def test_a_name_with_signs_of_an_address_is_opened_all_the_same(tmp_path):
    assert len(read_file(save(sightings(), tmp_path / "a%20#1.gpkg"))) == 1


def test_a_damaged_schema_is_told(make_file):
    with pytest.raises(UnfitFileError, match="a GeoPackage that cannot be read"):
        look_over_geopackage(make_file("a.gpkg", b"SQLite format 3\x00" + bytes(5000)))
