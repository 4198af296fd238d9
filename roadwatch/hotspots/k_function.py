"""Is there any clustering at all? K functions along roads, and a test that says so, never where."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse.csgraph import dijkstra

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.density import graph_of
from roadwatch.hotspots.paths import Graph, shortest_links

if TYPE_CHECKING:
    from scipy.sparse import csr_array

    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray
    from roadwatch.roads.network import Network

SAME_PLACE_SHARE = 1e-3
"""Distances that agree to this share of the shortest edge count as equal where ends are counted."""

LEAST_RECORDS = 5
"""A test of fewer records is not worth its name (a convention)."""

CELLS_AT_ONCE = 4_000_000
"""Numbers held in memory at a time, about."""


@dataclass(frozen=True)
class ClusteringTest:
    """
    Whether records lie closer together along the roads than chance would put them.

    Parameters
    ----------
    radius_m
        (r,) Radii, metres.
    k_m
        (r,) K function of the records, uncorrected: to be compared with ``k_expected_m``, not with the radius.
    k_expected_m
        (r,) Its mean over the scatterings.
    p_value
        Share of scatterings, the records counted among them, whose largest standardised excess reaches that seen.
    notes
        What the answer means and what it does not.
    """

    radius_m: FloatArray
    k_m: FloatArray
    k_expected_m: FloatArray
    p_value: float
    notes: tuple[str, ...]


def k_function(
    network: Network | Graph,
    edge: IntArray,
    offset_m: FloatArray,
    *,
    radius_m: FloatArray,
    corrected: bool = True,
) -> FloatArray:
    """
    K function of places along roads, corrected for the shape of the network or not.

    Corrected, each pair counts one over the number of places on the roads that lie at exactly its distance from the
    first of it, so that evenly scattered places have K(r) = r on any network. Pairs at one and the same place count.

    Parameters
    ----------
    network
        The roads, with or without their shapes.
    edge, offset_m
        (n,) Edge of each place and metres from its start.
    radius_m
        (r,) Radii, metres.
    corrected
        False counts every pair as 1; then K depends on how many roads there are and must not be compared with r.

    Returns
    -------
    (r,) K, metres.

    Raises
    ------
    NotEnoughDataError
        There are fewer than two places.

    Source
    ------
    ang2012, okabe_yamada2001
    """
    n = len(edge)
    if n < 2:
        raise NotEnoughDataError(f"{n} places: a K function needs at least two")
    graph = graph_of(network)
    summed = _pair_sums(graph, (edge, offset_m), (edge, offset_m), radius_m, corrected=corrected, is_same=True)
    return np.asarray(summed * graph.length_m.sum() / (n * (n - 1)), dtype=np.float64)


def cross_k_function(
    network: Network | Graph,
    edge: IntArray,
    offset_m: FloatArray,
    *,
    to_edge: IntArray,
    to_offset_m: FloatArray,
    radius_m: FloatArray,
    corrected: bool = True,
) -> FloatArray:
    """
    Cross-K function: places of one kind about places of another, see ``k_function``.

    Parameters
    ----------
    network, radius_m, corrected
        As in ``k_function``.
    edge, offset_m
        (n,) Places of the first kind.
    to_edge, to_offset_m
        (m,) Places of the second kind.

    Returns
    -------
    (r,) Cross-K, metres.

    Raises
    ------
    NotEnoughDataError
        A kind has no place.

    Source
    ------
    ang2012, okabe_yamada2001
    """
    if not len(edge) or not len(to_edge):
        raise NotEnoughDataError(f"{len(edge)} and {len(to_edge)} places: a cross-K function needs one of each kind")
    graph = graph_of(network)
    summed = _pair_sums(graph, (edge, offset_m), (to_edge, to_offset_m), radius_m, corrected=corrected, is_same=False)
    return np.asarray(summed * graph.length_m.sum() / (len(edge) * len(to_edge)), dtype=np.float64)


def clustering_test(
    network: Network | Graph,
    edge: IntArray,
    offset_m: FloatArray,
    *,
    radius_m: FloatArray,
    rng: np.random.Generator,
    n_draws: int = 199,
    edge_chance: FloatArray | None = None,
) -> ClusteringTest:
    """
    Test whether records are clustered along the roads at all. It says clustered, never where.

    The same number of records is scattered over the roads by chance; what is compared is the largest excess of K over
    its mean, in standard deviations, over all radii. K is taken uncorrected: the scatterings have the same roads. The
    observed curve is one of all when mean and deviation are taken, which keeps the test exact.

    Parameters
    ----------
    network, radius_m
        As in ``k_function``.
    edge, offset_m
        (n,) Places of the records; one animal recorded twice must be one record, for doubles look like clusters.
    rng
        Source of chance.
    n_draws
        Number of scatterings; the time grows with it and with the square of the records.
    edge_chance
        (edges,) Chance of each edge to hold a record, such as length times search, in any unit; a record falls evenly
        along its edge. None takes the length: uneven search then looks like clustering.

    Raises
    ------
    NotEnoughDataError
        There are fewer than five records, or no edge with a chance.

    Source
    ------
    okabe_yamada2001, besag_diggle1977
    """
    n = len(edge)
    if n < LEAST_RECORDS:
        raise NotEnoughDataError(f"{n} records: a test of clustering needs at least {LEAST_RECORDS}")
    graph = graph_of(network)
    length_m = graph.length_m
    chance = length_m if edge_chance is None else np.nan_to_num(edge_chance)
    if not chance.sum() > 0.0:
        raise NotEnoughDataError("no road has a chance to hold a record; there is nothing to compare with")
    drawn_edge = rng.choice(len(length_m), (n_draws, n), p=chance / chance.sum())
    drawn_m = rng.random((n_draws, n)) * length_m[drawn_edge]
    seen = np.asarray(edge), np.asarray(offset_m)
    maps = [seen, *zip(drawn_edge, drawn_m, strict=True)]
    k = np.array([k_function(graph, *one, radius_m=radius_m, corrected=False) for one in maps])
    spread = k.std(axis=0)
    excess = np.divide(k - k.mean(axis=0), spread, out=np.zeros_like(k), where=spread > 0.0).max(axis=1)
    p_value = (1 + int((excess[1:] >= excess[0] * (1.0 - 1e-9)).sum())) / (1 + n_draws)
    return ClusteringTest(radius_m, k[0], k[1:].mean(axis=0), p_value, _notes(has_chance=edge_chance is not None))


def _notes(*, has_chance: bool) -> tuple[str, ...]:
    told = ("This says whether records are clustered at all, never where; a place is only named by the hotspot test.",)
    if has_chance:
        return told
    return (*told, "Where people looked is unknown here: uneven search looks like clustering.")


def _pair_sums(
    graph: Graph,
    places: tuple[IntArray, FloatArray],
    others: tuple[IntArray, FloatArray],
    radius_m: FloatArray,
    *,
    corrected: bool,
    is_same: bool,
) -> FloatArray:
    """(r,) Sum over the pairs no further apart than each radius of 1, or of 1 over the places that far away."""
    reach_m = np.asarray(radius_m, dtype=np.float64) * (1.0 + 1e-12)
    summed = np.zeros(len(reach_m))
    links = shortest_links(graph)
    edge, offset_m = np.asarray(places[0], dtype=np.int64), np.asarray(places[1], dtype=np.float64)
    per_block = max(1, CELLS_AT_ONCE // max(len(graph.degree), len(graph.length_m), len(others[0])))
    for start in range(0, len(edge), per_block):
        now = slice(start, start + per_block)
        to_node_m = _to_nodes(graph, links, edge[now], offset_m[now], float(reach_m.max(initial=0.0)))
        apart_m = _apart(graph, to_node_m, (edge[now], offset_m[now]), others)
        near = apart_m <= reach_m.max(initial=0.0)
        if is_same:
            row = np.arange(len(apart_m))
            near[row, start + row] = False
        one, other = np.nonzero(near)
        found_m = apart_m[one, other]
        ends = _count_ends(graph, to_node_m, (edge[now], offset_m[now]), one, found_m) if corrected else 1
        summed += np.array([(1.0 / np.maximum(ends, 1) * (found_m <= radius)).sum() for radius in reach_m])
    return summed


def _to_nodes(graph: Graph, links: csr_array, edge: IntArray, offset_m: FloatArray, limit_m: float) -> FloatArray:
    """(k, nodes) Metres from places to nodes; inf or too long beyond the limit."""
    ends = np.stack([graph.node_from[edge], graph.node_to[edge]])
    lead_m = np.stack([offset_m, graph.length_m[edge] - offset_m])
    sources, row = np.unique(ends, return_inverse=True)
    node_m = dijkstra(links, directed=False, indices=sources, limit=limit_m * 2.0 + 1.0)
    row = row.reshape(ends.shape)
    nearest_m: FloatArray = np.minimum(node_m[row[0]] + lead_m[0][:, None], node_m[row[1]] + lead_m[1][:, None])
    return nearest_m


def _apart(
    graph: Graph, to_node_m: FloatArray, places: tuple[IntArray, FloatArray], others: tuple[IntArray, FloatArray]
) -> FloatArray:
    """(k, m) Metres along the roads from places to others."""
    edge, offset_m = np.asarray(others[0], dtype=np.int64), np.asarray(others[1], dtype=np.float64)
    by_start = to_node_m[:, graph.node_from[edge]] + offset_m
    by_end = to_node_m[:, graph.node_to[edge]] + (graph.length_m[edge] - offset_m)
    straight = np.where(places[0][:, None] == edge, np.abs(places[1][:, None] - offset_m), np.inf)
    shortest_m: FloatArray = np.minimum(np.minimum(by_start, by_end), straight)
    return shortest_m


def _count_ends(
    graph: Graph, to_node_m: FloatArray, places: tuple[IntArray, FloatArray], one: IntArray, apart_m: FloatArray
) -> IntArray:
    """
    (pairs,) How many places on the roads lie exactly as far from the first place of each pair as the second does.

    On an edge whose ends are a and b away the distance rises from both to its peak, (a + b + length) / 2; what lies
    between a and the peak is met once on that side, what lies between b and the peak once on the other. The edge of
    the place itself is two such edges that begin at the place.
    """
    same_m = SAME_PLACE_SHARE * float(graph.length_m[graph.length_m > 0.0].min())
    found = np.empty(len(one), dtype=np.int64)
    per_block = max(1, CELLS_AT_ONCE // max(len(graph.length_m), 1))
    for start in range(0, len(one), per_block):
        now = slice(start, start + per_block)
        place, at_m = one[now], apart_m[now, None]
        own, own_m = places[0][place], places[1][place]
        a_m, b_m = to_node_m[place][:, graph.node_from], to_node_m[place][:, graph.node_to]
        row = np.arange(len(place))
        halves = [
            _times_met(np.zeros(len(place)), end_m[row, own], half_m, at_m[:, 0], same_m)
            for end_m, half_m in ((a_m, own_m), (b_m, graph.length_m[own] - own_m))
        ]
        met = _times_met(a_m, b_m, graph.length_m, at_m, same_m)
        met[row, own] = halves[0] + halves[1]
        found[now] = met.sum(axis=1)
    return found


def _times_met(a_m: FloatArray, b_m: FloatArray, length_m: FloatArray, at_m: FloatArray, same_m: float) -> IntArray:
    """Places at a distance on edges whose ends are so far away; at the peak, both sides are one place."""
    peak_m = (a_m + b_m + length_m) / 2.0
    met = ((at_m > a_m + same_m) & (at_m <= peak_m + same_m)).astype(np.int64)
    met += (at_m > b_m + same_m) & (at_m <= peak_m + same_m)
    at_peak: BoolArray = np.asarray((met == 2) & (np.abs(at_m - peak_m) <= same_m))
    return met - at_peak
