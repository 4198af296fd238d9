"""The local metric system against geodesic lengths and scale factors of pyproj (PROJ), an independent library."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from pyproj import Geod, Proj

from roadwatch.roads.projection import WGS84, length_error_share, local_crs, local_metres


def lines_about(longitude, latitude, *, half_width_deg, rng, n=200):
    start = np.array([longitude, latitude]) + rng.uniform(-half_width_deg, half_width_deg, (n, 2))
    shapes = shapely.linestrings(np.stack([start, start + rng.uniform(-0.01, 0.01, (n, 2))], axis=1))
    return gpd.GeoSeries(shapes, crs=WGS84).to_frame("geometry")


@pytest.mark.parametrize("place", [(-82.3, 29.6), (25.0, 64.0), (150.5, -34.0), (-78.5, -0.2), (-90.0, 45.0)])
def test_lengths_in_a_county_agree_with_geodesics(place):
    layer = lines_about(*place, half_width_deg=0.3, rng=np.random.default_rng(1))
    geodesic_m = np.array([Geod(ellps="WGS84").geometry_length(line) for line in layer.geometry])
    length_m = layer.to_crs(local_crs(layer)).length.to_numpy()
    assert np.abs(length_m / geodesic_m - 1).max() < 0.00002


def test_lengths_180_km_from_the_middle_are_still_right_to_four_in_ten_thousand():
    layer = lines_about(-82.3, 29.6, half_width_deg=1.8, rng=np.random.default_rng(2), n=2000)
    local = layer.to_crs(local_crs(layer))
    assert local.total_bounds[2] > 170_000
    geodesic_m = np.array([Geod(ellps="WGS84").geometry_length(line) for line in layer.geometry])
    assert np.abs(local.length.to_numpy() / geodesic_m - 1).max() < 0.0004


def test_a_utm_zone_would_be_less_true_on_its_own_middle_meridian():
    layer = lines_about(-81.0, 29.6, half_width_deg=0.1, rng=np.random.default_rng(3))
    geodesic_m = np.array([Geod(ellps="WGS84").geometry_length(line) for line in layer.geometry])
    utm_error = np.abs(layer.to_crs(layer.estimate_utm_crs()).length / geodesic_m - 1).max()
    local_error = np.abs(layer.to_crs(local_crs(layer)).length / geodesic_m - 1).max()
    assert utm_error > 0.00039 > 100 * local_error


def test_the_stated_error_agrees_with_the_scale_factor_of_the_projection():
    layer = lines_about(-82.3, 29.6, half_width_deg=0.01, rng=np.random.default_rng(4))
    crs = local_crs(layer)
    x_m, _ = local_metres(crs, np.array([-80.5]), np.array([29.6]))
    scale = Proj(crs).get_factors(-80.5, 29.6).meridional_scale
    assert length_error_share(x_m[0]) == pytest.approx(scale - 1, rel=0.01)


def test_a_layer_across_the_date_line_stays_in_one_piece():
    shapes = [
        shapely.LineString([(179.9, -17.0), (179.95, -17.0)]),
        shapely.LineString([(-179.9, -17.0), (-179.95, -17.0)]),
    ]
    layer = gpd.GeoDataFrame(geometry=shapes, crs=WGS84)
    local = layer.to_crs(local_crs(layer))
    assert np.abs(local.total_bounds).max() < 15_000
    between_m = Geod(ellps="WGS84").inv(179.95, -17.0, -179.95, -17.0)[2]
    assert local.geometry[0].distance(local.geometry[1]) == pytest.approx(between_m, rel=1e-5)


def test_a_missing_place_stays_missing():
    layer = lines_about(-82.3, 29.6, half_width_deg=0.01, rng=np.random.default_rng(5))
    x_m, y_m = local_metres(local_crs(layer), np.array([-82.3, np.nan]), np.array([29.6, 29.6]))
    assert np.isfinite([x_m[0], y_m[0]]).all()
    assert np.isnan([x_m[1], y_m[1]]).all()
