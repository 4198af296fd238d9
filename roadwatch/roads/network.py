"""Roads as a network of edges between nodes, in local metres."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from roadwatch.errors import UnfitFileError
from roadwatch.roads.cleaning import clean_roads
from roadwatch.roads.noding import JOIN_WITHIN_M, Noded, node_lines
from roadwatch.roads.parts import join_parts
from roadwatch.roads.projection import local_metres

if TYPE_CHECKING:
    from pyproj import CRS

    from roadwatch.roads.arrays import FloatArray


@dataclass(frozen=True)
class Network:
    """
    Roads as edges between nodes.

    Parameters
    ----------
    edges
        One row an edge, index 0..n-1: ``road_id road road_part node_from node_to length_m road_from_m road_to_m
        road_reversed``, the layer's attributes, and the line in ``crs`` as it was drawn. ``road_from_m`` is less than
        ``road_to_m``; where ``road_reversed`` is True the line is drawn from ``road_to_m`` down to ``road_from_m``.
    nodes
        One row a node, index 0..m-1: ``degree`` (edge ends that meet there; a loop counts twice) and its point.
    crs
        The local metric reference system.
    notes
        What was found in the layer and what was done about it, with counts.
    """

    edges: gpd.GeoDataFrame
    nodes: gpd.GeoDataFrame
    crs: CRS
    notes: tuple[str, ...]

    def project(self, longitude: FloatArray, latitude: FloatArray) -> tuple[FloatArray, FloatArray]:
        """
        Turn WGS 84 degrees into metres east and north in the network's reference system; a missing place stays nan.

        Parameters
        ----------
        longitude, latitude
            (n,) Degrees.
        """
        return local_metres(self.crs, longitude, latitude)


def build_network(roads: gpd.GeoDataFrame) -> Network:
    """
    Clean a road layer, cut it where roads meet, and measure along each road.

    Parameters
    ----------
    roads
        Road lines in any reference system, columns named as in the table of fields; missing ones are added blank.

    Raises
    ------
    UnfitFileError
        The layer has no reference system, or no line is left in it.
    """
    lines, notes = clean_roads(roads)
    is_bridge = (lines["bridge"] == True).to_numpy(dtype=bool)  # noqa: E712  # a blank is not a bridge
    noded = node_lines(lines.geometry.to_numpy(), is_bridge=is_bridge)
    if not len(noded.node_from):
        raise UnfitFileError(
            f"road layer: every line in it is shorter than {JOIN_WITHIN_M:g} m; expected roads in metres"
        )
    edges = _edges(lines, noded)
    ends = np.r_[noded.node_from, noded.node_to]
    nodes = gpd.GeoDataFrame(
        {"degree": np.bincount(ends, minlength=len(noded.node_xy))},
        geometry=shapely.points(noded.node_xy),
        crs=lines.crs,
    )
    return Network(edges, nodes, lines.crs, (*notes, *noded.notes))


def _edges(lines: gpd.GeoDataFrame, noded: Noded) -> gpd.GeoDataFrame:
    pieces = noded.pieces
    attributes = lines.drop(columns="geometry").iloc[pieces.line].reset_index(drop=True)
    attributes["from_measure"], attributes["to_measure"] = _cut_measures(lines, noded)
    names = [" ".join(name.split()) or None if isinstance(name, str) else None for name in attributes.pop("road")]
    parts = join_parts(names, pieces.geometry, noded.node_from, noded.node_to)
    measured = pd.DataFrame(
        {
            "road_id": attributes.pop("road_id"),
            "road": parts.road,
            "road_part": parts.part,
            "node_from": noded.node_from,
            "node_to": noded.node_to,
            "length_m": shapely.length(pieces.geometry),
            "road_from_m": parts.from_m,
            "road_to_m": parts.to_m,
            "road_reversed": parts.reversed,
        }
    )
    table = pd.concat([measured, attributes], axis=1)
    return gpd.GeoDataFrame(table, geometry=pieces.geometry, crs=lines.crs)


def _cut_measures(lines: gpd.GeoDataFrame, noded: Noded) -> tuple[pd.Series, pd.Series]:
    """The agency's measures at both ends of each piece, in proportion to the length of the line it was cut from."""
    line = noded.pieces.line
    length_m = lines.length.to_numpy()[line]
    first, last = lines["from_measure"].to_numpy()[line], lines["to_measure"].to_numpy()[line]
    at_start = first + (last - first) * noded.pieces.from_m / length_m
    at_end = first + (last - first) * noded.pieces.to_m / length_m
    return pd.Series(at_start), pd.Series(at_end)
