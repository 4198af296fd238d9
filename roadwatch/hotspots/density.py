"""Density of records along roads: the equal-split continuous kernel, exact to the smallest share kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import sparse

from roadwatch.hotspots.kernels import check_kernel, kernel_density
from roadwatch.hotspots.pairs import Places, paths_between
from roadwatch.hotspots.paths import SMALLEST_SHARE, Graph

if TYPE_CHECKING:
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
    smallest_share
        Paths that carry no more than this share of a record are dropped.

    Returns
    -------
    (q,) Records per metre. Over the whole network it sums to the sum of the weights; dead ends reflect.

    Raises
    ------
    UsageError
        The kernel has no such name, or the half-width is not a positive number.

    Source
    ------
    okabe2009
    """
    check_kernel(half_width_m=half_width_m, kernel=kernel)
    graph = network if isinstance(network, Graph) else graph_of(network)
    sources, targets = Places(graph, edge, offset_m), Places(graph, query_edge, query_offset_m)
    weight = weight[sources.order]
    density = np.zeros(len(query_edge))
    for paths in paths_between(sources, targets, reach_m=half_width_m, smallest_share=smallest_share):
        value = paths.share * kernel_density(paths.distance_m, half_width_m=half_width_m, kernel=kernel)
        density += np.bincount(paths.target, weight[paths.source] * value, len(density))
    answer = np.empty_like(density)
    answer[targets.order] = density
    return answer


def kernel_matrix(
    network: Network, stretches: Stretches, *, half_width_m: float = 300.0, kernel: str = "epanechnikov"
) -> sparse.csr_array:
    """
    Density at the centre of each stretch of one record at the centre of each other.

    Parameters
    ----------
    network, stretches
        The roads, and the n stretches they are cut into.
    half_width_m, kernel
        Reach and form of the kernel, see ``kernel_density``.

    Returns
    -------
    (n, n) ``[i, j]`` is the density per metre at i of one record at j. Columns are rescaled so that no mass is lost
    to the grid: ``sum_i K[i, j] * length_m[i] == 1``.

    Raises
    ------
    UsageError
        The kernel has no such name, or the half-width is not a positive number.

    Source
    ------
    okabe2009
    """
    centre_m = stretches.start_m + stretches.length_m / 2.0
    return stretch_kernel(
        graph_of(network), stretches.edge, centre_m, stretches.length_m, half_width_m=half_width_m, kernel=kernel
    )


def stretch_kernel(
    graph: Graph,
    edge: IntArray,
    centre_m: FloatArray,
    length_m: FloatArray,
    *,
    half_width_m: float = 300.0,
    kernel: str = "epanechnikov",
) -> sparse.csr_array:
    """
    The kernel matrix from bare arrays; see ``kernel_matrix``.

    Parameters
    ----------
    graph
        The roads without their shapes.
    edge, centre_m, length_m
        (n,) Edge, centre and length of each stretch.
    half_width_m, kernel
        Reach and form of the kernel, see ``kernel_density``.

    Returns
    -------
    (n, n) Density per metre, mass kept.

    Raises
    ------
    UsageError
        The kernel has no such name, or the half-width is not a positive number.

    Source
    ------
    okabe2009
    """
    check_kernel(half_width_m=half_width_m, kernel=kernel)
    places = Places(graph, edge, centre_m)
    n = len(edge)
    blocks, done = [], 0
    for paths in paths_between(places, places, reach_m=half_width_m):
        value = paths.share * kernel_density(paths.distance_m, half_width_m=half_width_m, kernel=kernel)
        end = int(paths.source.max()) + 1
        blocks.append(sparse.coo_array((value, (paths.source - done, paths.target)), shape=(end - done, n)).tocsr())
        done = end
    by_source = sparse.vstack(blocks, format="csr") if blocks else sparse.csr_array((0, 0))
    back = np.argsort(places.order)
    spread = sparse.csr_array(by_source[back][:, back])
    spread.eliminate_zeros()
    mass = np.asarray(spread @ length_m, dtype=np.float64)
    return sparse.csr_array((sparse.diags_array(1.0 / mass) @ spread).T)
