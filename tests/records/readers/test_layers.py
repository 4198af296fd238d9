"""Roads and water from every vector format, written by geopandas."""

import geopandas as gpd
import pandas as pd
import pytest
from records.readers.layer_files import plain_table, roads, save, sightings, water, zipped

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.records.readers import layers
from roadwatch.records.readers.layers import read_layer

DRIVERS = {"r.gpkg": "GPKG", "r.geojson": "GeoJSON", "r.fgb": "FlatGeobuf", "r.shp": "ESRI Shapefile"}


@pytest.mark.parametrize("name", DRIVERS)
def test_each_format_gives_back_names_lines_and_reference_system(tmp_path, name):
    layer = read_layer(save(roads(), tmp_path / name, driver=DRIVERS[name]), geometry="line")
    assert sorted(layer["road"]) == ["Mill Lane", "Prairie Road"]
    assert layer.crs.to_epsg() == 26917
    assert layer.geometry.length.tolist() == [100.0, 100.0]


def test_a_zipped_shapefile_in_a_folder_is_read(tmp_path):
    layer = read_layer(zipped(roads(), tmp_path / "r.zip", folder="x/"), geometry="line")
    assert layer["road"].tolist() == ["Prairie Road", "Mill Lane"]


def test_without_reference_system_the_layer_is_refused_with_the_cure(tmp_path):
    path = save(roads(), tmp_path / "roads.shp")
    (tmp_path / "roads.prj").unlink()
    with pytest.raises(UnfitFileError, match=r"roads.shp: found no coordinate reference system.*supply the .prj file"):
        read_layer(path, geometry="line")


def test_another_shape_is_refused(tmp_path):
    with pytest.raises(UnfitFileError, match="found only Point features, expected a layer of at least one line"):
        read_layer(save(sightings(), tmp_path / "a.gpkg"), geometry="line")


@pytest.mark.parametrize(("geometry", "column"), [("line", "road"), ("polygon", "water"), ("point", "taxon")])
def test_of_several_layers_the_one_of_the_needed_shape_is_taken(tmp_path, geometry, column):
    path = tmp_path / "all.gpkg"
    for name, layer in (("roads", roads()), ("water", water()), ("seen", sightings())):
        save(layer, path, layer=name)
    assert column in read_layer(path, geometry=geometry)


def test_several_layers_of_one_shape_need_a_name(tmp_path):
    path = save(roads(), tmp_path / "r.gpkg", layer="state")
    save(roads(), path, layer="county")
    with pytest.raises(UnfitFileError, match=r"several line layers \(state, county\)"):
        read_layer(path, geometry="line")
    assert len(read_layer(path, geometry="line", layer="county")) == 2


def test_plain_tables_beside_a_layer_are_passed_over(tmp_path):
    path = save(roads(), tmp_path / "r.gpkg", layer="roads")
    plain_table({"a": ["1"]}, path, layer="notes")
    assert len(read_layer(path)) == 2


def test_features_of_another_shape_are_left_out_and_counted(tmp_path):
    mixed = gpd.GeoDataFrame(pd.concat([roads(), sightings()]), crs=26917)
    layer = read_layer(save(mixed, tmp_path / "r.geojson", driver="GeoJSON"), geometry="line")
    assert len(layer) == 2
    assert layer.attrs["notes"][-1].startswith("2 features left out")


@pytest.mark.parametrize("geometry", ["line", "any"])
def test_an_empty_layer_is_refused(tmp_path, geometry):
    with pytest.raises(UnfitFileError, match=r"r.gpkg: found no features"):
        read_layer(save(roads().iloc[:0], tmp_path / "r.gpkg"), geometry=geometry)


def test_metres_in_a_layer_of_degrees_are_refused(make_file, collection, feature):
    path = make_file("r.geojson", collection(feature("LineString", [[500000, 3275000], [500100, 3275000]])))
    with pytest.raises(UnfitFileError, match="not degrees"):
        read_layer(path)


def test_an_unknown_crs_member_is_refused(make_file, collection, feature):
    path = make_file("r.geojson", collection(feature("LineString", [[0, 0], [1, 1]]), crs=None))
    with pytest.raises(UnfitFileError, match="no coordinate reference system"):
        read_layer(path)


def test_a_table_is_no_layer(make_file):
    with pytest.raises(UnfitFileError, match="found no map layer, expected GeoJSON, GeoPackage, shapefile"):
        read_layer(make_file("roads.csv", "road,km\na,1\n"))


def test_a_missing_file_is_a_fault_of_the_call(tmp_path):
    with pytest.raises(UsageError, match="there is no such file"):
        read_layer(tmp_path / "roads.shp")


def test_height_is_dropped(make_file, collection, feature):
    layer = read_layer(make_file("r.geojson", collection(feature("LineString", [[0, 0, 5], [1, 1, 6]]))))
    assert not layer.geometry.has_z.any()


def test_more_layers_than_a_file_has_are_refused_before_they_are_read(tmp_path, monkeypatch):
    monkeypatch.setattr(layers, "MOST_TABLES", 1)
    save(roads(), tmp_path / "r.gpkg", layer="one")
    path = save(roads(), tmp_path / "r.gpkg", layer="two")
    with pytest.raises(UnfitFileError, match=r"r.gpkg: found 2 layers, expected at most 1; export one"):
        read_layer(path)
