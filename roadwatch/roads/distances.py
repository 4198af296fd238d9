"""Shortest distances along the roads between places."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

if TYPE_CHECKING:
    from roadwatch.roads.arrays import FloatArray, IntArray
    from roadwatch.roads.network import Network

NODES_AT_ONCE = 256
"""Rows of node distances held in memory at a time."""


def road_graph(network: Network) -> csr_array:
    """
    Make the (m, m) matrix of edge lengths between nodes, metres; of parallel edges the shortest.

    Parameters
    ----------
    network
        The roads.
    """
    edges = network.edges.sort_values("length_m", kind="stable")
    low = np.minimum(edges["node_from"], edges["node_to"]).to_numpy()
    high = np.maximum(edges["node_from"], edges["node_to"]).to_numpy()
    n = len(network.nodes)
    _, first = np.unique(low * n + high, return_index=True)
    length_m = edges["length_m"].to_numpy()[first]
    return csr_array((length_m, (low[first], high[first])), shape=(n, n))


def network_distances(
    network: Network,
    edge: IntArray,
    offset_m: FloatArray,
    to_edge: IntArray,
    to_offset_m: FloatArray,
    *,
    limit_m: float = np.inf,
) -> FloatArray:
    """
    Measure the shortest way along the roads from each place to each other place.

    Parameters
    ----------
    network
        The roads.
    edge, offset_m
        (a,) Edge (-1: not on a road) and offset of the places from which to measure.
    to_edge, to_offset_m
        (b,) Edge (-1: not on a road) and offset of the places to which to measure.
    limit_m
        Ways longer than this need not be found, metres.

    Returns
    -------
    (a, b) Metres; inf where no way leads there, none within the limit, or a place is not on a road.

    Source
    ------
    dijkstra1959
    """
    graph = road_graph(network)
    exits, exit_m = _exits(network, edge, offset_m)
    entries, entry_m = _exits(network, to_edge, to_offset_m)
    sources, row = np.unique(exits, return_inverse=True)
    row = row.reshape(exits.shape)
    shortest = np.full((len(edge), len(to_edge)), np.inf)
    for begin in range(0, len(sources), NODES_AT_ONCE):
        block = sources[begin : begin + NODES_AT_ONCE]
        node_m = dijkstra(graph, directed=False, indices=block, limit=limit_m)
        for side in (0, 1):
            here = np.flatnonzero((row[side] >= begin) & (row[side] < begin + len(block)))
            reach_m = node_m[row[side][here] - begin] + exit_m[side][here, None]
            for end in (0, 1):
                through_m = reach_m[:, entries[end]] + entry_m[end]
                shortest[here] = np.minimum(shortest[here], through_m)
    is_same_edge = (np.asarray(edge)[:, None] == np.asarray(to_edge)) & (np.asarray(to_edge) >= 0)
    direct_m = np.abs(np.asarray(offset_m)[:, None] - np.asarray(to_offset_m))
    shortest = np.where(is_same_edge, np.minimum(shortest, direct_m), shortest)
    return np.where(shortest <= limit_m, shortest, np.inf)


def _exits(network: Network, edge: IntArray, offset_m: FloatArray) -> tuple[IntArray, FloatArray]:
    """(2, k) The two nodes at the ends of each place's edge, and the metres to them."""
    is_placed = np.asarray(edge) >= 0
    edges = network.edges.iloc[np.where(is_placed, edge, 0)]
    nodes = np.stack([edges["node_from"].to_numpy(), edges["node_to"].to_numpy()])
    to_ends_m = np.stack([np.asarray(offset_m), edges["length_m"].to_numpy() - offset_m])
    return nodes, np.where(is_placed, to_ends_m, np.inf)
