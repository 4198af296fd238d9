"""How long it takes from nest to nest along the roads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from roadwatch.roads.distances import network_distances
from roadwatch.roads.snap import nearest_edges
from roadwatch.rounds.values import round_value

if TYPE_CHECKING:
    from roadwatch.roads.network import Network
    from roadwatch.rounds.arrays import Bools, Floats


@dataclass(frozen=True)
class Travel:
    """
    Ways between nests and from where people start.

    ``between_m`` (nests, nests) and ``from_start_m`` (people, nests) are metres along the roads, 0 from a start that
    is not known; ``walk_m`` (nests,) from the road to the nest.
    """

    between_m: Floats
    from_start_m: Floats
    walk_m: Floats
    notes: tuple[str, ...]


def travel_between(
    network: Network, *, access: Floats, nests: Floats, starts: Floats, names: tuple[str, ...] = ()
) -> Travel:
    """
    Measure the ways of a plan.

    Parameters
    ----------
    network
        The roads.
    access
        (nests, 2) Longitude and latitude at which a visitor leaves the road, nan where the nest's own place stands
        for it.
    nests
        (nests, 2) Longitude and latitude of the nests.
    starts
        (people, 2) Longitude and latitude of where people start, nan where that is not known.
    names
        What the nests are called in notes.

    Returns
    -------
    Ways along the roads from the nearest place on one; where no way leads, the straight line made longer.

    Source
    ------
    dijkstra1959, rounds_convention
    """
    leave = np.where(np.isnan(access), nests, access)
    places = np.vstack([leave, starts])
    x_m, y_m = network.project(places[:, 0], places[:, 1])
    points = np.asarray(shapely.points(x_m, y_m), dtype=object)
    points[~(np.isfinite(x_m) & np.isfinite(y_m))] = None
    edge, aside_m = nearest_edges(shapely.STRtree(network.edges.geometry.to_numpy()), points)
    lines = network.edges.geometry.to_numpy()[np.maximum(edge, 0)]
    offset_m = np.where(edge >= 0, shapely.line_locate_point(lines, points), np.nan)
    n = len(leave)
    way_m = network_distances(network, edge, offset_m, edge[:n], offset_m[:n])
    straight_m = np.hypot(x_m[:, None] - x_m[None, :n], y_m[:, None] - y_m[None, :n])
    has_way = np.isfinite(way_m)
    way_m = np.where(has_way, way_m, straight_m * round_value("detour_factor"))
    way_m = np.where(edge[:, None] < 0, 0.0, way_m)
    own_x, own_y = network.project(nests[:, 0], nests[:, 1])
    walk_m = np.hypot(own_x - x_m[:n], own_y - y_m[:n]) + aside_m[:n]
    return Travel(
        between_m=_symmetrical(way_m[:n]),
        from_start_m=way_m[n:],
        walk_m=np.nan_to_num(walk_m),
        notes=_notes(has_way[:n] | (edge[:n, None] < 0), names),
    )


def _symmetrical(way_m: Floats) -> Floats:
    """Both directions alike to the last bit; a nest lies at no distance from itself."""
    shortest: Floats = np.minimum(way_m, way_m.T)
    np.fill_diagonal(shortest, 0.0)
    return shortest


def _notes(has_way: Bools, names: tuple[str, ...]) -> tuple[str, ...]:
    apart = np.flatnonzero(~has_way.all(axis=1))
    if not len(apart):
        return ()
    named = ", ".join(names[place] for place in apart) if names else f"{len(apart)} nests"
    factor = round_value("detour_factor")
    note = (
        f"No way along the roads on file joins all nests ({named}): there the straight line is taken, made "
        f"{factor:g} times as long."
    )
    return (note,)
