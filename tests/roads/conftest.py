"""Factories of small road layers, drawn in metres about a point in Florida; every place in them is invented."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from pyproj import CRS

from roadwatch.roads.network import build_network

METRES = CRS.from_proj4("+proj=tmerc +lat_0=29.65 +lon_0=-82.32 +k=1 +datum=WGS84 +units=m")


@pytest.fixture
def layer():
    """Make a road layer: ``layer([[(0, 0), (100, 0)], ...], road=["Mill Road", ...])``; coordinates in metres."""

    def make(lines, **columns):
        shapes = [
            line if isinstance(line, shapely.Geometry) or line is None else shapely.LineString(line) for line in lines
        ]
        return gpd.GeoDataFrame(columns, geometry=shapes, crs=METRES)

    return make


@pytest.fixture
def network(layer):
    """Build a network straight from lines: ``network([[(0, 0), (100, 0)]], road=["Mill Road"])``."""
    return lambda lines, **columns: build_network(layer(lines, **columns))


@pytest.fixture
def town(layer):
    """
    A layer of crooked streets that all meet at shared vertices, ``size`` streets each way, some of them unnamed.

    ``rng`` decides where they bend; each street is one line, so that its crossings are vertices between its ends.
    """

    def make(rng, *, size=5, block_m=200.0):
        corner = np.stack(np.meshgrid(np.arange(size), np.arange(size), indexing="ij"), axis=-1) * block_m
        corner = corner - corner.mean(axis=(0, 1)) + rng.uniform(-50, 50, corner.shape)
        lines = [corner[i] for i in range(size)] + [corner[:, j] for j in range(size)]
        names = [f"{i} Street" if i % 4 else None for i in range(size)] + [f"{j} Avenue" for j in range(size)]
        return layer(lines, road=names)

    return make


ZOO = {
    "one straight road": [[(0, 0), (100, 0)]],
    "a loop road": [[(0, 0), (200, 0), (200, 200), (0, 200), (0, 0)]],
    "a loop at the end of a stem": [[(-100, 0), (0, 0)], [(0, 0), (50, 50), (100, 0), (50, -50), (0, 0)]],
    "a stem that ends on itself": [[(-100, 0), (0, 0), (50, 50), (100, 0), (50, -50), (0, 0)]],
    "a road that crosses itself": [[(0, 0), (100, 0), (100, 100), (50, 100), (50, -100)]],
    "two roads in parallel between the same junctions": [[(0, 0), (100, 0)], [(0, 0), (50, 40), (100, 0)]],
    "parts that do not hang together": [[(0, 0), (100, 0)], [(0, 500), (100, 500)]],
    "a crossing with a shared vertex": [[(-100, 0), (0, 0), (100, 0)], [(0, -100), (0, 0), (0, 100)]],
    "a crossing without a shared vertex": [[(-100, 0), (100, 0)], [(0, -100), (0, 100)]],
    "a side road that stops short of the main road": [[(-100, 0), (100, 0)], [(20, 0.6), (20, 90)]],
    "a side road that runs past the main road": [[(-100, 0), (100, 0)], [(20, -0.6), (20, 90)]],
    "a sliver between two junctions": [
        [(0, 0), (100, 0), (100.4, 0), (200, 0)],
        [(100, 0), (100, 90)],
        [(100.4, 0), (100, -90)],
    ],
    "roads that overlap for a while": [[(0, 0), (50, 0), (100, 0), (150, 0)], [(50, 0), (100, 0), (100, 90)]],
    "a road drawn in tiny pieces": [[(0.4 * i, 0), (0.4 * i + 0.4, 0)] for i in range(200)],
    "a vertex drawn twice in a row": [[(0, 0), (50, 0), (50, 0), (100, 0)]],
    "a hairpin whose ends nearly meet": [[(0, 0), (100, 5), (0, 0.5)]],
}


@pytest.fixture(params=ZOO.values(), ids=ZOO.keys())
def awkward(request):
    """Lines of one awkward layer after another."""
    return request.param
