"""Map layers: any reference system in, WGS 84 kept; GDAL and PROJ are the outside reference."""

import json

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pyproj
import pytest
from records.store_cases import new_season, put, road_layer
from shapely.geometry import LineString, Point, Polygon

from roadwatch.errors import UnfitFileError, UsageError

AREA = Polygon([(-82.4, 29.6), (-82.3, 29.6), (-82.3, 29.7)])


@pytest.fixture
def season(tmp_path):
    return new_season(tmp_path)


def layer(geometries, crs="EPSG:4326", **columns):
    return gpd.GeoDataFrame(columns, geometry=geometries, crs=crs)


def test_roads_keep_their_canonical_columns_and_geometry(season):
    assert season.replace_layer("roads", road_layer(), source="roads.geojson") == 2
    roads = season.read("roads")
    assert roads["road_id"].tolist() == ["1", "2"]
    assert roads["road"].tolist() == ["Mill Road", None]
    assert roads["speed_limit"].isna().tolist() == [False, True]
    assert roads["agency"].tolist() == [None, None]
    assert roads.geometry.tolist() == road_layer().geometry.tolist()


@pytest.mark.parametrize("crs", ["EPSG:26917", "EPSG:3857", "EPSG:2236"])
def test_a_layer_in_another_reference_system_lands_on_wgs84(season, crs):
    """PROJ's transformation there and back is exact to well below a millimetre (1e-8 degree is 1 mm)."""
    season.replace_layer("roads", road_layer(crs), source="roads.shp")
    found = np.array([line.coords[0] for line in season.read("roads").geometry])
    expected = np.array([line.coords[0] for line in road_layer().geometry])
    np.testing.assert_allclose(found, expected, atol=1e-8)
    assert season.settings["roads_crs"] == crs


def test_a_known_point_of_a_utm_layer_lands_where_proj_puts_it(season):
    """By the definition of UTM, easting 500,000 lies on the central meridian: 81 degrees west in zone 17."""
    season.replace_layer("passages", layer([Point(500_000, 3_280_000)], "EPSG:32617"), source="culverts.gpkg")
    (place,) = season.read("passages").geometry
    assert place.x == pytest.approx(-81.0, abs=1e-9)
    to_utm = pyproj.Transformer.from_crs(4326, 32617, always_xy=True)
    assert to_utm.transform(place.x, place.y)[1] == pytest.approx(3_280_000, abs=1e-3)


def test_the_settings_say_where_a_layer_came_from(season):
    season.replace_layer("water", layer([AREA]), source="wetlands.geojson")
    stated = {name: value for name, value in season.settings.items() if name.startswith("water")}
    assert stated == {"water_source": "wetlands.geojson", "water_crs": "EPSG:4326", "water_features": "1"}


def test_a_second_layer_takes_the_place_of_the_first(season):
    season.replace_layer("water", layer([AREA, AREA], depth=[1.0, 2.0]), source="old.geojson")
    season.replace_layer("water", layer([Point(0, 1)], name=["Spring"]), source="new.geojson")
    water = season.read("water")
    assert water["name"].tolist() == ["Spring"]
    assert "depth" not in water
    assert season.settings["water_source"] == "new.geojson"
    assert pyogrio.read_info(season.path, layer="water")["geometry_type"] == "Point"


def test_the_columns_of_a_layer_keep_name_and_type(season):
    given = layer([AREA], name=["Long Pond"], HYDRO_ID=[7], is_open=[True], depth_m=[1.5])
    season.replace_layer("water", given, source="water.shp")
    (row,) = season.read("water").drop(columns="geometry").to_dict("records")
    assert row == {"name": "Long Pond", "other": None, "HYDRO_ID": 7.0, "is_open": True, "depth_m": 1.5}


def test_columns_with_names_sql_cannot_take_go_to_other(season):
    odd = {"Größe": ["5"], 'x"; DROP TABLE water; --': ["y"], "NAME": ["twice"], "name": ["once"], "geom": ["text"]}
    season.replace_layer("water", layer([AREA], **odd), source="water.shp")
    water = season.read("water")
    assert water["name"].tolist() == ["once"]
    assert json.loads(water["other"].iloc[0]) == {
        "Größe": "5",
        'x"; DROP TABLE water; --': "y",
        "NAME": "twice",
        "geom": "text",
    }


def test_dates_of_a_layer_become_text(season):
    season.replace_layer("water", layer([AREA], mapped=pd.to_datetime(["2024-05-01"])), source="water.shp")
    assert season.read("water")["mapped"].tolist() == ["2024-05-01 00:00:00"]


def test_a_layer_that_is_read_can_be_put_back(season):
    season.replace_layer("roads", road_layer(lanes=[2, 4]), source="roads.shp")
    before = season.read("roads")
    season.replace_layer("roads", before, source="roads.shp")
    pd.testing.assert_frame_equal(pd.DataFrame(season.read("roads")), pd.DataFrame(before))


def test_features_without_geometry_are_left_out(season):
    given = layer([AREA, None, Polygon()], name=["a", "b", "c"])
    assert season.replace_layer("water", given, source="water.shp") == 1


def test_heights_are_dropped(season):
    season.replace_layer("roads", layer([LineString([(0, 0, 5), (1, 1, 6)])]), source="roads.shp")
    assert not season.read("roads").geometry.has_z.any()


def test_mixed_geometries_are_declared_as_any(season):
    season.replace_layer("water", layer([AREA, LineString([(0, 0), (1, 1)])]), source="water.shp")
    assert pyogrio.read_info(season.path, layer="water")["geometry_type"] == "Unknown"


@pytest.mark.parametrize(
    ("given", "message"),
    [
        (layer([AREA], crs=None), "water.shp does not say its reference system; add its .prj file"),
        (layer([None]), "water.shp holds no feature with a geometry"),
        (layer([]), "water.shp holds no feature with a geometry"),
        (layer([Point(500_000, 3_280_000)]), "do not fit the reference system it names"),
    ],
    ids=["no system", "no geometry", "no feature", "metres called degrees"],
)
def test_an_unfit_layer_is_refused_and_the_old_one_stays(season, given, message):
    season.replace_layer("water", layer([AREA]), source="old.geojson")
    with pytest.raises(UnfitFileError, match=message):
        season.replace_layer("water", given, source="water.shp")
    assert season.read("water").geometry.tolist() == [AREA]


@pytest.mark.parametrize("kind", ["crossings", "settings", "gpkg_contents", "clouds"])
def test_only_layers_can_be_replaced(season, kind):
    with pytest.raises(UsageError, match=f"'{kind}' is not a layer; name one of roads, water"):
        season.replace_layer(kind, layer([AREA]), source="x.shp")


def test_measures_are_records_and_a_layer(season):
    columns = {"measure_id": ["m1"], "kind": ["fence"], "built_on": ["2024-03-01"], "mesh": ["fine"]}
    given = layer([LineString([(0, 0), (1, 1)])], **columns)
    assert season.replace_layer("measures", given, source="fences.gpkg") == 1
    (row,) = season.read("measures").to_dict("records")
    assert (row["record_key"], row["kind"], row["geometry"]) == ("m1", "fence", LineString([(0, 0), (1, 1)]))
    assert json.loads(row["other"]) == {"mesh": "fine"}
    put(season, [{"measure_id": "m2", "kind": "sign"}], kind="measures")
    assert season.known("measures") == {"m1", "m2"}
    season.replace_layer("measures", given, source="fences.gpkg")
    assert season.known("measures") == {"m1"}


def test_two_measures_of_one_name_are_refused(season):
    given = layer([Point(0, 0), Point(1, 1)], measure_id=["m1", "m1"])
    with pytest.raises(UnfitFileError, match=r"fences\.gpkg: measure_id m1 stands on two features; give each its own"):
        season.replace_layer("measures", given, source="fences.gpkg")
