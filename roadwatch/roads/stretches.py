"""Stretches: short pieces of road, never across a junction, on which records and effort are counted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import shapely

from roadwatch.roads.cutting import cut_lines, vertices_of

if TYPE_CHECKING:
    from roadwatch.roads.arrays import FloatArray, IntArray, TextArray
    from roadwatch.roads.network import Network


@dataclass(frozen=True)
class Stretches:
    """
    Every edge cut into equal stretches; those of one edge lie together, in the order in which the edge is drawn.

    Parameters
    ----------
    edge, start_m, length_m
        (s,) Edge of each stretch, its start along that edge and its length, metres.
    first, last
        (n,) Index of the first and of the last stretch of each edge (the last one still belongs to it).
    """

    edge: IntArray
    start_m: FloatArray
    length_m: FloatArray
    first: IntArray
    last: IntArray

    def of_place(self, edge: IntArray, offset_m: FloatArray) -> IntArray:
        """
        Find the stretch in which each place lies; a place between two belongs to the later one.

        Parameters
        ----------
        edge
            (k,) Edge of each place; -1 (not placed) stays -1.
        offset_m
            (k,) Distance along the edge as it is drawn, metres.
        """
        edge = np.asarray(edge, dtype=np.int64)
        is_placed = edge >= 0
        on = np.where(is_placed, edge, 0)
        number = np.floor(np.where(is_placed, offset_m, 0.0) / self.length_m[self.first[on]] + 1e-9).astype(np.int64)
        found = np.clip(self.first[on] + number, self.first[on], self.last[on])
        return np.where(is_placed, found, -1)


def cut_stretches(network: Network, *, longest_m: float = 50.0) -> Stretches:
    """
    Cut every edge into equal stretches no longer than ``longest_m``.

    Parameters
    ----------
    network
        The roads.
    longest_m
        Longest stretch allowed, metres; 50 m is the usual length of such pieces.

    Source
    ------
    xie_yan2008
    """
    edge_m = network.edges["length_m"].to_numpy(dtype=np.float64)
    n_stretches = np.maximum(np.ceil(edge_m / longest_m - 1e-9), 1).astype(np.int64)
    last = np.cumsum(n_stretches) - 1
    first = last - n_stretches + 1
    edge = np.repeat(np.arange(len(edge_m)), n_stretches)
    length_m = (edge_m / n_stretches)[edge]
    start_m = (np.arange(len(edge)) - first[edge]) * length_m
    return Stretches(edge, start_m, length_m, first, last)


def stretch_table(network: Network, stretches: Stretches) -> gpd.GeoDataFrame:
    """
    Write stretches as a table: ``stretch_id road road_part from_m to_m``, the road's attributes, and the line.

    ``from_m`` and ``to_m`` are metres along the road (from its westernmost end), the smaller first; ``from_measure``
    and ``to_measure`` are the agency's measures at the two ends of the stretch in the order in which it is drawn.

    Parameters
    ----------
    network
        The roads.
    stretches
        The stretches cut from them.
    """
    edges, edge = network.edges, stretches.edge
    of_edge = edges.drop(columns=["geometry", "node_from", "node_to", "length_m"]).iloc[edge].reset_index(drop=True)
    start_m, stop_m = stretches.start_m, stretches.start_m + stretches.length_m
    before_m = of_edge.pop("road_from_m").to_numpy()
    after_m = of_edge.pop("road_to_m").to_numpy()
    is_reversed = of_edge.pop("road_reversed").to_numpy(dtype=bool)
    table = of_edge[["road", "road_part"]].copy()
    table.insert(0, "stretch_id", np.arange(len(edge)))
    table["from_m"] = np.where(is_reversed, after_m - stop_m, before_m + start_m)
    table["to_m"] = np.where(is_reversed, after_m - start_m, before_m + stop_m)
    table["length_m"] = stretches.length_m
    attributes = of_edge.drop(columns=["road", "road_part"])
    per_m = ((of_edge["to_measure"] - of_edge["from_measure"]) / edges["length_m"].to_numpy()[edge]).to_numpy()
    first_measure = of_edge["from_measure"].to_numpy()
    attributes["from_measure"] = first_measure + per_m * start_m
    attributes["to_measure"] = first_measure + per_m * stop_m
    table[list(attributes.columns)] = attributes
    return gpd.GeoDataFrame(table, geometry=stretch_lines(network, stretches), crs=network.crs)


def stretch_lines(network: Network, stretches: Stretches) -> TextArray:
    """
    Draw each stretch.

    Parameters
    ----------
    network, stretches
        The roads, and the stretches cut from them.

    Returns
    -------
    (s,) LineStrings.
    """
    shapes = network.edges.geometry.to_numpy()
    line = np.r_[stretches.edge, np.arange(len(shapes))]
    at_m = np.r_[stretches.start_m, shapely.length(shapes)]
    order = np.lexsort((at_m, line))
    line, at_m = line[order], at_m[order]
    xy = shapely.get_coordinates(shapely.line_interpolate_point(shapes[line], at_m))
    pieces = cut_lines(vertices_of(shapes), line, at_m, xy)
    return pieces.geometry
