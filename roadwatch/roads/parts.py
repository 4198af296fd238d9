"""Join the pieces of one road name end to end, and measure along them."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from itertools import combinations, count
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterator

    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray, TextArray

SHARPEST_TURN_DEG = 75.0
"""At a junction a road goes on into the straightest piece of its name, if it turns less than this (a convention)."""


@dataclass(frozen=True)
class Parts:
    """For each piece: the road, the part of it, where on that part it lies, and whether it is drawn against it."""

    road: TextArray
    part: IntArray
    from_m: FloatArray
    to_m: FloatArray
    reversed: BoolArray


def join_parts(names: list[str | None], shapes: TextArray, node_from: IntArray, node_to: IntArray) -> Parts:
    """
    Chain pieces of one name into parts, each measured from its westernmost, then southernmost end.

    A part that closes on itself is measured clockwise from its westernmost node. Parts of a road are numbered from
    west to east. Pieces without a name are chained in the same way, and each chain becomes 'unnamed road 1', 2, ...

    Parameters
    ----------
    names
        (n,) Name of each piece, None where it has none.
    shapes
        (n,) LineStrings in metres.
    node_from, node_to
        (n,) Nodes at the start and end of each piece.
    """
    length_m = shapely.length(shapes)
    end_xy = _end_points(shapes)
    chains = [
        _oriented(chain, shapes, end_xy, closed=closed)
        for chain, closed in _chains(_partners(names, shapes, node_from, node_to), len(names))
    ]
    chains.sort(key=lambda chain: (end_xy[chain[0]], end_xy[chain[-1] ^ 1], length_m[chain[0] // 2]))
    parts = Parts(
        np.array([name or "" for name in names], dtype=object),
        np.zeros(len(names), dtype=np.int64),
        np.zeros(len(names)),
        np.zeros(len(names)),
        np.zeros(len(names), dtype=bool),
    )
    new_names = _new_names(set(names))
    n_parts: dict[str, int] = defaultdict(int)
    for chain in chains:
        pieces, against = np.array(chain) // 2, np.array(chain) % 2 == 1
        along_m = np.cumsum(length_m[pieces])
        name = names[pieces[0]] or next(new_names)
        parts.road[pieces], parts.part[pieces], parts.reversed[pieces] = name, n_parts[name], against
        parts.to_m[pieces] = along_m
        parts.from_m[pieces] = along_m - length_m[pieces]
        n_parts[name] += 1
    return parts


def _new_names(taken: set[str | None]) -> Iterator[str]:
    """Names for roads without one, passing over those that the layer itself uses."""
    return (name for name in map("unnamed road {}".format, count(1)) if name not in taken)


def _end_points(shapes: TextArray) -> list[tuple[float, float]]:
    """The points at the start and end of each piece in turn, to a millimetre."""
    points = np.stack([shapely.get_point(shapes, 0), shapely.get_point(shapes, -1)], axis=1).ravel()
    return [(x, y) for x, y in np.round(shapely.get_coordinates(points), 3).tolist()]


def _partners(names: list[str | None], shapes: TextArray, node_from: IntArray, node_to: IntArray) -> IntArray:
    """The end that each end is joined to, or -1. End 2i is the start of piece i, end 2i + 1 its end."""
    ends_at: dict[tuple[int, str | None], list[int]] = defaultdict(list)
    degree: dict[int, int] = defaultdict(int)
    for piece, (start, stop) in enumerate(zip(node_from.tolist(), node_to.tolist(), strict=True)):
        ends_at[start, names[piece]].append(2 * piece)
        ends_at[stop, names[piece]].append(2 * piece + 1)
        degree[start] += 1
        degree[stop] += 1
    heading = _headings(shapes)
    partner = np.full(2 * len(names), -1, dtype=np.int64)
    for (node, name), ends in ends_at.items():
        is_plain = len(ends) == 2 and (name is not None or degree[node] == 2)
        for one, other in [(ends[0], ends[1])] if is_plain else _straightest_pairs(ends, heading):
            partner[one], partner[other] = other, one
    return partner


def _headings(shapes: TextArray) -> FloatArray:
    """(2n,) Direction in which each piece leaves its start and its end node, radians."""
    simple = shapely.remove_repeated_points(shapes)
    last = shapely.get_num_points(simple) - 1
    leaving = np.empty(2 * len(shapes))
    for side, (node, next_one) in enumerate([(0 * last, 0 * last + 1), (last, last - 1)]):
        here, there = shapely.get_point(simple, node), shapely.get_point(simple, next_one)
        leaving[side::2] = np.arctan2(
            shapely.get_y(there) - shapely.get_y(here), shapely.get_x(there) - shapely.get_x(here)
        )
    return leaving


def _straightest_pairs(ends: list[int], heading: FloatArray) -> list[tuple[int, int]]:
    """Pair ends at a junction, the straightest pair first; sharp turns stay unpaired."""
    by_turn = sorted((_turn_deg(heading[one], heading[other]), one, other) for one, other in combinations(ends, 2))
    pairs: list[tuple[int, int]] = []
    used: set[int] = set()
    for turn_deg, one, other in by_turn:
        if turn_deg < SHARPEST_TURN_DEG and used.isdisjoint((one, other)):
            pairs.append((one, other))
            used.update((one, other))
    return pairs


def _turn_deg(one: float, other: float) -> float:
    """By how much a way turns that comes in at one heading and leaves at the other; both point out of the junction."""
    return round(abs(180.0 - math.degrees(abs(float(one - other)))), 6)


def _chains(partner: IntArray, n_pieces: int) -> list[tuple[list[int], bool]]:
    """Walk the joined ends: lists of ends at which each piece is entered, and whether the chain closes."""
    joined = partner.tolist()
    is_used = [False] * n_pieces
    chains: list[tuple[list[int], bool]] = []
    open_ends = [end for end, other in enumerate(joined) if other < 0]
    for start in open_ends + list(range(0, 2 * n_pieces, 2)):
        if is_used[start // 2]:
            continue
        chain, end = [], start
        while end >= 0 and not is_used[end // 2]:
            is_used[end // 2] = True
            chain.append(end)
            end = joined[end ^ 1]
        chains.append((chain, end >= 0))
    return chains


def _oriented(chain: list[int], shapes: TextArray, end_xy: list[tuple[float, float]], *, closed: bool) -> list[int]:
    """Turn a chain so that it starts at its westernmost, then southernmost end; closed ones run clockwise."""
    backwards = [end ^ 1 for end in reversed(chain)]
    start, stop = end_xy[chain[0]], end_xy[chain[-1] ^ 1]
    if stop < start or (start == stop and _turns_left(chain, shapes)):
        chain = backwards
    if closed:
        first = min(range(len(chain)), key=lambda i: end_xy[chain[i]])
        chain = chain[first:] + chain[:first]
    return chain


def _turns_left(chain: list[int], shapes: TextArray) -> bool:
    """Whether a chain that returns to its start runs anticlockwise."""
    points = np.vstack([shapely.get_coordinates(shapes[end // 2])[:: -1 if end % 2 else 1] for end in chain])
    x, y = (points - points[0]).T
    return bool(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]) > 0.0)
