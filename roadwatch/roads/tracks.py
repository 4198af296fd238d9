"""Lay recorded tracks on the roads: which stretches were travelled, for how many metres."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from roadwatch.roads.cleaning import LINE, MULTI_LINE
from roadwatch.roads.cutting import vertices_of
from roadwatch.roads.snap import nearest_edges

if TYPE_CHECKING:
    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray, TextArray
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches

TRACK_WITHIN_M = 30.0
"""A track follows a road where it runs within this distance of it: the error of a hand-held GPS."""
STEP_M = 10.0
"""Tracks are looked at in steps no longer than this."""
JITTER_M = 5.0
"""Wiggles of a track smaller than this are the receiver's, not the searcher's (a convention)."""
LEAST_SHARE = 0.5
"""A stretch counts as searched where at least this share of it was travelled: passing a side road is no search."""


@dataclass(frozen=True)
class TrackPasses:
    """
    Stretches travelled by tracks.

    Parameters
    ----------
    track, stretch, length_m
        (k,) Track, stretch, and metres that the track went along that stretch.
    off_road_m, all_m
        (t,) Metres of each track that ran along no road, and its whole length.
    """

    track: IntArray
    stretch: IntArray
    length_m: FloatArray
    off_road_m: FloatArray
    all_m: FloatArray


def is_track(shapes: TextArray) -> BoolArray:
    """
    Say which shapes can be tracks: lines of some length whose coordinates can be degrees.

    Parameters
    ----------
    shapes
        (t,) Shapes of any kind, or None.
    """
    is_line = np.isin(shapely.get_type_id(shapes), (LINE, MULTI_LINE)) & (shapely.length(shapes) > 0.0)
    west, south, east, north = shapely.bounds(shapes).T
    return np.asarray(is_line & (west >= -180.0) & (east <= 180.0) & (south >= -90.0) & (north <= 90.0), dtype=bool)


def match_tracks(network: Network, stretches: Stretches, tracks: TextArray) -> TrackPasses:
    """
    Find the stretches along which tracks run, by placing short steps of each track on the nearest road.

    Parameters
    ----------
    network
        The roads.
    stretches
        The stretches cut from them.
    tracks
        (t,) LineStrings or MultiLineStrings in WGS 84 degrees, all of them tracks by ``is_track``.
    """
    track, step = _steps(network, tracks)
    shapes = network.edges.geometry.to_numpy()
    middle = shapely.line_interpolate_point(step, 0.5, normalized=True)
    edge, distance_m = nearest_edges(shapely.STRtree(shapes), middle)
    near = np.flatnonzero(distance_m <= TRACK_WITHIN_M)
    along = shapes[edge[near]]
    begin_m, middle_m, end_m = (
        shapely.line_locate_point(along, shapely.line_interpolate_point(step[near], share, normalized=True))
        for share in (0.0, 0.5, 1.0)
    )
    passed = pd.DataFrame(
        {
            "track": track[near],
            "stretch": stretches.of_place(edge[near], middle_m),
            "length_m": np.abs(end_m - begin_m),  # along the road: neither crossing it nor straying is searching
        }
    )
    travelled = passed.groupby(["track", "stretch"], as_index=False)["length_m"].sum()
    least_m = LEAST_SHARE * stretches.length_m[travelled["stretch"].to_numpy()]
    counted = travelled[travelled["length_m"].to_numpy() >= least_m]
    step_m = shapely.length(step)
    all_m = np.bincount(track, step_m, len(tracks)).astype(np.float64)
    near_m = np.bincount(track[near], step_m[near], len(tracks)).astype(np.float64)
    return TrackPasses(
        counted["track"].to_numpy(),
        counted["stretch"].to_numpy(),
        counted["length_m"].to_numpy(),
        all_m - near_m,
        all_m,
    )


def _steps(network: Network, tracks: TextArray) -> tuple[IntArray, TextArray]:
    """Every short straight step of every track, in metres: the track it belongs to, and its line."""
    parts, track = shapely.get_parts(tracks, return_index=True)
    moves = shapely.length(parts) > 0.0
    parts, track = parts[moves], track[moves]
    degrees, line = shapely.get_coordinates(parts, return_index=True)
    metres = np.column_stack(network.project(degrees[:, 0], degrees[:, 1]))
    local = shapely.simplify(shapely.linestrings(metres, indices=line), JITTER_M)
    vertices = vertices_of(np.asarray(shapely.segmentize(local, STEP_M), dtype=object))
    goes_on = np.flatnonzero((np.diff(vertices.line) == 0) & (np.diff(vertices.at_m) > 0.0))
    step = shapely.linestrings(np.stack([vertices.xy[goes_on], vertices.xy[goes_on + 1]], axis=1))
    return track[vertices.line[goes_on]], np.asarray(step, dtype=object)
