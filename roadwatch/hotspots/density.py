"""Density of records along roads: the equal-split kernel, by paths where they are few and by waves where not."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING

import numpy as np
from scipy import sparse

from roadwatch.hotspots.kernels import check_kernel, kernel_density
from roadwatch.hotspots.pairs import Places, paths_between
from roadwatch.hotspots.paths import SMALLEST_SHARE, Graph, Split, check_split
from roadwatch.hotspots.rows import Stack, blocks_of_rows, summed
from roadwatch.hotspots.threads import in_order
from roadwatch.hotspots.wave import TICKS, crowded_edges, wave_pairs

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roadwatch.hotspots.pairs import Pairs
    from roadwatch.roads.arrays import FloatArray, IntArray
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches


def graph_of(network: Network | Graph) -> Graph:
    """
    The network without its shapes.

    Parameters
    ----------
    network
        Roads as edges between nodes; what is a graph already is handed back.
    """
    if isinstance(network, Graph):
        return network
    edges = network.edges
    return Graph(
        edges["node_from"].to_numpy(dtype=np.int64),
        edges["node_to"].to_numpy(dtype=np.int64),
        edges["length_m"].to_numpy(dtype=np.float64),
    )


def equal_split_density(
    network: Network | Graph,
    edge: IntArray,
    offset_m: FloatArray,
    weight: FloatArray,
    query_edge: IntArray,
    query_offset_m: FloatArray,
    *,
    half_width_m: float = 300.0,
    kernel: str = "epanechnikov",
    split: Split = "continuous",
    smallest_share: float = SMALLEST_SHARE,
) -> FloatArray:
    """
    Density of weighted records at places on the network, by the sum over all paths.

    Parameters
    ----------
    network
        The roads, with or without their shapes.
    edge, offset_m, weight
        (n,) Edge of each record, metres from the edge's start, and what it counts for.
    query_edge, query_offset_m
        (q,) Places where the density is wanted.
    half_width_m, kernel
        Reach and form of the kernel, see ``kernel_density``.
    split
        How nodes share out what comes in, see ``Split``.
    smallest_share
        Paths that carry no more than this share of a record are dropped.

    Returns
    -------
    (q,) Records per metre. Split continuously it sums, over the whole network, to the sum of the weights, for dead
    ends reflect.

    Raises
    ------
    UsageError
        The kernel or the split has no such name, or the half-width is not a positive number.

    Source
    ------
    okabe2009
    """
    check_kernel(half_width_m=half_width_m, kernel=kernel)
    check_split(split)
    graph = graph_of(network)
    sources, targets = Places(graph, edge, offset_m), Places(graph, query_edge, query_offset_m)
    weight = weight[sources.order]
    density = np.zeros(len(query_edge))
    for paths in paths_between(sources, targets, reach_m=half_width_m, split=split, smallest_share=smallest_share):
        value = paths.share * kernel_density(paths.distance_m, half_width_m=half_width_m, kernel=kernel)
        density += np.bincount(paths.target, weight[paths.source] * value, len(density))
    answer = np.empty_like(density)
    answer[targets.order] = density
    return answer


def kernel_matrix(
    network: Network,
    stretches: Stretches,
    *,
    half_width_m: float = 300.0,
    kernel: str = "epanechnikov",
    split: Split = "continuous",
) -> sparse.csr_array:
    """
    The kernel matrix of one half-width; see ``kernel_matrices``.

    Parameters
    ----------
    network, stretches, kernel, split
        As in ``kernel_matrices``.
    half_width_m
        Reach of the kernel.

    Raises
    ------
    UsageError
        The kernel or the split has no such name, or the half-width is not a positive number.

    Source
    ------
    okabe2009
    """
    return kernel_matrices(network, stretches, half_widths_m=[half_width_m], kernel=kernel, split=split)[0]


def kernel_matrices(
    network: Network,
    stretches: Stretches,
    *,
    half_widths_m: Sequence[float],
    kernel: str = "epanechnikov",
    split: Split = "continuous",
) -> list[sparse.csr_array]:
    """
    Density at the centre of each stretch of one record at the centre of each other, for several half-widths.

    Where junctions are far apart the paths are listed, once for all half-widths; where a record would have too many of
    them, waves are sent instead, see ``wave_pairs``. ``waved_share`` tells how much of the roads that is.

    Parameters
    ----------
    network, stretches
        The roads, and the n stretches they are cut into.
    half_widths_m, kernel
        Reaches and form of the kernel, see ``kernel_density``.
    split
        How nodes share out what comes in, see ``Split``.

    Returns
    -------
    One (n, n) matrix a half-width; ``[i, j]`` is the density per metre at i of one record at j. Columns are rescaled
    so that the grid loses no mass: ``sum_i K[i, j] * length_m[i] == 1``, less what a discontinuous split loses at
    dead ends (see ``lost_mass``).

    Raises
    ------
    UsageError
        The kernel or the split has no such name, or a half-width is not a positive number.

    Source
    ------
    okabe2009
    """
    for half_width_m in half_widths_m:
        check_kernel(half_width_m=half_width_m, kernel=kernel)
    check_split(split)
    centre_m = stretches.start_m + stretches.length_m / 2.0
    places = Places(graph_of(network), stretches.edge, centre_m)
    spread = _by_record(places, half_widths_m, kernel=kernel, split="continuous")
    mass = [np.asarray(of_width @ stretches.length_m, dtype=np.float64) for of_width in spread]
    if split != "continuous":
        spread = _by_record(places, half_widths_m, kernel=kernel, split=split)
    return [_by_place(spread.pop(0), total) for total in mass]  # popped, so that each is let go when it is turned


def waved_share(network: Network, stretches: Stretches, *, half_width_m: float) -> float:
    """
    Share of the road length from which ``kernel_matrices`` spreads records by waves, not by paths.

    Parameters
    ----------
    network, stretches, half_width_m
        As in ``kernel_matrix``.
    """
    crowded = crowded_edges(graph_of(network), half_width_m=half_width_m)
    return float(stretches.length_m[crowded[stretches.edge]].sum() / stretches.length_m.sum())


def wave_notes(network: Network, stretches: Stretches, *, half_widths_m: Sequence[float]) -> tuple[str, ...]:
    """
    Say where densities are not exact sums over paths.

    Parameters
    ----------
    network, stretches, half_widths_m
        As in ``kernel_matrices``.
    """
    shares = {width: waved_share(network, stretches, half_width_m=width) for width in half_widths_m}
    told = [f"{100.0 * share:.0f} % of the roads at {width:g} m" for width, share in sorted(shares.items()) if share]
    if not told:
        return ()
    note = (
        f"Where junctions are dense ({', '.join(told)}) records are spread by waves in {TICKS} steps, elsewhere by the "
        "exact sum over paths; on town blocks the two differ by about 0.1 % of the peak, nowhere by more than 2.5 %."
    )
    return (note,)


def lost_mass(matrix: sparse.csr_array, length_m: FloatArray) -> FloatArray:
    """
    Share of one record on each stretch that a kernel matrix lets fall off the network.

    Parameters
    ----------
    matrix
        (n, n) Kernel matrix.
    length_m
        (n,) Length of each stretch.

    Returns
    -------
    (n,) Shares, 0 where a record is kept whole.
    """
    return np.clip(1.0 - np.asarray(matrix.T @ length_m, dtype=np.float64), 0.0, 1.0)


def _by_place(spread: sparse.csr_array, mass: FloatArray) -> sparse.csr_array:
    """Rows of records, each divided by its mass, as columns."""
    for part, rows in blocks_of_rows(spread):
        rows.data *= np.repeat(1.0 / mass[part], np.diff(rows.indptr))
    return sparse.csr_array(spread.T)


def _by_record(places: Places, half_widths_m: Sequence[float], *, kernel: str, split: Split) -> list[sparse.csr_array]:
    """
    For each half-width, (n, n) density at the columns' places of a record at the row's place, not rescaled.

    Edges whose records have too many paths within a half-width are left to waves, one half-width at a time; for the
    others the paths are listed once for all half-widths that are left.
    """
    n = len(places.order)
    rows = [Stack(n) for _ in half_widths_m]
    sources = [[np.empty(0, dtype=np.int64)] for _ in half_widths_m]
    done = np.zeros(len(places.graph.length_m), dtype=bool)
    order = sorted(range(len(half_widths_m)), key=lambda number: -half_widths_m[number])
    for rank, widest in enumerate(order):
        half_width_m = half_widths_m[widest]
        left = ~done & crowded_edges(places.graph, half_width_m=half_width_m)
        by_path = np.flatnonzero(~done & ~left)
        numbers = order[rank:]

        def of_widths(paths: Pairs, numbers: list[int] = numbers) -> list[tuple[IntArray, sparse.csr_array]]:
            return [_block(paths, n, half_width_m=half_widths_m[number], kernel=kernel) for number in numbers]

        listed = paths_between(places, places, reach_m=half_width_m, split=split, source_edges=by_path)
        waves = wave_pairs(places, np.flatnonzero(left), half_width_m=half_width_m, kernel=kernel, split=split)
        of_waves = ([_rows(pairs.source, pairs.target, pairs.share, n)] for pairs in waves)
        for made in chain(in_order(of_widths, listed), of_waves):
            for number, (found, block) in zip(numbers, made, strict=False):  # waves make the widest alone
                sources[number].append(found)
                rows[number].add(block)
        done[by_path] = True
    return [_sorted(np.concatenate(sources[number]), rows[number].whole(), places.order) for number in range(len(rows))]


def _block(paths: Pairs, n: int, *, half_width_m: float, kernel: str) -> tuple[IntArray, sparse.csr_array]:
    """Density that paths carry with one half-width, as rows of records."""
    near = np.flatnonzero(paths.distance_m < half_width_m)
    value = paths.share[near] * kernel_density(paths.distance_m[near], half_width_m=half_width_m, kernel=kernel)
    return _rows(paths.source[near], paths.target[near], value, n)


def _rows(source: IntArray, target: IntArray, value: FloatArray, n: int) -> tuple[IntArray, sparse.csr_array]:
    """Sources that occur, sorted, and (sources, n) the sums of their values at each target."""
    row = np.zeros(n, dtype=np.int32)
    row[source] = 1
    sources = np.flatnonzero(row)
    row[sources] = np.arange(len(sources))
    return sources, summed(value, row[source], target.astype(np.int32), (len(sources), n))


def _sorted(sources: IntArray, matrix: sparse.csr_array, order: IntArray) -> sparse.csr_array:
    """Rows and columns in the order in which the places were given."""
    row = order[sources]
    if not (row[:-1] < row[1:]).all():
        matrix = matrix[np.argsort(row)]
    if not (order[:-1] < order[1:]).all():
        matrix = matrix[:, np.argsort(order)]
    return sparse.csr_array(matrix)
