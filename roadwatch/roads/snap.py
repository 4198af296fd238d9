"""Place records on the nearest road, or say why not."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from roadwatch.records.fields import DEFAULT_POSITION_ERROR_M

if TYPE_CHECKING:
    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray, TextArray
    from roadwatch.roads.network import Network

LEAST_TOLERANCE_M = 50.0
"""A record this near a road is always placed: a map's roads lie some metres off (a convention)."""
ERRORS_ALLOWED = 3.0
"""A record is placed on a road up to this many position errors away (a convention)."""


@dataclass(frozen=True)
class Snapped:
    """
    Where records lie on the roads; every array is (n,), in the order of the records.

    Parameters
    ----------
    edge
        Edge of the nearest road; -1 where the record was not placed.
    offset_m
        Metres along the edge as it is drawn; nan where not placed.
    distance_m
        Distance from the record to the nearest road, metres, also where that is too far; nan without a position.
    tolerance_m
        Greatest distance at which the record would be placed, metres.
    reason
        Why the record was not placed; empty where it was.
    is_ambiguous
        True where another road lies no more than the position error further away than the nearest.
    other_edge, other_offset_m, other_distance_m
        The place on that other road; -1, nan and nan where there is none.
    """

    edge: IntArray
    offset_m: FloatArray
    distance_m: FloatArray
    tolerance_m: FloatArray
    reason: TextArray
    is_ambiguous: BoolArray
    other_edge: IntArray
    other_offset_m: FloatArray
    other_distance_m: FloatArray


def snap(network: Network, x_m: FloatArray, y_m: FloatArray, *, position_error_m: FloatArray | float) -> Snapped:
    """
    Place each record on the nearest road within max(50 m, 3 x its position error).

    Parameters
    ----------
    network
        The roads.
    x_m, y_m
        (n,) Positions in the network's reference system, metres; nan where unknown.
    position_error_m
        (n,) or one number: position error, metres. Blank (nan) is taken as 30 m.
    """
    x_m, y_m = np.asarray(x_m, dtype=np.float64), np.asarray(y_m, dtype=np.float64)
    error_m = np.broadcast_to(np.asarray(position_error_m, dtype=np.float64), x_m.shape)
    error_m = np.where(np.isnan(error_m), DEFAULT_POSITION_ERROR_M, error_m)
    tolerance_m = np.maximum(LEAST_TOLERANCE_M, ERRORS_ALLOWED * error_m)
    shapes = network.edges.geometry.to_numpy()
    tree = shapely.STRtree(shapes)
    points = np.asarray(shapely.points(x_m, y_m), dtype=object)
    points[~(np.isfinite(x_m) & np.isfinite(y_m))] = None
    nearest, distance_m = nearest_edges(tree, points)
    is_placed = (nearest >= 0) & (distance_m <= tolerance_m)
    edge = np.where(is_placed, nearest, -1)
    other = _other_road(tree, points, edge, distance_m + error_m, network.edges["road"].to_numpy())
    return Snapped(
        edge=edge,
        offset_m=_offsets(shapes, edge, points),
        distance_m=distance_m,
        tolerance_m=tolerance_m,
        reason=_reasons(distance_m, tolerance_m),
        is_ambiguous=other >= 0,
        other_edge=other,
        other_offset_m=_offsets(shapes, other, points),
        other_distance_m=_distances(shapes, other, points),
    )


def nearest_edges(tree: shapely.STRtree, points: TextArray) -> tuple[IntArray, FloatArray]:
    """
    Find the nearest edge of each point; of several equally near, the first.

    Parameters
    ----------
    tree
        Tree over the edges' lines.
    points
        (n,) Points; None where the position is unknown.

    Returns
    -------
    (edge, distance_m) (n,) Edge, -1 without a position, and distance in metres, nan without a position.
    """
    (point, found), apart_m = tree.query_nearest(points, return_distance=True)
    order = np.lexsort((found, point))
    point, found, apart_m = point[order], found[order], apart_m[order]
    first = np.r_[True, np.diff(point) > 0][: len(point)]
    edge = np.full(len(points), -1, dtype=np.int64)
    distance_m = np.full(len(points), np.nan)
    edge[point[first]], distance_m[point[first]] = found[first], apart_m[first]
    return edge, distance_m


def _other_road(
    tree: shapely.STRtree, points: TextArray, edge: IntArray, within_m: FloatArray, road: TextArray
) -> IntArray:
    """The nearest edge of another road within reach of each placed point, or -1."""
    placed = np.flatnonzero(edge >= 0)
    row, found = tree.query(points[placed], predicate="dwithin", distance=within_m[placed])
    point = placed[row]
    _, code = np.unique(road.astype(str), return_inverse=True)
    is_other = code[found] != code[edge[point]]
    point, found = point[is_other], found[is_other]
    apart_m = shapely.distance(tree.geometries[found], points[point])
    order = np.lexsort((found, apart_m, point))
    first = np.r_[True, np.diff(point[order]) > 0][: len(point)]
    other = np.full(len(points), -1, dtype=np.int64)
    other[point[order][first]] = found[order][first]
    return other


def _offsets(shapes: TextArray, edge: IntArray, points: TextArray) -> FloatArray:
    offset_m = np.full(len(edge), np.nan)
    on = edge >= 0
    offset_m[on] = shapely.line_locate_point(shapes[edge[on]], points[on])
    return offset_m


def _distances(shapes: TextArray, edge: IntArray, points: TextArray) -> FloatArray:
    distance_m = np.full(len(edge), np.nan)
    on = edge >= 0
    distance_m[on] = shapely.distance(shapes[edge[on]], points[on])
    return distance_m


def _reasons(distance_m: FloatArray, tolerance_m: FloatArray) -> TextArray:
    reason = np.full(len(distance_m), "", dtype=object)
    reason[np.isnan(distance_m)] = "no position is given"
    for i in np.flatnonzero(distance_m > tolerance_m):
        reason[i] = f"nearest road is {math.ceil(distance_m[i])} m away; tolerance {tolerance_m[i]:.0f} m"
    return reason
