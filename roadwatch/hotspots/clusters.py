"""From stretches that stand out to runs of road with a start, an end and the records that make them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import sparse
from scipy.sparse import csgraph

if TYPE_CHECKING:
    import geopandas as gpd

    from roadwatch.hotspots.null import NullResult
    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches

LONGEST_GAP_M = 100.0
"""Two runs on one road with no more than this between them are one (a convention)."""


GAPS_BEYOND = 3.0
"""
A run reaches so many mean gaps of its records beyond the outermost. Gaps between places spread evenly are about
exponential, so the true end lies within in 95 of 100 cases (1 - exp(-3)).
"""


@dataclass(frozen=True)
class Run:
    """
    A run of one road that stands out.

    Parameters
    ----------
    cluster
        Number of the connected cluster; runs of several roads that meet at a junction share it.
    road, road_part, from_m, to_m
        Where it lies, metres along the part.
    stretch
        Stretches that it touches, in the order of the road.
    record
        Records within it.
    marked
        Stretches of its cluster that stand out.
    p_value, p_local
        Smallest p of its cluster, over the whole map and at one place.
    """

    cluster: int
    road: str
    road_part: int
    from_m: float
    to_m: float
    stretch: IntArray
    record: IntArray
    marked: IntArray
    p_value: float
    p_local: float


def find_clusters(
    marked: BoolArray,
    *,
    network: Network,
    stretches: Stretches,
    table: gpd.GeoDataFrame,
    record_stretch: IntArray,
    record_m: FloatArray,
    null: NullResult,
    reach_m: FloatArray,
) -> list[Run]:
    """
    Join marked stretches along the network and trim them to the records that make them.

    Marked stretches that touch, also across a junction, form one cluster. A cluster is split by road: each road gets
    its own run, so that every run has one name and a start and end along it. The kernel spreads a record over its
    half-width to either side and into side roads; that halo is no hotspot, so a run ends ``GAPS_BEYOND`` mean gaps of
    its records beyond the outermost, and a road without a record in the cluster gets no run. Where records lie only
    around a marked place, the roads from it to all records within a half-width belong to the cluster.

    Parameters
    ----------
    marked
        (n,) True for the stretches that stand out.
    network, stretches, table
        The roads, their stretches, and the stretches' table.
    record_stretch, record_m
        (r,) Stretch of each record, and metres along its part of the road.
    null
        Surprise and p of the n stretches.
    reach_m
        (n,) Reach of the narrowest kernel with which each marked stretch stands out.

    Returns
    -------
    Runs in the order of the table.
    """
    if not marked.any():
        return []
    links = stretch_links(network, stretches)
    filled = _close_gaps(marked, table)
    label = connected_stretches(filled, links)
    bare = set(label[filled]) - set(label[record_stretch])
    for number in bare:
        members = np.flatnonzero(label == number)
        peak = members[np.argmax(np.nan_to_num(null.surprise[members]))]
        ways = _ways_to_records(int(peak), links, record_stretch, float(reach_m[peak]))
        filled[ways[ways < len(filled)]] = True  # the rest are nodes
    if bare:
        label = connected_stretches(filled, links)
    runs = []
    part = _part_of(table)
    ends_m = table["from_m"].to_numpy(), table["to_m"].to_numpy()
    for members in _by_road(filled, label, table):
        own = np.flatnonzero(part == part[members[0]])
        run = _trimmed(members, own, ends_m, record_stretch, record_m)
        if run is not None:
            cluster = int(label[members[0]])
            stretch, record, low, high = run
            own = np.flatnonzero((label == cluster) & marked)
            p_value, p_local = float(null.p_value[own].min()), float(null.p_local[own].min())
            row = table.iloc[members[0]]
            place = str(row["road"]), int(row["road_part"]), low, high
            runs.append(Run(cluster, *place, stretch, record, own, p_value, p_local))
    return runs


def stretch_links(network: Network, stretches: Stretches) -> sparse.csr_array:
    """
    Which stretches touch, as a graph with lengths: stretches first, then the network's nodes.

    Parameters
    ----------
    network, stretches
        The roads and their n stretches.

    Returns
    -------
    (n + nodes, n + nodes) Metres from centre to centre, and from centre to node, each link stored one way.
    """
    n, length_m = len(stretches.edge), stretches.length_m
    before = np.flatnonzero(np.diff(stretches.edge) == 0)
    at_node = np.r_[network.edges["node_from"].to_numpy(), network.edges["node_to"].to_numpy()] + n
    at_end = np.r_[stretches.first, stretches.last]
    start, end = np.r_[before, at_end], np.r_[before + 1, at_node]
    way_m = np.r_[(length_m[before] + length_m[before + 1]) / 2.0, length_m[at_end] / 2.0]
    size = n + len(network.nodes)
    return sparse.coo_array((way_m, (start, end)), shape=(size, size)).tocsr()


def _close_gaps(marked: BoolArray, table: gpd.GeoDataFrame) -> BoolArray:
    """Mark what lies between two marked stretches of a road no further apart than the longest gap."""
    order, part = _road_order(table)
    from_m, to_m = table["from_m"].to_numpy()[order], table["to_m"].to_numpy()[order]
    there = np.flatnonzero(marked[order])
    filled = marked.copy()
    before, after = there[:-1], there[1:]
    near = (part[before] == part[after]) & (from_m[after] - to_m[before] <= LONGEST_GAP_M)
    for low, high in zip(before[near], after[near], strict=True):
        filled[order[low:high]] = True
    return filled


def _part_of(table: gpd.GeoDataFrame) -> IntArray:
    """(n,) A number for the part of a road on which each stretch lies."""
    return np.asarray(table.groupby(["road", "road_part"], sort=True).ngroup(), dtype=np.int64)


def _road_order(table: gpd.GeoDataFrame) -> tuple[IntArray, IntArray]:
    """(n,) Stretches sorted along their roads, and (n,) the number of the road's part at each place of that order."""
    part = _part_of(table)
    order = np.lexsort((table["from_m"].to_numpy(), part))
    return order.astype(np.int64), part[order].astype(np.int64)


def connected_stretches(filled: BoolArray, links: sparse.csr_array) -> IntArray:
    """
    Number the groups of marked stretches that touch, also across junctions.

    Parameters
    ----------
    filled
        (n,) True for the stretches marked.
    links
        As from ``stretch_links``.

    Returns
    -------
    (n,) Number of the group of each, -1 elsewhere.
    """
    n = len(filled)
    kept = np.flatnonzero(np.r_[filled, np.ones(links.shape[0] - n, dtype=bool)])
    _, found = csgraph.connected_components(links[kept][:, kept], directed=False)
    label = np.full(n, -1, dtype=np.int64)
    label[kept[kept < n]] = found[: int(filled.sum())]
    return label


def _ways_to_records(peak: int, links: sparse.csr_array, record_stretch: IntArray, reach_m: float) -> IntArray:
    """Stretches and nodes on the shortest ways from a stretch to every record within reach."""
    way_m, previous = csgraph.dijkstra(
        links, directed=False, indices=np.array([peak]), limit=reach_m * (1.0 + 1e-9), return_predecessors=True
    )
    on_the_way = set()
    for place in np.unique(record_stretch[np.isfinite(way_m[0, record_stretch])]):
        step = int(place)
        while step >= 0:
            on_the_way.add(step)
            step = int(previous[0, step])
    return np.array(sorted(on_the_way), dtype=np.int64)


def _by_road(filled: BoolArray, label: IntArray, table: gpd.GeoDataFrame) -> list[IntArray]:
    """Marked stretches as unbroken groups of one cluster on one part of a road, in its order."""
    order, part = _road_order(table)
    kept = filled[order]
    order, part = order[kept], part[kept]
    from_m, to_m = table["from_m"].to_numpy()[order], table["to_m"].to_numpy()[order]
    breaks = (np.diff(part) != 0) | (np.diff(label[order]) != 0) | (from_m[1:] - to_m[:-1] > 0.01)
    return np.split(order, np.flatnonzero(breaks) + 1)


def _trimmed(
    members: IntArray,
    own: IntArray,
    ends_m: tuple[FloatArray, FloatArray],
    record_stretch: IntArray,
    record_m: FloatArray,
) -> tuple[IntArray, IntArray, float, float] | None:
    """
    The stretches and records of a group, and its ends, ``GAPS_BEYOND`` mean gaps beyond its outermost records.

    ``own`` are the stretches of its part of the road, ``ends_m`` where each stretch of the network begins and ends.

    It ends no nearer than half a stretch to a record, and no further than half the longest gap beyond what stands out.
    """
    record = np.flatnonzero(np.isin(record_stretch, members))
    if not len(record):
        return None
    from_m, to_m = ends_m
    first, last = record[np.argmin(record_m[record])], record[np.argmax(record_m[record])]
    gap_m = GAPS_BEYOND * float(record_m[last] - record_m[first]) / max(len(record) - 1, 1)
    half_m = (to_m - from_m)[record_stretch] / 2.0
    least, most = (from_m[own].min(), from_m[members].min()), (to_m[own].max(), to_m[members].max())
    low = max(least[0], least[1] - LONGEST_GAP_M / 2.0, float(record_m[first] - max(gap_m, half_m[first])))
    high = min(most[0], most[1] + LONGEST_GAP_M / 2.0, float(record_m[last] + max(gap_m, half_m[last])))
    touched = own[(to_m[own] > low + 1e-6) & (from_m[own] < high - 1e-6)]
    return touched[np.argsort(from_m[touched])], record, float(low), float(high)
