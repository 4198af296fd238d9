"""Every way a record's density can travel along a road network, with the share that takes it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal, TypeAlias, get_args

import numpy as np
from scipy import sparse

from roadwatch.errors import UsageError

if TYPE_CHECKING:
    from roadwatch.roads.arrays import FloatArray, IntArray


SMALLEST_SHARE = 1e-6
"""A path that carries no more than this share of a record is dropped."""

SAME_DISTANCE_M = 1e-6
"""Paths over the same edge that agree in length to this are counted as one."""

MOST_PATHS = 500_000
"""Paths of one block kept apart at a time; beyond it, paths of nearly equal length are merged more coarsely."""

COARSER_PARTS = (600.0, 60.0)
"""Then lengths are rounded to the reach divided by the first, and if need be by the second."""

Split: TypeAlias = Literal["continuous", "discontinuous"]
"""
How a node of degree m shares out what comes along one arm. Continuous: 2/m to each other arm, 2/m - 1 back.
Discontinuous: 1/(m - 1) to each other arm, nothing back, and what reaches a dead end is lost.
"""


@dataclass(frozen=True)
class Graph:
    """
    Roads without their shapes: (n,) end nodes and length of each edge.

    An edge is two arcs, one each way: arc ``2 * edge`` runs from ``node_from`` to ``node_to``, arc ``2 * edge + 1``
    back. A loop ends twice at its node and counts twice in its degree.
    """

    node_from: IntArray
    node_to: IntArray
    length_m: FloatArray

    @cached_property
    def tail(self) -> IntArray:
        """(2n,) The node at which each arc starts."""
        return np.column_stack([self.node_from, self.node_to]).ravel().astype(np.int64)

    @cached_property
    def degree(self) -> IntArray:
        """(nodes,) Number of edge ends that meet at each node."""
        return np.bincount(self.tail).astype(np.int64)

    @cached_property
    def leaving(self) -> IntArray:
        """(2n,) Arcs sorted by the node at which they start."""
        return np.argsort(self.tail, kind="stable").astype(np.int64)

    @cached_property
    def first_leaving(self) -> IntArray:
        """(nodes,) Where the arcs of each node begin in ``leaving``."""
        return np.cumsum(self.degree) - self.degree


@dataclass(frozen=True)
class Echoes:
    """
    What becomes of a unit that arrives at the end of an arc: (k,) where it goes, how far that is, how much of it.

    ``root`` is the arc it came along, ``arc`` the one it now enters, ``distance_m`` the way from the end of the root
    to the start of that arc, and ``share`` the amplitude, negative where it is thrown back at a junction.
    """

    root: IntArray
    arc: IntArray
    distance_m: FloatArray
    share: FloatArray

    def __len__(self) -> int:
        return len(self.root)

    def only(self, keep: np.ndarray) -> Echoes:
        """The echoes that a mask or an order picks."""
        return Echoes(self.root[keep], self.arc[keep], self.distance_m[keep], self.share[keep])


def echoes(
    graph: Graph,
    roots: IntArray,
    reach_m: FloatArray,
    *,
    split: Split = "continuous",
    smallest_share: float = SMALLEST_SHARE,
    most_paths: int = MOST_PATHS,
) -> Echoes:
    """
    Follow a unit from the end of each root arc through every junction within reach.

    At a node of degree m each other arm takes 2/m and the arm it came by 2/m - 1 (all of it at a dead end, none at a
    bend): the equal-split continuous rule; see ``Split`` for the other. An edge shorter than a thousandth of the
    longest reach counts as that long, and paths of equal length are merged, so that metre slivers end the walk
    instead of feeding it.

    Parameters
    ----------
    graph
        The network.
    roots
        (r,) Arcs at whose ends the units arrive, each once.
    reach_m
        (r,) How far each unit may still go.
    split
        How nodes share out what comes in.
    smallest_share
        Paths that carry no more than this are dropped.
    most_paths
        Paths kept apart at a time, a bound on memory and time.

    Returns
    -------
    All echoes, nearest junctions first.

    Source
    ------
    okabe2009
    """
    length_m = np.maximum(graph.length_m, reach_m.max(initial=0.0) / 1000.0)
    front = _split(graph, Echoes(np.arange(len(roots)), roots, np.zeros(len(roots)), np.ones(len(roots))), split)
    found = []
    front = front.only(front.distance_m < reach_m[front.root])
    while len(front):
        front = _merge(front, most_paths=most_paths, reach_m=float(reach_m.max()))
        front = front.only(np.abs(front.share) > smallest_share)
        found.append(front)
        distance_m = front.distance_m + length_m[front.arc // 2]
        near = distance_m < reach_m[front.root]
        front = _split(graph, Echoes(front.root, front.arc, distance_m, front.share).only(near), split)
    return _joined(found, roots)


def check_split(split: str) -> None:
    """
    Refuse a way of sharing out that does not exist.

    Raises
    ------
    UsageError
        There is no such way.
    """
    if split not in get_args(Split):
        raise UsageError(f"split '{split}' is not known; choose one of {', '.join(get_args(Split))}")


def _split(graph: Graph, arriving: Echoes, split: Split) -> Echoes:
    """Pass what arrives at the end of its arc on to every arm of the node there."""
    node = graph.tail[arriving.arc ^ 1]
    degree = graph.degree[node]
    one = np.repeat(np.arange(len(arriving)), degree)
    arc = graph.leaving[graph.first_leaving[node][one] + ranks(degree)]
    is_back = arc == arriving.arc[one] ^ 1
    if split == "continuous":
        part = 2.0 / degree[one] - is_back
    else:
        part = np.where(is_back, 0.0, 1.0 / np.maximum(degree[one] - 1, 1))
    share = arriving.share[one] * part
    return Echoes(arriving.root[one], arc, arriving.distance_m[one], share).only(share != 0.0)


def _merge(front: Echoes, *, most_paths: int, reach_m: float) -> Echoes:
    """Add up the shares of paths of one length; where there are too many, of nearly one length."""
    front = _merge_within(front, SAME_DISTANCE_M)
    for parts in COARSER_PARTS:
        if len(front) > most_paths:
            front = _merge_within(front, reach_m / parts)
    return front


def _merge_within(front: Echoes, within_m: float) -> Echoes:
    """
    Merge paths into one where root, arc, sign and rounded distance agree; its distance is their mean by share.

    A share and its opposite are not merged, for together they would carry nothing and yet lie apart.
    """
    n_arcs = int(front.arc.max()) + 1
    step = np.round(front.distance_m / within_m).astype(np.int64)
    key = ((front.root * n_arcs + front.arc) * (int(step.max()) + 1) + step) * 2 + (front.share > 0.0)
    order = np.argsort(key, kind="stable")
    first = np.flatnonzero(np.r_[True, np.diff(key[order]) != 0])
    if len(first) == len(key):
        return front
    size = np.abs(front.share[order])
    distance_m = np.add.reduceat(size * front.distance_m[order], first) / np.add.reduceat(size, first)
    share = np.add.reduceat(front.share[order], first)
    return Echoes(front.root[order][first], front.arc[order][first], distance_m, share)


def _joined(found: list[Echoes], roots: IntArray) -> Echoes:
    """All fronts as one, with each root's number replaced by its arc."""
    if not found:
        return Echoes(np.empty(0, np.int64), np.empty(0, np.int64), np.empty(0), np.empty(0))
    return Echoes(
        roots[np.concatenate([front.root for front in found])],
        np.concatenate([front.arc for front in found]),
        np.concatenate([front.distance_m for front in found]),
        np.concatenate([front.share for front in found]),
    )


def ranks(counts: IntArray) -> IntArray:
    """
    Number the members of consecutive groups from 0: for groups of 2 and 3, ``0 1 0 1 2``.

    Parameters
    ----------
    counts
        (k,) Size of each group.
    """
    return np.arange(int(counts.sum())) - np.repeat(np.cumsum(counts) - counts, counts)


def shortest_links(graph: Graph) -> sparse.csr_array:
    """
    Lengths of the edges between nodes as a matrix, of several edges the shortest; none is stored as 0.

    Parameters
    ----------
    graph
        The network.

    Returns
    -------
    (nodes, nodes) Metres, each link stored one way.
    """
    n = len(graph.degree)
    low, high = np.minimum(graph.node_from, graph.node_to), np.maximum(graph.node_from, graph.node_to)
    order = np.lexsort((graph.length_m, high, low))
    first = order[np.r_[True, np.diff((low * n + high)[order]) > 0]]
    return sparse.csr_array((np.maximum(graph.length_m[first], 1e-9), (low[first], high[first])), shape=(n, n))
