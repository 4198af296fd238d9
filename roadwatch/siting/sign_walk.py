"""Walk from both ends of a stretch, and from every junction in it, upstream to where a driver must be warned."""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass, field
from itertools import count
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.siting.sign_distances import advance_distance_m

if TYPE_CHECKING:
    from roadwatch.roads.network import Network

ROUNDING_M = 0.5
"""A zone that ends this near a junction ends at it."""


@dataclass(frozen=True)
class Zone:
    """
    A stretch to warn of.

    Parameters
    ----------
    road, road_part
        Road and part, as the network writes them.
    from_m, to_m
        Its ends, metres along that part.
    """

    road: str
    road_part: int
    from_m: float
    to_m: float


@dataclass(frozen=True)
class SignPlace:
    """
    One sign, for drivers who come towards the zone.

    Parameters
    ----------
    edge, offset_m
        Where it stands: edge and metres along it as it is drawn.
    distance_m
        Metres along the roads from the sign to the zone; nan where the speed limit is unknown.
    wanted_m
        Metres that the table asks for at the fastest limit on the way; nan where it is unknown.
    speed_limit_mph
        Posted limit where the sign stands; nan where unknown.
    n_junctions
        Junctions that the driver passes between the sign and the zone.
    is_road_end
        True where the road ends before the distance is reached.
    towards_reverse
        True where the driver goes against the direction in which the edge is drawn.
    """

    edge: int
    offset_m: float
    distance_m: float
    wanted_m: float
    speed_limit_mph: float
    n_junctions: int
    is_road_end: bool
    towards_reverse: bool


@dataclass(frozen=True)
class _Leg:
    """A piece of road along which the walk leads away from the zone, from ``offset_m`` forwards or backwards."""

    edge: int
    offset_m: float
    forwards: bool
    walked_m: float
    wanted_m: float
    n_junctions: int


@dataclass
class _Walk:
    network: Network
    zone_edges: dict[int, tuple[float, float]]
    reached: set[int]
    legs: list[tuple[float, int, _Leg]] = field(default_factory=list)
    signs: list[SignPlace] = field(default_factory=list)
    covered: dict[int, list[tuple[bool, float, float]]] = field(default_factory=dict)
    number: count[int] = field(default_factory=count)

    def __post_init__(self) -> None:
        edges = self.network.edges
        self.ends = edges[["node_from", "node_to"]].to_numpy()
        self.length_m = edges["length_m"].to_numpy(dtype=np.float64)
        self.speed_mph = edges["speed_limit"].to_numpy(dtype=np.float64)
        self.at_node: dict[int, list[tuple[int, bool]]] = {}
        for edge, (start, stop) in enumerate(self.ends.tolist()):
            self.at_node.setdefault(start, []).append((edge, True))
            self.at_node.setdefault(stop, []).append((edge, False))

    def push(self, leg: _Leg) -> None:
        """Keep a leg until every nearer one was followed."""
        heapq.heappush(self.legs, (leg.walked_m, next(self.number), leg))

    def leave_node(self, node: int, walked_m: float, wanted_m: float, n_junctions: int, *, but: int | None) -> bool:
        """Go on along every road that meets here; False where none goes on."""
        onward = [(edge, forwards) for edge, forwards in self.at_node[node] if edge != but]
        for edge, forwards in onward:
            if edge not in self.zone_edges:
                start_m = 0.0 if forwards else self.length_m[edge]
                self.push(_Leg(edge, start_m, forwards, walked_m, wanted_m, n_junctions))
        return bool(onward)

    def follow(self, leg: _Leg) -> None:
        """Put the sign on this leg, or go on over its far end."""
        own_m = advance_distance_m(self.speed_mph[leg.edge])
        wanted_m = math.nan if math.isnan(own_m) else max(leg.wanted_m, own_m)
        left_m = wanted_m - leg.walked_m
        room_m = self.length_m[leg.edge] - leg.offset_m if leg.forwards else leg.offset_m
        goes_m = min(left_m, room_m)
        if math.isnan(wanted_m):
            self._set(leg, 0.0, wanted_m, is_road_end=False)
            return
        self.covered.setdefault(leg.edge, []).append((leg.forwards, leg.offset_m, goes_m))
        if left_m <= room_m:
            self._set(leg, left_m, wanted_m, is_road_end=False)
            return
        node = int(self.ends[leg.edge][1 if leg.forwards else 0])
        if node in self.reached:
            return
        self.reached.add(node)
        crossed = leg.n_junctions + (len(self.at_node[node]) > 2)
        if not self.leave_node(node, leg.walked_m + room_m, wanted_m, crossed, but=leg.edge):
            self._set(leg, room_m, wanted_m, is_road_end=True)

    def _set(self, leg: _Leg, goes_m: float, wanted_m: float, *, is_road_end: bool) -> None:
        place = SignPlace(
            edge=leg.edge,
            offset_m=leg.offset_m + (goes_m if leg.forwards else -goes_m),
            distance_m=math.nan if math.isnan(wanted_m) else leg.walked_m + goes_m,
            wanted_m=wanted_m,
            speed_limit_mph=float(self.speed_mph[leg.edge]),
            n_junctions=leg.n_junctions,
            is_road_end=is_road_end,
            towards_reverse=leg.forwards,
        )
        self.signs.append(place)

    def is_wholly_near(self, edge: int) -> bool:
        """Whether walks from both ends of a piece of road meet on it: every driver on it has passed a sign before."""
        ahead = [start + goes for forwards, start, goes in self.covered.get(edge, []) if forwards]
        back = [start - goes for forwards, start, goes in self.covered.get(edge, []) if not forwards]
        zone = self.zone_edges.get(edge)
        return zone is None and bool(ahead and back) and max(ahead) >= min(back)


def walk_upstream(network: Network, zone: Zone) -> list[SignPlace]:
    """
    Find where a sign stands on every road that leads into a zone.

    The distance is that of the fastest limit between sign and zone. Where the walk meets a junction before the
    distance is reached it goes on along every road that meets there; where a road ends before, the sign stands at
    its end. A piece of road with a walk from both ends that meet needs no sign: its drivers come from within.

    Parameters
    ----------
    network
        The roads, with ``speed_limit`` in miles per hour, nan where unknown.
    zone
        The stretch to warn of.

    Returns
    -------
    Signs in the order in which the walk reached them. Where a limit is unknown the place is where that road leaves
    the walk, and both distances are nan.

    Source
    ------
    mutcd2023, dijkstra1959
    """
    inside, exits, nodes = _zone_pieces(network, zone)
    walk = _Walk(network, inside, set(nodes))
    for edge, offset_m, forwards in exits:
        walk.push(_Leg(edge, offset_m, forwards, 0.0, 0.0, 0))
    for node in nodes:
        walk.leave_node(node, 0.0, 0.0, 0, but=None)
    while walk.legs:
        walk.follow(heapq.heappop(walk.legs)[2])
    return [place for place in walk.signs if not walk.is_wholly_near(place.edge)]


def _zone_pieces(
    network: Network, zone: Zone
) -> tuple[dict[int, tuple[float, float]], list[tuple[int, float, bool]], list[int]]:
    """The edges of a zone with its offsets on each, its ends inside an edge with the way out, and its nodes."""
    edges = network.edges
    own = edges[(edges["road"] == zone.road) & (edges["road_part"] == zone.road_part)]
    inside: dict[int, tuple[float, float]] = {}
    exits: list[tuple[int, float, bool]] = []
    nodes: set[int] = set()
    for row in own.itertuples():
        low, high = max(zone.from_m, row.road_from_m), min(zone.to_m, row.road_to_m)
        if high <= low:
            continue
        edge, length_m = int(row.Index), float(row.length_m)
        start, stop = low - row.road_from_m, high - row.road_from_m
        if row.road_reversed:
            start, stop = length_m - stop, length_m - start
        inside[edge] = (start, stop)
        for node, offset_m, gap_m, forwards in (
            (row.node_from, start, start, False),
            (row.node_to, stop, length_m - stop, True),
        ):
            if gap_m <= ROUNDING_M:
                nodes.add(int(node))
            else:
                exits.append((edge, float(offset_m), forwards))
    return inside, exits, sorted(nodes)
