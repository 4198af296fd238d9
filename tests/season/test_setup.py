"""A season starts from a roads layer, whole or not at all."""

import re

import geopandas as gpd
import pytest
from pyproj import Geod
from tiny_county import CENTRE, road_layer, road_line

from roadwatch.records.store import Season
from roadwatch.season.setup import canonical_roads


def test_the_length_reported_is_the_geodesic_length(folder):
    # outside: pyproj's Geod on the WGS 84 ellipsoid
    line = [(-0.05, 0), (0.05, 0.02)]
    roads = folder.write("r.geojson", road_layer(road_line("One", *line)))
    told = folder.json("new", folder.season, "--roads", roads, "--timezone", "America/New_York")
    lon, lat = zip(*[(CENTRE[0] + e, CENTRE[1] + n) for e, n in line], strict=True)
    # the road is straight in degrees, so its true length is that of the chord in small steps
    steps = [(lon[0] + (lon[1] - lon[0]) * k / 100, lat[0] + (lat[1] - lat[0]) * k / 100) for k in range(101)]
    true_m = Geod(ellps="WGS84").line_length(*zip(*steps, strict=True))
    assert told["length_km"] == pytest.approx(true_m / 1000, rel=4e-4)


@pytest.mark.parametrize(
    ("options", "code", "words"),
    [
        (["--timezone", "Mars/Olympus"], 2, "is not a timezone"),
        (["--timezone", "America/New_York", "--region", "Atlantis"], 2, "choose one of .*FL_panhandle"),
        (["--timezone", "America/New_York", "--roads", "none.shp"], 2, "none.shp"),
    ],
)
def test_a_wrong_option_makes_no_file(folder, options, code, words):
    roads = folder.write("r.geojson", road_layer(road_line("One", (0, 0), (0.01, 0))))
    result = folder.run("new", folder.season, "--roads", roads, *options)
    assert result.exit_code == code
    assert not folder.season.exists()
    assert re.search(words, result.output.replace("\n", " "))


def test_an_existing_season_is_never_overwritten(county):
    before = county.season.read_bytes()
    result = county.run("new", county.season, "--roads", county.folder / "roads.geojson", "--timezone", "UTC")
    assert result.exit_code == 2
    assert "exists" in result.output
    assert county.season.read_bytes() == before


def test_roads_without_a_reference_system_are_refused(folder):
    frame = gpd.GeoDataFrame.from_features([road_line("One", (0, 0), (0.01, 0))], crs=32617)
    frame.to_file(folder.folder / "r.shp")
    (folder.folder / "r.prj").unlink()
    result = folder.run("new", folder.season, "--roads", folder.folder / "r.shp", "--timezone", "UTC")
    assert result.exit_code == 4
    assert "reference system" in result.output
    assert not folder.season.exists()


def test_everyday_road_columns_are_understood_and_the_rest_named():
    layer = gpd.GeoDataFrame.from_features(
        [road_line("x", (0, 0), (0.01, 0), FULLNAME="Mill Rd", maxspeed="45 mph", AADT=1200)], crs=4326
    ).drop(columns="road")
    roads, notes = canonical_roads(layer)
    assert roads.loc[0, ["road", "speed_limit", "traffic_per_day"]].tolist() == ["Mill Rd", 45.0, 1200.0]
    assert "from_measure" in notes[0]


def test_a_layer_can_be_added_and_replaced(county):
    pond = {
        "type": "Feature",
        "properties": {"name": "Invented Pond"},
        "geometry": {
            "type": "Polygon",
            "coordinates": [[[-81.9, 31.7], [-81.89, 31.7], [-81.89, 31.71], [-81.9, 31.7]]],
        },
    }
    file = county.write("water.geojson", road_layer(pond, pond))
    assert county.run("layer", county.season, file, "--as", "water").exit_code == 0
    file = county.write("water.geojson", road_layer(pond))
    assert county.json("layer", county.season, file, "--as", "water")["features"] == 1
    assert len(Season.open(county.season).read("water")) == 1


def test_roads_with_longitude_and_latitude_swapped_are_refused(folder):
    line = {"type": "LineString", "coordinates": [[31.7, -81.9], [31.71, -81.91]]}
    swapped = {"type": "Feature", "properties": {"road": "One"}, "geometry": line}
    roads = folder.write("r.geojson", road_layer(swapped))
    result = folder.run("new", folder.season, "--roads", roads, "--timezone", "UTC")
    assert result.exit_code == 4
    assert "changed places" in result.output
    assert not folder.season.exists()
