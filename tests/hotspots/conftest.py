"""Small roads, counties and records, made up for the tests of this room."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from scipy import sparse

from roadwatch.hotspots.paths import Graph
from roadwatch.roads.network import build_network
from roadwatch.roads.stretches import cut_stretches

WEST_M, SOUTH_M = 500_000.0, 4_000_000.0


@pytest.fixture
def graph():
    """graph((node, node, length), ...): a network without shapes."""

    def make(*edges):
        node_from, node_to, length = zip(*edges, strict=True)
        return Graph(np.array(node_from), np.array(node_to), np.array(length, dtype=float))

    return make


@pytest.fixture
def roads():
    """roads({name: [(x, y), ...]}, agency=...): a network of named lines, metres from a corner in UTM zone 17 north."""

    def make(lines, **attributes):
        shapes = [shapely.LineString(np.add(points, (WEST_M, SOUTH_M))) for points in lines.values()]
        table = {"road": list(lines), **attributes}
        return build_network(gpd.GeoDataFrame(table, geometry=shapes, crs="EPSG:32617"))

    return make


@pytest.fixture
def straight_road(roads):
    """straight_road(length_m): one road from west to east."""
    return lambda length_m, **attributes: roads({"Long Road": [(0.0, 0.0), (length_m, 0.0)]}, **attributes)


@pytest.fixture
def county(roads):
    """county(k, spacing_m): k roads each way that meet every ``spacing_m``, each drawn with its junctions."""

    def make(k=6, spacing_m=1000.0, *, drawn_backwards=False, extra=None):
        at = [spacing_m * step for step in range(k)]
        lines = {f"East {row}": [(x, y) for x in at] for row, y in enumerate(at)}
        lines |= {f"North {column}": [(x, y) for y in at] for column, x in enumerate(at)}
        if drawn_backwards:
            lines = {name: points[::-1] for name, points in lines.items()}
        return roads(lines | (extra or {}))

    return make


@pytest.fixture
def records():
    """records(stretches, stretch, ...): one record in the middle of each stretch given; columns can be replaced."""

    def make(stretches, stretch, **columns):
        stretch = np.asarray(stretch)
        n = len(stretch)
        table = {
            "edge": stretches.edge[stretch],
            "offset_m": stretches.start_m[stretch] + stretches.length_m[stretch] / 2,
            "weight": np.ones(n),
            "year": 2021 + np.arange(n) % 3,
            "date": [f"{2021 + i % 3}-05-{1 + i % 28:02d}" for i in range(n)],
            "observer": [f"observer {i % 4}" for i in range(n)],
        }
        return pd.DataFrame(table | columns)

    return make


@pytest.fixture
def cut():
    """cut(network): the network with its stretches."""
    return lambda network: (network, cut_stretches(network))


@pytest.fixture(scope="module")
def ring():
    """A ring of 60 stretches with a kernel over three of them: small enough for thousands of scatterings."""
    n = 60
    near = sparse.diags_array([0.25, 0.5, 0.25, 0.25, 0.25], offsets=[-1, 0, 1, n - 1, 1 - n], shape=(n, n))
    return sparse.csr_array(near)
