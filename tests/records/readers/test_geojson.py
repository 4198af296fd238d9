"""GeoJSON after RFC 7946, and the crs member of the 2008 form."""

import json

import pytest

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import read_file


@pytest.fixture
def geojson(make_file):
    def read(document, *, encoding="utf-8"):
        (table,) = read_file(make_file("seen.geojson", document, encoding=encoding))
        return table

    return read


def test_points_become_rows_with_longitude_first(geojson, collection, feature):
    table = geojson(collection(feature("Point", [-82.3725, 29.6512], taxon="box turtle", count=2)))
    assert table.rows.to_dict("records") == [
        {"taxon": "box turtle", "count": "2", "longitude": "-82.3725", "latitude": "29.6512"}
    ]
    assert table.lines.tolist() == [1]
    assert table.kind is None


def test_the_worked_example_of_rfc_7946_section_1_5_is_read(geojson):
    document = """{"type": "FeatureCollection", "features": [
        {"type": "Feature", "geometry": {"type": "Point", "coordinates": [102.0, 0.5]},
         "properties": {"prop0": "value0"}},
        {"type": "Feature", "geometry": {"type": "LineString",
         "coordinates": [[102.0, 0.0], [103.0, 1.0], [104.0, 0.0], [105.0, 1.0]]},
         "properties": {"prop0": "value0", "prop1": 0.0}},
        {"type": "Feature", "geometry": {"type": "Polygon",
         "coordinates": [[[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0], [100.0, 0.0]]]},
         "properties": {"prop0": "value0", "prop1": {"this": "that"}}}]}"""
    table = geojson(document)
    assert table.rows["longitude"].tolist() == ["102", None, None]
    assert table.rows["wkt"].tolist()[1] == "LINESTRING (102 0, 103 1, 104 0, 105 1)"
    assert table.rows["prop1"].tolist() == [None, "0.0", '{"this": "that"}']


def test_values_of_every_type_become_text(geojson, collection, feature):
    table = geojson(collection(feature("Point", [0, 0], a=True, b=None, c=1.5, d=["x"], e="", f=" y ")))
    row = table.rows.iloc[0].to_dict()
    assert [row[name] for name in "abcdef"] == ["true", None, "1.5", '["x"]', None, "y"]


def test_the_identifier_of_a_feature_is_kept(geojson, collection, feature):
    assert geojson(collection({**feature("Point", [0, 0]), "id": 17})).rows["id"].tolist() == ["17"]


def test_a_null_geometry_keeps_its_row(geojson, collection, feature):
    table = geojson(collection(feature("Point", [0, 1], n=1), feature(None, n=2)))
    assert table.rows["latitude"].tolist() == ["1", None]


@pytest.mark.parametrize("name", ["urn:ogc:def:crs:EPSG::32617", "EPSG:32617"])
def test_the_old_crs_member_is_honoured(geojson, collection, feature, name):
    """The point where the central meridian of UTM zone 17 (81 W) meets the equator."""
    crs = {"type": "name", "properties": {"name": name}}
    table = geojson(collection(feature("Point", [500000, 0]), crs=crs))
    assert float(table.rows["longitude"].iloc[0]) == pytest.approx(-81, abs=1e-8)
    assert any(name in note for note in table.notes)


@pytest.mark.parametrize("crs", [None, {"type": "name", "properties": {"name": "EPSG:999999"}}, {}, "EPSG:4326", 3])
def test_a_crs_member_that_names_nothing_known_is_refused(geojson, collection, feature, crs):
    with pytest.raises(UnfitFileError, match="no coordinate reference system"):
        geojson(collection(feature("Point", [500000, 0]), crs=crs))


def test_metres_without_a_crs_member_are_refused(geojson, collection, feature):
    with pytest.raises(UnfitFileError, match="not degrees"):
        geojson(collection(feature("Point", [500000, 3275000])))


@pytest.mark.parametrize(
    "geometry",
    [
        {"type": "Point", "coordinates": ["west", 3]},
        {"type": "Point"},
        {"type": "Dot", "coordinates": [1, 2]},
        {"type": "LineString", "coordinates": [[1, 2]]},
        "POINT (1 2)",
        [1, 2],
    ],
)
def test_a_broken_shape_is_held_back_with_its_wording(geojson, collection, feature, geometry):
    bad = {"type": "Feature", "properties": {"n": 2}, "geometry": geometry}
    table = geojson(collection(feature("Point", [0, 0], n=1), bad))
    assert table.rows["n"].tolist() == ["1"]
    (fault,) = table.faults
    assert (fault.line, json.loads(fault.original)) == (2, bad)
    assert "a point is [longitude, latitude]" in fault.reason


@pytest.mark.parametrize("odd", [7, None, [], "x"])
def test_what_is_no_feature_is_held_back(geojson, collection, feature, odd):
    table = geojson(collection(odd, feature("Point", [0, 0])))
    assert table.lines.tolist() == [2]
    assert "not a GeoJSON feature" in table.faults[0].reason


def test_a_single_feature_and_a_bare_shape_are_collections_of_one(geojson, feature):
    assert geojson(feature("Point", [1, 2], n=1)).rows["n"].tolist() == ["1"]
    assert geojson({"type": "Point", "coordinates": [1, 2]}).rows["latitude"].tolist() == ["2"]


def test_a_byte_order_mark_does_no_harm(geojson, feature):
    assert len(geojson(feature("Point", [1, 2]), encoding="utf-8-sig").rows) == 1


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ('{"type": "FeatureCollection", "features": [', "broken or cut short"),
        ("[" * 100_000, "broken or cut short"),
        ("{]", "broken or cut short"),
        ('{"n": ' + "9" * 5000 + "}", "broken or cut short"),
        ("[1, 2]", "JSON of type None"),
        ('{"type": "Topology", "objects": {}}', "JSON of type 'Topology'"),
        ('{"type": "FeatureCollection", "features": []}', "no features"),
        ('{"type": "FeatureCollection"}', "no features"),
    ],
)
def test_json_that_is_broken_or_of_another_kind_is_refused(geojson, text, found):
    with pytest.raises(UnfitFileError, match=f"seen.geojson: found .*{found}"):
        geojson(text)
