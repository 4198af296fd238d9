"""GeoPackage layers as rows, written by geopandas."""

import sqlite3
from contextlib import closing

import pandas as pd
import pytest
from records.readers.layer_files import plain_table, roads, save, sightings

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import read_file


def test_every_layer_of_a_geopackage_is_a_table(tmp_path):
    path = save(sightings(), tmp_path / "season.gpkg", layer="crossings")
    save(roads(), path, layer="roads")
    assert [table.source for table in read_file(path)] == [
        "season.gpkg, layer crossings",
        "season.gpkg, layer roads",
    ]


def test_places_come_to_wgs84_and_attributes_to_text(tmp_path):
    (table,) = read_file(save(sightings(), tmp_path / "season.gpkg", layer="crossings"))
    assert float(table.rows["longitude"].iloc[0]) == pytest.approx(-81.0, abs=1e-8)
    assert table.rows["longitude"].iloc[1] is None
    assert table.rows["count"].tolist() == ["1", None]
    assert table.rows["taxon"].tolist() == ["box turtle", None]
    assert table.lines.tolist() == [1, 2]


def test_latitude_agrees_with_an_independent_conversion(tmp_path):
    layer = sightings()
    (table,) = read_file(save(layer, tmp_path / "season.gpkg"))
    assert float(table.rows["latitude"].iloc[0]) == pytest.approx(layer.to_crs(4326).geometry.y[0], abs=1e-8)


def test_lines_keep_their_text(tmp_path):
    (table,) = read_file(save(roads(), tmp_path / "roads.gpkg"))
    assert table.rows["wkt"].iloc[0].startswith("LINESTRING (-81 29.6")


def test_a_plain_table_needs_no_reference_system(tmp_path):
    path = plain_table({"nest_id": ["N1"], "outcome": ["intact"]}, tmp_path / "a.gpkg", layer="checks")
    (table,) = read_file(path)
    assert table.rows.to_dict("records") == [{"nest_id": "N1", "outcome": "intact"}]


def test_dates_times_and_truths_are_written_as_iso_and_words(tmp_path):
    layer = sightings()
    layer["at"] = pd.to_datetime(["2024-06-08T07:40:00Z", None])
    layer["gravid"] = [True, False]
    (table,) = read_file(save(layer, tmp_path / "a.gpkg"))
    assert table.rows["at"].iloc[0] in ("2024-06-08T07:40:00Z", "2024-06-08T07:40:00+00:00")
    assert table.rows["at"].iloc[1] is None
    assert table.rows["gravid"].tolist() == ["true", "false"]


def test_whole_numbers_have_no_point(tmp_path):
    layer = sightings()
    layer["eggs"] = [12, 7]
    (table,) = read_file(save(layer, tmp_path / "a.gpkg"))
    assert table.rows["eggs"].tolist() == ["12", "7"]


def test_a_layer_without_reference_system_is_refused(tmp_path):
    with pytest.warns(UserWarning, match="'crs' was not provided"):
        path = save(sightings(crs=None), tmp_path / "a.gpkg")
    with pytest.raises(UnfitFileError, match=r"a.gpkg, layer a: found no coordinate reference system"):
        read_file(path)


def test_a_geopackage_without_rows_is_refused(tmp_path):
    path = save(sightings().iloc[:0], tmp_path / "a.gpkg")
    with pytest.raises(UnfitFileError, match=r"a.gpkg: found 1 layer and no rows"):
        read_file(path)


def test_a_geopackage_cut_short_is_refused(tmp_path):
    path = save(sightings(), tmp_path / "a.gpkg")
    path.write_bytes(path.read_bytes()[:20_000])
    with pytest.raises(UnfitFileError, match="a GeoPackage cut short"):
        read_file(path)


def test_a_geopackage_with_its_middle_overwritten_is_refused_or_read_but_never_a_traceback(tmp_path):
    path = save(sightings(), tmp_path / "a.gpkg")
    body = bytearray(path.read_bytes())
    body[4096:40_960] = b"\xff" * (40_960 - 4096)
    path.write_bytes(body)
    with pytest.raises(UnfitFileError, match="cannot be read"):
        read_file(path)


def test_a_geopackage_that_tells_of_more_features_than_it_has_bytes_is_refused(tmp_path):
    path = save(sightings(), tmp_path / "a.gpkg")
    with closing(sqlite3.connect(path)) as database, database:
        database.execute("UPDATE gpkg_ogr_contents SET feature_count = 20250512")
    with pytest.raises(UnfitFileError, match=r"said to hold 20,250,512 features in [\d,]+ bytes"):
        read_file(path)
