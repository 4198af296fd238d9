"""KML and KMZ as map layers, against GDAL as an independent reader and writer."""

import numpy as np
import pytest
import shapely
from records.readers.fuzz_files import KML, zip_of
from records.readers.layer_files import roads, save
from records.readers.test_kml import NAMESPACE, placemark

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import layers
from roadwatch.records.readers.gdal import list_layers, read_vector
from roadwatch.records.readers.layers import read_layer


def test_kml_is_read_in_degrees(tmp_path):
    path = save(roads().to_crs(4326), tmp_path / "r.kml", driver="KML")
    layer = read_layer(path, geometry="line")
    assert layer.crs.to_epsg() == 4326
    assert len(layer) == 2


def test_the_folders_of_a_kml_file_are_one_layer(make_file):
    line = "<Placemark><LineString><coordinates>-81,29 -81.1,29.1</coordinates></LineString></Placemark>"
    folder = f"<Folder><name>x</name>{line}</Folder>"
    kml = f'<kml xmlns="http://www.opengis.net/kml/2.2"><Document>{folder}{folder.replace("x", "y")}</Document></kml>'
    assert len(read_layer(make_file("r.kml", kml), geometry="line")) == 2


def test_gdal_sees_the_same_shapes_in_the_folders_of_a_kml_file(make_file):
    path = make_file("walk.kml", KML)
    theirs = [read_vector(str(path), layer=name, source="r") for name, _ in list_layers(str(path), source="r")]
    expected = {shapely.to_wkt(shape) for layer in theirs for shape in shapely.from_wkb(layer.wkb)}
    found = {shapely.to_wkt(shape) for shape in read_layer(path).geometry}
    assert found == {wkt for wkt in expected if not wkt.startswith("GEOMETRYCOLLECTION")}


def test_a_kml_file_of_a_thousand_folders_is_read_once(make_file, monkeypatch):
    """Each look of GDAL at one folder would read the whole file again."""
    line = "<Placemark><name>Mill Lane</name><LineString><coordinates>0,0 1,1</coordinates></LineString></Placemark>"
    folders = "".join(f"<Folder><name>{number}</name>{line}</Folder>" for number in range(1000))
    monkeypatch.setattr(layers, "read_vector", None)
    layer = read_layer(make_file("r.kml", f"<kml><Document>{folders}</Document></kml>"), geometry="line")
    assert layer["name"].tolist() == ["Mill Lane"] * 1000


def test_placemarks_whose_coordinates_cannot_be_read_are_left_out_and_said(make_file):
    line = "<Placemark><LineString><coordinates>{}</coordinates></LineString></Placemark>"
    layer = read_layer(make_file("r.kml", f"<kml>{line.format('0,0 1,1')}{line.format('0 0')}</kml>"))
    assert len(layer) == 1
    assert layer.attrs["notes"] == ("1 placemark left out: the coordinates cannot be read",)


def test_a_kml_file_with_a_document_type_is_refused(make_file):
    text = '<!DOCTYPE kml [<!ENTITY a "b">]><kml></kml>'
    with pytest.raises(UnfitFileError, match="document type declaration"):
        read_layer(make_file("r.kml", text))


def test_a_kmz_can_be_a_map_layer(make_file):
    line = "<LineString><coordinates>-81,29 -81.1,29.1</coordinates></LineString>"
    layer = read_layer(make_file("r.kmz", zip_of({"doc.kml": f"<kml {NAMESPACE}>{placemark(line)}</kml>".encode()})))
    assert layer.crs.to_epsg() == 4326
    np.testing.assert_allclose(layer.total_bounds, [-81.1, 29, -81, 29.1])
