"""Density of records along roads: the equal-split kernel, exact to the smallest share kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import sparse

from roadwatch.hotspots.kernels import check_kernel, kernel_density
from roadwatch.hotspots.pairs import Places, paths_between
from roadwatch.hotspots.paths import SMALLEST_SHARE, Graph, Split, check_split

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roadwatch.roads.arrays import FloatArray, IntArray
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches


def graph_of(network: Network) -> Graph:
    """
    The network without its shapes.

    Parameters
    ----------
    network
        Roads as edges between nodes.
    """
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
    graph = network if isinstance(network, Graph) else graph_of(network)
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

    The paths are walked once, as far as the widest kernel reaches.

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
    whole = _by_record(places, half_widths_m, kernel=kernel, split="continuous")
    mass = [np.asarray(spread @ stretches.length_m, dtype=np.float64) for spread in whole]
    kept = whole if split == "continuous" else _by_record(places, half_widths_m, kernel=kernel, split=split)
    return [
        sparse.csr_array((sparse.diags_array(1.0 / total) @ spread).T) for spread, total in zip(kept, mass, strict=True)
    ]


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


def _by_record(places: Places, half_widths_m: Sequence[float], *, kernel: str, split: Split) -> list[sparse.csr_array]:
    """For each half-width, (n, n) density at the columns' places of a record at the row's place, not rescaled."""
    n = len(places.order)
    blocks: list[list[sparse.csr_array]] = [[] for _ in half_widths_m]
    done = 0
    for paths in paths_between(places, places, reach_m=max(half_widths_m), split=split):
        end = int(paths.source.max()) + 1
        for number, half_width_m in enumerate(half_widths_m):
            near = np.flatnonzero(paths.distance_m < half_width_m)
            value = paths.share[near] * kernel_density(paths.distance_m[near], half_width_m=half_width_m, kernel=kernel)
            cell = (paths.source[near] - done, paths.target[near])
            blocks[number].append(sparse.coo_array((value, cell), shape=(end - done, n)).tocsr())
        done = end
    back = np.argsort(places.order)
    return [
        sparse.csr_array(sparse.vstack(rows, format="csr")[back][:, back]) if rows else sparse.csr_array((n, n))
        for rows in blocks
    ]
