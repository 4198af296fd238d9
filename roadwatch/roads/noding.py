"""Find where roads meet, and cut them there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from roadwatch.roads.cleaning import is_repeated
from roadwatch.roads.cutting import Pieces, Vertices, cut_lines, vertices_of

if TYPE_CHECKING:
    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray, TextArray

JOIN_WITHIN_M = 1.0
"""
Road ends this near each other meet, and an end this near the middle of another road joins it. Pieces shorter than
this vanish in one node, because sums over paths through slivers need not end. A convention, far below a lane's width.
"""
SAME_VERTEX_M = 0.01
"""Vertices in the middle of roads meet only where they are the same point, give or take rounding."""
WIDEST_NODE_M = 3.0
"""Ends are left apart where joining them would move roads further than this: a road drawn in tiny pieces."""


@dataclass(frozen=True)
class Noded:
    """Pieces between nodes, the nodes at their ends, and what was found on the way."""

    pieces: Pieces
    node_from: IntArray
    node_to: IntArray
    node_xy: FloatArray
    notes: tuple[str, ...]


@dataclass(frozen=True)
class _Cuts:
    """Places where a line is cut: line, metres along it, and the point where it meets others."""

    line: IntArray
    at_m: FloatArray
    xy: FloatArray


def node_lines(lines: TextArray, *, is_bridge: BoolArray) -> Noded:
    """
    Cut lines where they share an end or a vertex, and where an end touches another line.

    Lines that merely cross, without a shared vertex, do not meet: one may pass over the other. A bridge is never cut
    between its ends.

    Parameters
    ----------
    lines
        (n,) LineStrings in metres, none of zero length.
    is_bridge
        (n,) True for lines that lie on a bridge.
    """
    vertices = vertices_of(lines)
    ends = _cuts_at(vertices, np.flatnonzero(vertices.is_end))
    shared = _cuts_at(vertices, _shared_vertices(vertices, is_bridge))
    touching = _touching_ends(vertices, ends, is_bridge)
    cuts = _sorted_cuts(ends, shared, touching)
    node = _nodes_of_cuts(cuts.xy)
    node_xy = _first_points(cuts.xy, node)
    pieces = cut_lines(vertices, cuts.line, cuts.at_m, node_xy[node])
    is_loop = node[pieces.cut_from] == node[pieces.cut_to]
    is_sliver = is_loop & (shapely.length(pieces.geometry) < WIDEST_NODE_M)
    repeated = is_repeated(pieces.geometry) & ~is_sliver
    n_slivers = int((is_sliver & (pieces.to_m - pieces.from_m > SAME_VERTEX_M)).sum())
    pieces = _some(pieces, ~(is_sliver | repeated))
    notes = _notes(len(touching.line), n_slivers, int(repeated.sum()), _crossings(pieces.geometry))
    node_from, node_to, kept = _renumbered(node[pieces.cut_from], node[pieces.cut_to])
    return Noded(pieces, node_from, node_to, node_xy[kept], notes)


def cluster(xy: FloatArray, within_m: float) -> IntArray:
    """
    Number groups of points that hang together by steps of at most ``within_m``.

    Parameters
    ----------
    xy
        (n, 2) Points in metres.
    within_m
        Longest step between two points of one group, metres.

    Returns
    -------
    (n,) Group of each point, 0..k-1.
    """
    pairs = cKDTree(xy).query_pairs(within_m, output_type="ndarray")
    links = coo_array((np.ones(len(pairs), dtype=np.int8), (pairs[:, 0], pairs[:, 1])), shape=(len(xy), len(xy)))
    return np.asarray(connected_components(links, directed=False)[1], dtype=np.int64)


def _cuts_at(vertices: Vertices, index: IntArray) -> _Cuts:
    return _Cuts(vertices.line[index], vertices.at_m[index], vertices.xy[index])


def _shared_vertices(vertices: Vertices, is_bridge: BoolArray) -> IntArray:
    """Vertices between the ends of a line that another line, or the same line again, has too."""
    repeats_itself = np.r_[False, (np.diff(vertices.at_m) < SAME_VERTEX_M) & (np.diff(vertices.line) == 0)]
    may_meet = vertices.is_end | (~repeats_itself & ~is_bridge[vertices.line])
    index = np.flatnonzero(may_meet)
    group = cluster(vertices.xy[index], SAME_VERTEX_M)
    is_shared = np.bincount(group)[group] > 1
    return index[is_shared & ~vertices.is_end[index]]


def _touching_ends(vertices: Vertices, ends: _Cuts, is_bridge: BoolArray) -> _Cuts:
    """Where an end of one line touches the middle of another, or of its own line further on, without a vertex."""
    is_last = np.r_[vertices.line[1:] != vertices.line[:-1], True]
    length_m = vertices.at_m[is_last]
    segment = np.flatnonzero(~is_last & ~is_bridge[vertices.line])
    shapes = np.asarray(shapely.linestrings(np.stack([vertices.xy[segment], vertices.xy[segment + 1]], axis=1)))
    points = np.asarray(shapely.points(ends.xy))
    end, found = shapely.STRtree(shapes).query(points, predicate="dwithin", distance=JOIN_WITHIN_M)
    start, line = segment[found], vertices.line[segment[found]]
    at_m = vertices.at_m[start] + shapely.line_locate_point(shapes[found], points[end])
    is_between_ends = (at_m > JOIN_WITHIN_M) & (length_m[line] - at_m > JOIN_WITHIN_M)
    is_own_end = (line == ends.line[end]) & (np.abs(at_m - ends.at_m[end]) < 2 * JOIN_WITHIN_M)
    has_vertex = (
        np.minimum(_apart_m(vertices, start, ends, end), _apart_m(vertices, start + 1, ends, end)) < SAME_VERTEX_M
    )
    keep = is_between_ends & ~is_own_end & ~has_vertex
    distance_m = np.asarray(shapely.distance(shapes[found], points[end]))
    return _nearest_of_each(end[keep], line[keep], at_m[keep], distance_m[keep], ends)


def _apart_m(vertices: Vertices, vertex: IntArray, ends: _Cuts, end: IntArray) -> FloatArray:
    return np.asarray(np.hypot(*(vertices.xy[vertex] - ends.xy[end]).T), dtype=np.float64)


def _nearest_of_each(end: IntArray, line: IntArray, at_m: FloatArray, distance_m: FloatArray, ends: _Cuts) -> _Cuts:
    """One cut for each end and line: the nearest place."""
    order = np.lexsort((distance_m, line, end))
    end, line, at_m = end[order], line[order], at_m[order]
    first = np.r_[True, (np.diff(end) != 0) | (np.diff(line) != 0)][: len(end)]
    return _Cuts(line[first], at_m[first], ends.xy[end[first]])


def _sorted_cuts(*parts: _Cuts) -> _Cuts:
    line = np.concatenate([part.line for part in parts])
    at_m = np.concatenate([part.at_m for part in parts])
    order = np.lexsort((at_m, line))
    return _Cuts(line[order], at_m[order], np.vstack([part.xy for part in parts])[order])


def _nodes_of_cuts(xy: FloatArray) -> IntArray:
    """Group cuts that meet; groups that would be too wide keep only the cuts at the very same point together."""
    near, same = cluster(xy, JOIN_WITHIN_M), cluster(xy, SAME_VERTEX_M)
    node = np.where(_width_m(xy, near)[near] > WIDEST_NODE_M, near.max() + 1 + same, near)
    return np.unique(node, return_inverse=True)[1].astype(np.int64)


def _width_m(xy: FloatArray, group: IntArray) -> FloatArray:
    """Larger side of the box around each group of points, metres."""
    n = int(group.max()) + 1
    low, high = np.full((n, 2), np.inf), np.full((n, 2), -np.inf)
    np.minimum.at(low, group, xy)
    np.maximum.at(high, group, xy)
    return np.asarray((high - low).max(axis=1), dtype=np.float64)


def _first_points(xy: FloatArray, group: IntArray) -> FloatArray:
    """The westernmost, then southernmost point of each group: one of those drawn, whatever their order."""
    order = np.lexsort((xy[:, 1], xy[:, 0], group))
    first = np.r_[True, np.diff(group[order]) != 0]
    return xy[order][first]


def _some(pieces: Pieces, keep: BoolArray) -> Pieces:
    return Pieces(**{name: column[keep] for name, column in vars(pieces).items()})


def _renumbered(node_from: IntArray, node_to: IntArray) -> tuple[IntArray, IntArray, IntArray]:
    """Number the nodes still in use 0..m-1."""
    kept, number = np.unique(np.r_[node_from, node_to], return_inverse=True)
    return number[: len(node_from)], number[len(node_from) :], kept


def _crossings(shapes: TextArray) -> int:
    """Pairs of pieces that cross between their ends, and pieces that cross themselves."""
    one, other = shapely.STRtree(shapes).query(shapes, predicate="crosses")
    return int((one < other).sum()) + int((~shapely.is_simple(shapes)).sum())


def _notes(n_touching: int, n_slivers: int, n_repeated: int, n_crossings: int) -> tuple[str, ...]:
    told = [
        (n_touching, f"road ends that touch the middle of a road within {JOIN_WITHIN_M:g} m, joined to it"),
        (n_slivers, f"pieces shorter than about {JOIN_WITHIN_M:g} m, drawn together into one node"),
        (n_repeated, "pieces drawn twice at the same place, the first kept"),
        (n_crossings, "crossings without a shared vertex, not joined (bridges, or junctions the layer lacks)"),
    ]
    return tuple(f"{what}: {count}" for count, what in told if count)
