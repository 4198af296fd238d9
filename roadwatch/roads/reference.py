"""Say where a place lies along its road, in metres and in the agency's mileposts, and find it again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from roadwatch.errors import UsageError

if TYPE_CHECKING:
    from roadwatch.roads.arrays import FloatArray, IntArray, TextArray
    from roadwatch.roads.network import Network

ROUNDING_M = 1e-6
"""A metre past the end of a road by no more than this is the end itself."""
NOT_PLACED = "the place is not on a road"
NO_MEASURE = "the road layer gives no measures here"
NO_UNIT = "the road layer does not state the unit of its measures"


def road_measure(network: Network, edge: IntArray, offset_m: FloatArray) -> tuple[TextArray, IntArray, FloatArray]:
    """
    Say on which road, on which part of it, and at which metre of that part places lie.

    A part of a road is measured from its westernmost, then southernmost end; a part that closes on itself clockwise
    from its westernmost junction.

    Parameters
    ----------
    network
        The roads.
    edge, offset_m
        (k,) Edge of each place (-1: not on a road) and metres along it as it is drawn.

    Returns
    -------
    (road, road_part, metre) Three (k,) arrays; None, -1 and nan where a place is not on a road.
    """
    edges, is_placed = network.edges, np.asarray(edge) >= 0
    start_m, stop_m = edges["road_from_m"].to_numpy()[edge], edges["road_to_m"].to_numpy()[edge]
    metre = np.where(edges["road_reversed"].to_numpy(dtype=bool)[edge], stop_m - offset_m, start_m + offset_m)
    road = edges["road"].to_numpy(dtype=object)[edge]
    road[~is_placed] = None
    part = np.where(is_placed, edges["road_part"].to_numpy()[edge], -1)
    return road, part, np.where(is_placed, metre, np.nan)


def find_on_road(
    network: Network, road: str, metre: FloatArray | float, *, road_part: int = 0, own: IntArray | None = None
) -> tuple[IntArray, FloatArray]:
    """
    Find the edge and the offset along it at given metres of a road: the way back from ``road_measure``.

    Parameters
    ----------
    network
        The roads.
    road
        Name of the road, as the network writes it.
    metre
        (k,) or one number: metres along the part.
    road_part
        Part of the road.
    own
        The edges of the part, where they are at hand; None looks for them.

    Returns
    -------
    (edge, offset_m) Two (k,) arrays; a metre at which two edges meet lies on the later one.

    Raises
    ------
    UsageError
        There is no such road or part, or it is shorter than a metre asked for.
    """
    metres = np.atleast_1d(np.asarray(metre, dtype=np.float64))
    edges = network.edges
    if own is None:
        own = np.flatnonzero((edges["road"] == road).to_numpy() & (edges["road_part"] == road_part).to_numpy())
    if not len(own):
        raise UsageError(f"road {road!r}, part {road_part}: no such road in the layer; look up how it writes the name")
    start_m, stop_m = edges["road_from_m"].to_numpy()[own], edges["road_to_m"].to_numpy()[own]
    is_off = ~((metres >= -ROUNDING_M) & (metres <= stop_m.max() + ROUNDING_M))
    if is_off.any():
        raise UsageError(
            f"road {road!r}, part {road_part}: metre {metres[is_off][0]:g} is not on it; "
            f"expected 0 to {stop_m.max():.1f}"
        )
    order = np.argsort(start_m, kind="stable")
    place = order[np.maximum(np.searchsorted(start_m[order], metres, side="right") - 1, 0)]
    along_m = np.clip(metres - start_m[place], 0.0, stop_m[place] - start_m[place])
    is_reversed = edges["road_reversed"].to_numpy(dtype=bool)[own][place]
    return own[place], np.where(is_reversed, stop_m[place] - start_m[place] - along_m, along_m)


def place_on_road(network: Network, road: str, metre: FloatArray | float, *, road_part: int = 0) -> TextArray:
    """
    Find the points at given metres of a road, in the network's reference system.

    Parameters
    ----------
    network, road, metre, road_part
        As in ``find_on_road``.

    Returns
    -------
    (k,) Points.

    Raises
    ------
    UsageError
        There is no such road or part, or it is shorter than a metre asked for.
    """
    return points_on_edges(network, *find_on_road(network, road, metre, road_part=road_part))


def points_on_edges(network: Network, edge: IntArray, offset_m: FloatArray) -> TextArray:
    """
    Find the points at given offsets along edges, in the network's reference system.

    Parameters
    ----------
    network
        The roads.
    edge, offset_m
        (k,) Edge of each place and metres along it as it is drawn.
    """
    shapes = network.edges.geometry.to_numpy()[edge]
    return np.asarray(shapely.line_interpolate_point(shapes, offset_m), dtype=object)


@dataclass(frozen=True)
class Mileposts:
    """
    The agency's measures of places; every array is (k,).

    Parameters
    ----------
    value
        Measure in ``unit``; nan where the layer has none.
    unit
        ``mile``, ``km``, ``m`` or ``ft`` as the layer states it; empty where it states none.
    reason
        Why the value or its unit is missing; empty where nothing is.
    """

    value: FloatArray
    unit: TextArray
    reason: TextArray


def milepost(network: Network, edge: IntArray, offset_m: FloatArray) -> Mileposts:
    """
    Interpolate the agency's measure at places, in proportion to length between the two ends of the layer's piece.

    Parameters
    ----------
    network
        The roads.
    edge, offset_m
        (k,) Edge of each place (-1: not on a road) and metres along it as it is drawn.
    """
    is_placed = np.asarray(edge) >= 0
    edges = network.edges.iloc[np.where(is_placed, edge, 0)]
    first, last = edges["from_measure"].to_numpy(), edges["to_measure"].to_numpy()
    value = first + (last - first) * np.asarray(offset_m) / edges["length_m"].to_numpy()
    value = np.where(is_placed, value, np.nan)
    stated = edges["measure_unit"]
    unit = np.where(is_placed & stated.notna().to_numpy(), stated.to_numpy(dtype=object), "")
    reason = np.select([~is_placed, np.isnan(value), unit == ""], [NOT_PLACED, NO_MEASURE, NO_UNIT], "")
    return Mileposts(value, unit, reason.astype(object))
