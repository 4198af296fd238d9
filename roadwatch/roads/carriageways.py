"""The two carriageways of a divided road as one line, so that it is not counted as twice as much road."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from roadwatch.roads.stretches import stretch_lines

if TYPE_CHECKING:
    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray, TextArray
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches

APART_AT_MOST_M = 40.0
"""Carriageways of one road lie no further apart than this (a convention)."""

LARGEST_ANGLE_DEG = 20.0
"""Stretches that differ in direction by more than this are not parallel, and one is not abreast of the other."""


@dataclass(frozen=True)
class Carriageways:
    """
    Which stretches stand for others.

    Parameters
    ----------
    line_of
        (s,) Stretch that stands for each stretch: itself, or the one abreast of it on the other carriageway.
    edge, offset_m
        (s,) The place on that stretch that lies abreast of the centre of each.
    notes
        What was taken together, with its length.
    """

    line_of: IntArray
    edge: IntArray
    offset_m: FloatArray
    notes: tuple[str, ...]

    @property
    def is_double(self) -> BoolArray:
        """(s,) True for the stretches that another stands for."""
        return np.asarray(self.line_of != np.arange(len(self.line_of)))

    def move(self, stretch: IntArray, edge: IntArray, offset_m: FloatArray) -> tuple[IntArray, FloatArray]:
        """
        Move places on a carriageway that another stands for over to that one.

        Parameters
        ----------
        stretch, edge, offset_m
            (k,) Stretch (-1: not placed), edge and offset of each place.

        Returns
        -------
        (k,), (k,) Edge and offset.
        """
        is_moved = (stretch >= 0) & self.is_double[stretch]
        return (
            np.where(is_moved, self.edge[stretch], edge),
            np.where(is_moved, self.offset_m[stretch], offset_m),
        )

    def join(self, values: FloatArray) -> FloatArray:
        """
        Take the mean of a value over the carriageways of each line, and leave nan on those that another stands for.

        Parameters
        ----------
        values
            (s,) Values, such as kilometres searched; nan where unknown.
        """
        known = ~np.isnan(values)
        n = len(values)
        total = np.bincount(self.line_of, np.where(known, values, 0.0), n)
        count = np.bincount(self.line_of, known, n)
        mean = np.divide(total, count, out=np.full(n, np.nan), where=(count > 0) & ~self.is_double)
        return np.asarray(mean, dtype=np.float64)


def find_carriageways(network: Network, stretches: Stretches) -> Carriageways:
    """
    Find stretches of divided roads that run abreast, parallel and at most 40 m apart.

    Both must be of one name and either both marked divided, or neither marked undivided and each on a part of the road
    of its own: a road that turns back beside itself in a hairpin is one part, and stays as it is. Two names are two
    roads, such as a highway and its frontage road, whatever is marked. Of a pair, the carriageway
    on the part of the road that is numbered lower, or reached first along it, stands for the other.

    Parameters
    ----------
    network, stretches
        The roads, and the stretches cut from them.
    """
    n = len(stretches.edge)
    line_of = np.arange(n)
    edge, offset_m = stretches.edge.copy(), stretches.start_m + stretches.length_m / 2.0
    edges = network.edges
    is_divided = (edges["divided"] == True).to_numpy(dtype=bool)  # noqa: E712  # a blank is not a yes
    is_single = (edges["divided"] == False).to_numpy(dtype=bool)  # noqa: E712  # nor a no
    road = edges["road"].to_numpy(dtype=object)
    part = edges["road_part"].to_numpy()
    may_be = is_divided | (~is_single & _has_parts(road, part))
    own = np.flatnonzero(may_be[stretches.edge])
    if not len(own):
        return Carriageways(line_of, edge, offset_m, ())
    lines = stretch_lines(network, stretches)[own]
    one, other = _abreast(lines)
    key = _order_along(network, stretches)[own]
    of = stretches.edge[own]
    marked = is_divided[of[one]] & is_divided[of[other]]
    is_pair = (road[of[one]] == road[of[other]]) & (key[other] < key[one])
    is_pair &= marked | (part[of[one]] != part[of[other]])
    one, other = one[is_pair], other[is_pair]
    centre = shapely.line_interpolate_point(lines, 0.5, normalized=True)
    apart_m = shapely.distance(centre[one], lines[other])
    order = np.lexsort((key[other], apart_m, one))
    first = order[np.r_[True, np.diff(one[order]) > 0][: len(order)]]
    line_of[own[one[first]]] = own[other[first]]
    line_of = line_of[line_of]  # of three abreast, the first stands for all
    is_double = line_of != np.arange(n)
    double = np.flatnonzero(is_double)
    edge[double] = stretches.edge[line_of[double]]
    shapes = network.edges.geometry.to_numpy()
    offset_m[double] = shapely.line_locate_point(shapes[edge[double]], centre[is_double[own]])
    return Carriageways(line_of, edge, offset_m, _notes(stretches.length_m[double]))


def _has_parts(road: TextArray, part: IntArray) -> BoolArray:
    """(edges,) True where more than one part goes by the road's name."""
    names, number = np.unique(road.astype(str), return_inverse=True)
    parts = np.zeros(len(names), dtype=np.int64)
    np.maximum.at(parts, number, part)
    return np.asarray(parts[number] > 0)


def _abreast(lines: TextArray) -> tuple[IntArray, IntArray]:
    """Pairs of lines of which the second is parallel to the first and beside it, not before or behind."""
    centre = np.asarray(shapely.line_interpolate_point(lines, 0.5, normalized=True), dtype=object)
    one, other = shapely.STRtree(lines).query(centre, predicate="dwithin", distance=APART_AT_MOST_M)
    heading = shapely.get_coordinates(shapely.get_point(lines, -1)) - shapely.get_coordinates(
        shapely.get_point(lines, 0)
    )
    foot = shapely.line_interpolate_point(lines[other], shapely.line_locate_point(lines[other], centre[one]))
    aside = shapely.get_coordinates(foot) - shapely.get_coordinates(centre[one])
    sine = np.sin(np.deg2rad(LARGEST_ANGLE_DEG))
    is_parallel = np.abs(_cross(heading[one], heading[other])) <= sine * _size(heading[one]) * _size(heading[other])
    is_beside = np.abs((heading[one] * aside).sum(axis=1)) <= sine * _size(heading[one]) * _size(aside)
    kept = (one != other) & is_parallel & is_beside
    return one[kept], other[kept]


def _order_along(network: Network, stretches: Stretches) -> FloatArray:
    """(s,) A number that grows with the part of the road and the metre at which the edge begins."""
    edges = network.edges
    rank = np.empty(len(edges))
    order = np.lexsort((edges["road_from_m"].to_numpy(), edges["road_part"].to_numpy()))
    rank[order] = np.arange(len(edges))
    return rank[stretches.edge]


def _notes(length_m: FloatArray) -> tuple[str, ...]:
    if not len(length_m):
        return ()
    told = (
        f"{length_m.sum() / 1000.0:.1f} km of second carriageways (one name, parallel, at most "
        f"{APART_AT_MOST_M:g} m apart) are counted with the first as one line, for length, search and deaths."
    )
    return (told,)


def _cross(one: FloatArray, other: FloatArray) -> FloatArray:
    return np.asarray(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])


def _size(vector: FloatArray) -> FloatArray:
    return np.hypot(vector[:, 0], vector[:, 1])
