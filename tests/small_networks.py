"""Small invented road networks in metres, for tests of siting."""

import geopandas as gpd
import numpy as np
import shapely

from roadwatch.roads.network import Network, build_network

WEST_M, SOUTH_M = 500_000.0, 4_000_000.0
"""A corner in UTM zone 17 north, on its central meridian, where a metre of the grid is a metre to 4 in 10,000."""


def network_of(lines: dict[str, list[tuple[float, float]]], **attributes) -> Network:
    """A network of named lines; attributes are lists, one value a line, or one value for all."""
    shapes = [shapely.LineString(np.add(points, (WEST_M, SOUTH_M))) for points in lines.values()]
    table = {"road": list(lines), **attributes}
    return build_network(gpd.GeoDataFrame(table, geometry=shapes, crs="EPSG:32617"))


def shape_on(network: Network, shape: shapely.Geometry) -> shapely.Geometry:
    """A shape drawn in metres from the corner, in WGS 84 degrees."""
    moved = shapely.transform(shape, lambda xy: np.add(xy, (WEST_M, SOUTH_M)))
    return gpd.GeoSeries([moved], crs="EPSG:32617").to_crs("EPSG:4326").iloc[0]
