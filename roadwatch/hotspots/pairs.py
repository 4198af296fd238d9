"""Places on edges, and every path from one set of places to another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hotspots.paths import SMALLEST_SHARE, Echoes, Graph, Split, echoes, ranks

if TYPE_CHECKING:
    from collections.abc import Iterator

    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray

EDGES_PER_BLOCK = 256
"""Source edges whose paths are held in memory at once."""


class Places:
    """
    Places on edges, sorted so that those on one stretch of an edge are found at once.

    Parameters
    ----------
    graph
        The network.
    edge, offset_m
        (k,) Edge and metres from its start.
    """

    def __init__(self, graph: Graph, edge: IntArray, offset_m: FloatArray) -> None:
        self.graph = graph
        self.span_m = float(graph.length_m.max(initial=0.0)) * 1.001 + 1.0
        self.order = np.lexsort((offset_m, edge))
        self.edge = edge[self.order]
        self.offset_m = np.clip(offset_m[self.order], 0.0, graph.length_m[self.edge])
        self._key = self.edge * self.span_m + self.offset_m
        self._first_on = np.searchsorted(self.edge, np.arange(len(graph.length_m) + 1))

    def between(self, edge: IntArray, from_m: FloatArray, to_m: FloatArray) -> tuple[IntArray, IntArray]:
        """(k,), (k,) First place at or after ``from_m`` and number of places up to ``to_m``, on each edge."""
        low = np.clip(from_m, 0.0, self.graph.length_m[edge])
        high = np.clip(to_m, 0.0, self.graph.length_m[edge])
        slack = 1e-9 * self.span_m
        first = np.searchsorted(self._key, edge * self.span_m + low - slack)
        after = np.searchsorted(self._key, edge * self.span_m + high + slack)
        return first.astype(np.int64), np.maximum(after - first, 0).astype(np.int64)

    def next_to_end(self, edge: IntArray, at_start: BoolArray, reach_m: FloatArray) -> tuple[IntArray, IntArray]:
        """(k,), (k,) First place and number of places within reach of the start, else of the end, of each edge."""
        length_m = self.graph.length_m[edge]
        limit_m = np.clip(np.where(at_start, reach_m, length_m - reach_m), 0.0, length_m)
        slack = 1e-9 * self.span_m
        limit = np.searchsorted(self._key, edge * self.span_m + limit_m + np.where(at_start, slack, -slack))
        first = np.where(at_start, self._first_on[edge], limit)
        after = np.where(at_start, limit, self._first_on[edge + 1])
        return first.astype(np.int64), np.maximum(after - first, 0).astype(np.int64)


@dataclass(frozen=True)
class Pairs:
    """Paths from places to places: (k,) positions in the sorted source and target, length, and share carried."""

    source: IntArray
    target: IntArray
    distance_m: FloatArray
    share: FloatArray


def paths_between(
    sources: Places,
    targets: Places,
    *,
    reach_m: float,
    split: Split = "continuous",
    smallest_share: float = SMALLEST_SHARE,
    source_edges: IntArray | None = None,
) -> Iterator[Pairs]:
    """
    List every path from each source to each target within reach, a block of source edges at a time.

    Parameters
    ----------
    sources, targets
        Places on the same network.
    reach_m
        Longest path.
    split
        How nodes share out what comes in.
    smallest_share
        Paths that carry no more than this are dropped.
    source_edges
        Edges whose sources are asked about, sorted; None asks about all.

    Yields
    ------
    Blocks of paths; the sources of a block belong to no other block.
    """
    edges = np.unique(sources.edge)
    if source_edges is not None:
        edges = edges[np.isin(edges, source_edges)]
    for start in range(0, len(edges), EDGES_PER_BLOCK):
        block = edges[start : start + EDGES_PER_BLOCK]
        roots = np.column_stack([2 * block, 2 * block + 1]).ravel()
        lead_m = _shortest_lead(sources, block)
        near = lead_m < reach_m
        reach_on_m = (reach_m - lead_m)[near]
        found = echoes(sources.graph, roots[near], reach_on_m, split=split, smallest_share=smallest_share)
        parts = [_along_the_edge(sources, targets, block, reach_m), _after_junctions(sources, targets, found, reach_m)]
        yield Pairs(
            np.concatenate([part.source for part in parts]),
            np.concatenate([part.target for part in parts]),
            np.concatenate([part.distance_m for part in parts]),
            np.concatenate([part.share for part in parts]),
        )


def _shortest_lead(sources: Places, block: IntArray) -> FloatArray:
    """(2 edges,) Way from the nearest source on each edge to its end, and to its start."""
    first = np.searchsorted(sources.edge, block)
    last = np.searchsorted(sources.edge, block, side="right") - 1
    to_end = sources.graph.length_m[block] - sources.offset_m[last]
    return np.column_stack([to_end, sources.offset_m[first]]).ravel()


def _along_the_edge(sources: Places, targets: Places, block: IntArray, reach_m: float) -> Pairs:
    """Straight paths between places on one edge."""
    low, high = (np.searchsorted(sources.edge, block, side=side) for side in ("left", "right"))
    source = np.repeat(low, high - low) + ranks(high - low)
    at_m = sources.offset_m[source]
    first, count = targets.between(sources.edge[source], at_m - reach_m, at_m + reach_m)
    one = np.repeat(np.arange(len(source)), count)
    target = first[one] + ranks(count)
    return Pairs(source[one], target, np.abs(at_m[one] - targets.offset_m[target]), np.ones(len(one)))


def _after_junctions(sources: Places, targets: Places, found: Echoes, reach_m: float) -> Pairs:
    """Paths that leave their edge, or come back to it, through a node."""
    echo, source, lead_m = _leads(sources, found.root ^ 1, reach_m - found.distance_m)
    so_far_m = lead_m + found.distance_m[echo]
    one, target, run_m = _leads(targets, found.arc[echo], reach_m - so_far_m)
    return Pairs(source[one], target, so_far_m[one] + run_m, found.share[echo[one]])


def _leads(places: Places, arc: IntArray, reach_m: FloatArray) -> tuple[IntArray, IntArray, FloatArray]:
    """For each arc, the places within reach of its start: (row, place, metres from the start of the arc)."""
    edge, forward = arc // 2, arc % 2 == 0
    length_m = places.graph.length_m[edge]
    first, count = places.next_to_end(edge, forward, reach_m)
    row = np.repeat(np.arange(len(arc)), count)
    place = first[row] + ranks(count)
    along_m = places.offset_m[place]
    return row, place, np.where(forward[row], along_m, length_m[row] - along_m)
