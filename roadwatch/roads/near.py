"""Which stretches of road run beside something, such as wetland."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from roadwatch.roads.stretches import stretch_lines

if TYPE_CHECKING:
    import geopandas as gpd

    from roadwatch.roads.arrays import BoolArray
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches

BESIDE_WITHIN_M = 100.0
"""A stretch no further from it than this runs along it (a convention)."""


def stretches_near(
    network: Network, stretches: Stretches, layer: gpd.GeoDataFrame, *, within_m: float = BESIDE_WITHIN_M
) -> BoolArray:
    """
    Mark the stretches that lie near any shape of a layer.

    Parameters
    ----------
    network, stretches
        The roads, and the stretches cut from them.
    layer
        Shapes of any kind in any reference system.
    within_m
        Greatest distance from the shape to the nearest point of the stretch.

    Returns
    -------
    (s,) True where the stretch lies near.
    """
    shapes = layer.geometry.dropna().to_crs(network.crs).to_numpy()
    near = np.zeros(len(stretches.edge), dtype=bool)
    lines = stretch_lines(network, stretches)
    near[shapely.STRtree(shapes).query(lines, predicate="dwithin", distance=within_m)[0]] = True
    return near
