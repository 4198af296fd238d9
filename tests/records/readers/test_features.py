"""Features as rows; the reference place is where UTM zone 17 has its central meridian, 81 W, on the equator."""

import numpy as np
import pyproj
import pytest
import shapely

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers.features import crs_of, feature_table, is_wgs84, to_wgs84

WGS84 = pyproj.CRS("OGC:CRS84")


def shapes(*wkt):
    return np.array([None if text is None else shapely.from_wkt(text) for text in wkt], dtype=object)


def table_of(*wkt, crs=WGS84, **columns):
    return feature_table("a", shapes(*wkt), columns, crs=crs, lines=np.arange(1, len(wkt) + 1))


def test_a_point_gives_longitude_then_latitude():
    table = table_of("POINT (-82.3725 29.6512)", taxon=["box turtle"])
    assert table.rows.to_dict("records") == [{"taxon": "box turtle", "longitude": "-82.3725", "latitude": "29.6512"}]


def test_other_shapes_keep_their_text():
    table = table_of("LINESTRING (-82 29, -82.1 29.1)", "POINT (-82 29)")
    assert table.rows["wkt"].tolist() == ["LINESTRING (-82 29, -82.1 29.1)", None]
    assert table.rows["longitude"].tolist() == [None, "-82"]


def test_a_multi_point_of_one_is_a_point():
    assert table_of("MULTIPOINT ((-82 29))").rows["latitude"].tolist() == ["29"]


def test_height_is_dropped():
    assert table_of("POINT Z (-82 29 12)").rows["latitude"].tolist() == ["29"]


def test_features_without_a_place_are_kept_and_said():
    table = table_of("POINT (-82 29)", None, "POINT EMPTY")
    assert table.rows["longitude"].tolist() == ["-82", None, None]
    assert "2 features without a place, kept with blank coordinates" in table.notes


def test_projected_coordinates_come_to_wgs84():
    """The central meridian of UTM zone 17 is 81 W, at easting 500,000 m; the equator is at northing 0."""
    table = table_of("POINT (500000 0)", crs=pyproj.CRS("EPSG:32617"))
    assert float(table.rows["longitude"].iloc[0]) == pytest.approx(-81.0, abs=1e-8)
    assert float(table.rows["latitude"].iloc[0]) == pytest.approx(0.0, abs=1e-8)
    assert "coordinates brought from WGS 84 / UTM zone 17N to WGS 84" in table.notes


def test_the_original_keeps_the_coordinates_of_the_file():
    table = table_of("POINT (500000 0)", crs=pyproj.CRS("EPSG:32617"))
    assert table.originals == ['{"geometry": "POINT (500000 0)"}']


def test_an_attribute_that_repeats_the_place_is_dropped_silently():
    table = table_of("POINT (-82 29)", Longitude=["-82.0"], latitude=["29.0"])
    assert list(table.rows) == ["longitude", "latitude"]
    assert table.notes == ()


def test_an_attribute_that_contradicts_the_place_is_kept_and_said():
    table = table_of("POINT (-82 29)", latitude=["30"])
    assert table.rows["latitude"].tolist() == ["29"]
    assert table.rows["latitude as attribute"].tolist() == ["30"]
    assert any("differs from the geometry" in note for note in table.notes)


def test_without_reference_system_the_layer_is_refused():
    with pytest.raises(UnfitFileError, match=r"no coordinate reference system.*supply the .prj"):
        table_of("POINT (-82 29)", crs=None)


def test_a_table_without_places_needs_no_reference_system():
    assert table_of(None, crs=None, taxon=["x"]).rows["taxon"].tolist() == ["x"]


def test_metres_that_pass_for_degrees_are_refused():
    with pytest.raises(UnfitFileError, match="coordinates such as 374000 3275000, which are not degrees"):
        table_of("POINT (374000 3275000)")


def test_one_bad_place_among_good_ones_is_left_to_the_checks():
    assert len(table_of("POINT (-82 29)", "POINT (-82 29)", "POINT (-82 295)").rows) == 3


@pytest.mark.parametrize("name", ["EPSG:4326", "OGC:CRS84", "urn:ogc:def:crs:OGC:1.3:CRS84"])
def test_every_name_of_wgs84_means_longitude_first(name):
    assert is_wgs84(pyproj.CRS(name))
    places, notes = to_wgs84(shapes("POINT (-82 29)"), crs=pyproj.CRS(name), source="a")
    assert (shapely.get_x(places[0]), notes) == (-82, ())


@pytest.mark.parametrize("text", [None, "", "   ", 7, "no such system", 'LOCAL_CS["Undefined Cartesian"]'])
def test_an_undefined_reference_system_is_none(text):
    assert crs_of(text) is None


def test_a_defined_reference_system_is_read():
    crs = crs_of("EPSG:26917")
    assert crs is not None
    assert crs.name == "NAD83 / UTM zone 17N"
