"""Cut many lines at many places at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray, TextArray


@dataclass(frozen=True)
class Vertices:
    """Every vertex of every line, in order: which line, where, and how far along it."""

    line: IntArray
    xy: FloatArray
    at_m: FloatArray
    is_end: BoolArray


def vertices_of(lines: TextArray) -> Vertices:
    """
    Take lines apart into their vertices, each with its distance along its own line.

    Parameters
    ----------
    lines
        (n,) LineStrings.
    """
    xy, line = shapely.get_coordinates(lines, return_index=True)
    starts = np.r_[True, line[1:] != line[:-1]]
    step = np.r_[0.0, np.hypot(*np.diff(xy, axis=0).T)]
    step[starts] = 0.0
    along = np.cumsum(step)
    at_m = along - along[np.flatnonzero(starts)][np.cumsum(starts) - 1]
    return Vertices(line.astype(np.int64), xy, at_m, starts | np.r_[starts[1:], True])


@dataclass(frozen=True)
class Pieces:
    """Lines cut in pieces: the line each came from, where it starts and ends on it, and its shape."""

    line: IntArray
    cut_from: IntArray
    cut_to: IntArray
    from_m: FloatArray
    to_m: FloatArray
    geometry: TextArray


def cut_lines(vertices: Vertices, line: IntArray, at_m: FloatArray, xy: FloatArray) -> Pieces:
    """
    Cut lines at the given places; each line must be given its two ends as places too.

    Parameters
    ----------
    vertices
        The lines, taken apart.
    line, at_m, xy
        (k,), (k,), (k, 2) The cuts, sorted by line and distance: line, metres along it, and the point where the
        pieces shall meet (which may lie a little off the line).

    Returns
    -------
    The pieces, in the order of the cuts; ``cut_from`` and ``cut_to`` point at the rows given.
    """
    begins = np.r_[line[1:] == line[:-1], False]
    start = np.flatnonzero(begins)
    piece_of_cut = np.where(begins, np.cumsum(begins) - 1, -1)
    after = _last_cut_before(vertices, line, at_m)
    follower = np.minimum(after + 1, len(line) - 1)
    is_inside = (vertices.at_m - at_m[after] > 1e-6) & (at_m[follower] - vertices.at_m > 1e-6)
    is_inside &= ~vertices.is_end
    piece = np.r_[np.arange(len(start)), piece_of_cut[after[is_inside]], np.arange(len(start))]
    points = np.vstack([xy[start], vertices.xy[is_inside], xy[start + 1]])
    order = np.argsort(piece, kind="stable")
    shapes = shapely.remove_repeated_points(shapely.linestrings(points[order], indices=piece[order]))
    return Pieces(
        line=line[start],
        cut_from=start,
        cut_to=start + 1,
        from_m=at_m[start],
        to_m=at_m[start + 1],
        geometry=np.asarray(shapes, dtype=object),
    )


def _last_cut_before(vertices: Vertices, line: IntArray, at_m: FloatArray) -> IntArray:
    """For each vertex the last cut at or before it on its own line."""
    stacked_line = np.r_[line, vertices.line]
    stacked_at = np.r_[at_m, vertices.at_m]
    is_vertex = np.r_[np.zeros(len(line), dtype=bool), np.ones(len(vertices.line), dtype=bool)]
    order = np.lexsort((is_vertex, stacked_at, stacked_line))
    last = np.maximum(np.cumsum(~is_vertex[order]) - 1, 0)
    found = np.empty(len(order), dtype=np.int64)
    found[order] = last
    return found[len(line) :]
