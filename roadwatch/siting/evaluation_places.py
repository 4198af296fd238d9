"""On which stretches a measure acts, where deaths may have moved to, and what lies too near to compare with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.sparse import csgraph

from roadwatch.hotspots.clusters import stretch_links
from roadwatch.roads.snap import snap
from roadwatch.roads.tracks import is_track, match_tracks

if TYPE_CHECKING:
    import geopandas as gpd
    from scipy import sparse

    from roadwatch.roads.arrays import BoolArray, IntArray, TextArray
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches

POINT_REACH_M = {"sign": 500.0, "speed": 500.0, "passage": 200.0}
"""How far along the roads a measure drawn as a point is taken to act (a convention)."""
OTHER_REACH_M = 200.0
END_ZONE_M = 200.0
"""So far outside each end deaths may have moved to (a convention)."""
APART_M = 500.0
"""A control lies at least so far along the roads from every measure (a convention)."""
HALF_STRETCH_M = 25.0
"""Ways run from centre to centre of stretches of 50 m."""
POINT_ERROR_M = 30.0


@dataclass(frozen=True)
class MeasurePlace:
    """
    Where a measure acts.

    Parameters
    ----------
    inside
        (s,) True for the stretches on which it acts.
    ends
        (s,) True for those within 200 m outside its ends, side roads included.
    reason
        Why the place is not known; empty where it is.
    """

    inside: BoolArray
    ends: BoolArray
    reason: str


def measure_places(
    network: Network, stretches: Stretches, measures: gpd.GeoDataFrame
) -> tuple[list[MeasurePlace], BoolArray]:
    """
    Lay measures on the roads: lines along the road they follow, points with the reach of their kind.

    Parameters
    ----------
    network, stretches
        The roads, and the stretches cut from them.
    measures
        (m,) ``kind`` and geometry in WGS 84; a missing geometry is allowed.

    Returns
    -------
    (places, apart) m places, and (s,) True for the stretches at least 500 m from every measure.
    """
    links = stretch_links(network, stretches)
    n = len(stretches.edge)
    places = []
    for kind, shape in zip(measures["kind"], measures.geometry.to_numpy(), strict=True):
        inside = np.zeros(n, dtype=bool)
        if shape is None or shape.is_empty:
            places.append(MeasurePlace(inside, inside, "its place is not on file; add it as a map layer"))
            continue
        reach_m, seeds = _seeds(network, stretches, shape, str(kind))
        if not len(seeds):
            places.append(MeasurePlace(inside, inside, "it lies on no road of the layer"))
            continue
        inside = _within(links, seeds, reach_m, n)
        ends = _within(links, np.flatnonzero(inside), END_ZONE_M + HALF_STRETCH_M, n) & ~inside
        places.append(MeasurePlace(inside, ends, ""))
    taken = np.flatnonzero(np.any([place.inside for place in places], axis=0)) if places else np.empty(0, np.int64)
    return places, ~_within(links, taken, APART_M + HALF_STRETCH_M, n)


def _seeds(network: Network, stretches: Stretches, shape: shapely.Geometry, kind: str) -> tuple[float, IntArray]:
    """How far a measure acts along the roads, and from which stretches."""
    outline: TextArray = np.array([shape], dtype=object)
    if is_track(outline)[0]:
        return 0.0, np.unique(match_tracks(network, stretches, outline).stretch)
    middle = shapely.centroid(outline)
    x_m, y_m = network.project(shapely.get_x(middle), shapely.get_y(middle))
    placed = snap(network, x_m, y_m, position_error_m=POINT_ERROR_M)
    found = stretches.of_place(placed.edge, placed.offset_m)
    return POINT_REACH_M.get(kind, OTHER_REACH_M), found[found >= 0]


def _within(links: sparse.csr_array, seeds: IntArray, reach_m: float, n: int) -> BoolArray:
    """(n,) Stretches whose centre lies within reach of that of a seed, along the roads."""
    near = np.zeros(n, dtype=bool)
    near[seeds] = True
    if reach_m > 0.0 and len(seeds):
        way_m = csgraph.dijkstra(links, directed=False, indices=seeds, min_only=True, limit=reach_m)
        near |= np.isfinite(way_m[:n])
    return near
