"""Invented roads: two highways, county roads between scattered junctions, a small town, lanes, a loop and a bridge."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import numpy as np
from make_county import HALF_HEIGHT_M, HALF_WIDTH_M, Floats, Hotspot, Road, chance, curve
from make_lanes import ACROSS, ALONG, ARM_M, make_lanes, make_loop, make_town
from make_names import road_names
from shapely import LineString, MultiPoint, Point

GATES = {"west": (-1.0, 0.18), "east": (1.0, -0.22), "north": (-0.24, 1.0), "south": (0.2, -1.0)}
ARMS = {"west": -ARM_M * ALONG, "east": ARM_M * ALONG, "north": ARM_M * ACROSS, "south": -ARM_M * ACROSS}
HOTSPOT_PLANS = (
    ("Pellowmere Pond", "State Route 1907", (5_200.0, 1_000.0), 400.0, (2022, 2023, 2024, 2025), "pond on both sides"),
    ("Long Sallow Marsh", "county", (-5_500.0, -4_000.0), 550.0, (2022, 2023, 2024, 2025), "marsh along the road"),
    ("Orrelby Borrow Pit", "county", (3_000.0, 5_500.0), 350.0, (2023,), "pit that held water in one season only"),
)


def make_roads() -> tuple[list[Road], list[Hotspot]]:
    """All roads of the county and the three hotspots planted on them."""
    rng = chance(1)
    nodes = _scatter_junctions(rng)
    edges = _prune(nodes, _gabriel(nodes), rng)
    lines = _draw(nodes, edges, rng)
    roads, left = _highways(nodes, lines)
    roads += _county_roads(nodes, left)
    roads.append(_overpass(nodes, lines, roads, rng))
    roads += make_town(roads)
    hotspots = [_plant(plan, roads) for plan in HOTSPOT_PLANS]
    roads += make_lanes(roads, hotspots, rng)
    roads.append(make_loop(roads, hotspots, rng))
    return roads, hotspots


def _scatter_junctions(rng: np.random.Generator) -> Floats:
    """The town (node 0), its four approaches (1-4), the four gates (5-8), and junctions no nearer than 3 km."""
    size = np.array([HALF_WIDTH_M, HALF_HEIGHT_M])
    nodes = [np.zeros(2), *ARMS.values(), *(np.array(gate) * size for gate in GATES.values())]
    for _ in range(4_000):
        place = rng.uniform(-0.97, 0.97, size=2) * size
        gaps = np.hypot(*(np.array(nodes) - place).T)
        if gaps.min() > 3_000.0:
            nodes.append(place)
    return np.array(nodes)


def _gabriel(nodes: Floats) -> list[tuple[int, int]]:
    """Pairs with no third node inside the circle on their line: a flat web that looks like a road map."""
    pairs = []
    for i, j in combinations(range(len(nodes)), 2):
        radius = np.hypot(*(nodes[i] - nodes[j])) / 2
        inside = np.hypot(*(nodes - (nodes[i] + nodes[j]) / 2).T) < radius - 1e-6
        inside[[i, j]] = False
        if not inside.any() and not (1 <= i <= 4 and 1 <= j <= 4):
            pairs.append((i, j))
    return pairs


def _prune(nodes: Floats, edges: list[tuple[int, int]], rng: np.random.Generator) -> list[tuple[int, int]]:
    """Take out about a fifth of the roads, never one of the town's and never the last of a junction."""
    kept = list(edges)
    for k in rng.permutation(len(edges))[: round(len(edges) * 0.26)]:
        i, j = edges[k]
        rest = [edge for edge in kept if edge != (i, j)]
        if min(i, j) > 8 and _steps(rest, len(nodes), i)[j] < 7:
            kept = rest
    return kept


def _steps(edges: list[tuple[int, int]], n_nodes: int, start: int) -> Floats:
    """Fewest roads from one junction to every other; inf where there is no way."""
    steps = np.full(n_nodes, np.inf)
    steps[start] = 0
    for _ in range(n_nodes):
        for i, j in edges:
            steps[i] = min(steps[i], steps[j] + 1)
            steps[j] = min(steps[j], steps[i] + 1)
    return steps


def _draw(nodes: Floats, edges: list[tuple[int, int]], rng: np.random.Generator) -> dict[tuple[int, int], Floats]:
    """A winding line for every edge; a line that touches another is drawn again, straighter."""
    lines: dict[tuple[int, int], Floats] = {}
    for i, j in edges:
        bend = 0.0 if i == 0 else 0.07
        while True:
            line = curve(nodes[i], nodes[j], rng, bend=bend)
            if not any(_meet_wrongly(line, other) for other in lines.values()):
                break
            bend *= 0.7
        lines[i, j] = line
    return lines


def _meet_wrongly(line: Floats, other: Floats) -> bool:
    """Two roads come within 40 m of each other anywhere but near a shared end."""
    ends = {tuple(line[0]), tuple(line[-1])} & {tuple(other[0]), tuple(other[-1])}
    near_ends = MultiPoint(sorted(ends)).buffer(250.0)
    return bool(LineString(line).difference(near_ends).distance(LineString(other)) < 40.0)


def _oriented(lines: dict[tuple[int, int], Floats], i: int, j: int) -> Floats:
    return lines[i, j] if (i, j) in lines else lines[j, i][::-1]


def _highways(nodes: Floats, lines: dict[tuple[int, int], Floats]) -> tuple[list[Road], dict[tuple[int, int], Floats]]:
    """The straightest ways from gate to gate through the town, and the lines left for county roads."""
    roads, used = [], set()
    for name, route, gates, traffic in (
        ("State Route 1907", "SR1907", (5, 1, 2, 6), 4_800),
        ("State Route 1964", "SR1964", (8, 4, 3, 7), 2_600),
    ):
        way = [*_way(nodes, lines, gates[0], gates[1]), 0, *_way(nodes, lines, gates[2], gates[3])]
        used |= {frozenset(pair) for pair in pairwise(way)}
        pieces = [_oriented(lines, i, j) for i, j in pairwise(way)]
        roads.append(Road(name, "highway", pieces, route, traffic=traffic))
    return roads, {edge: line for edge, line in lines.items() if frozenset(edge) not in used}


def _way(nodes: Floats, lines: dict[tuple[int, int], Floats], start: int, end: int) -> list[int]:
    """Shortest way between two junctions that keeps out of the town's centre (Bellman and Ford, small graph)."""
    cost, before = {start: 0.0}, {start: start}
    hops = [edge for i, j in lines if 0 not in (i, j) for edge in ((i, j), (j, i))]
    for _ in nodes:
        for i, j in hops:
            length = float(np.hypot(*(nodes[i] - nodes[j]))) ** 1.05
            if i in cost and cost[i] + length < cost.get(j, math.inf):
                cost[j], before[j] = cost[i] + length, i
    way = [end]
    while way[-1] != start:
        way.append(before[way[-1]])
    return way[::-1]


def _county_roads(nodes: Floats, left: dict[tuple[int, int], Floats]) -> list[Road]:
    """Join lines that run on nearly straight into county roads of up to five pieces."""
    names, roads, free = iter(road_names()["county"]), list[Road](), dict(left)
    while free:
        first = min(free, key=lambda edge: (float(nodes[edge[0]][0]), edge))
        way = list(first)
        del free[first]
        for _ in range(2):  # lengthen one end, then the other
            while len(way) < 6 and (step := _straight_on(nodes, free, way)) is not None:
                del free[(way[-1], step) if (way[-1], step) in free else (step, way[-1])]
                way.append(step)
            way.reverse()
        pieces = [_oriented(left, i, j) for i, j in pairwise(way)]
        number = 11 + 3 * len(roads)
        roads.append(Road(next(names), "county", pieces, f"CR{number}", traffic=140 + (number * 53) % 780))
    return roads


def _straight_on(nodes: Floats, free: dict[tuple[int, int], Floats], way: list[int]) -> int | None:
    """The next junction that turns least, if it turns less than 50 degrees."""
    here, back = way[-1], way[-2]
    nexts = [i + j - here for i, j in free if here in (i, j) and not {i, j} & set(way[:-1])]
    ahead = np.arctan2(*(nodes[here] - nodes[back])[::-1])
    turns = {n: abs(_wrap(np.arctan2(*(nodes[n] - nodes[here])[::-1]) - ahead)) for n in nexts}
    best = min(turns, key=lambda n: turns[n], default=None)
    return best if best is not None and turns[best] < math.radians(50) else None


def _wrap(angle: float) -> float:
    return (angle + math.pi) % (2 * math.pi) - math.pi


def _overpass(nodes: Floats, lines: dict[tuple[int, int], Floats], roads: list[Road], rng: np.random.Generator) -> Road:
    """A road between two junctions that passes over one other road on a bridge, with no junction there."""
    for i, j in combinations(range(9, len(nodes)), 2):
        if (i, j) in lines or not 3_500 < np.hypot(*(nodes[i] - nodes[j])) < 7_500:
            continue
        line = curve(nodes[i], nodes[j], rng, bend=0.03)
        whole = LineString(line)
        near = [other for road in roads for other in road.pieces if _meet_wrongly(line, other)]
        if len(near) == 1 and whole.intersection(LineString(near[0])).geom_type == "Point":
            at = whole.project(whole.intersection(LineString(near[0])))
            if 600 < at < whole.length - 600:
                k = int(np.searchsorted([whole.project(Point(p)) for p in line], at))
                pieces = [line[:k], line[k - 1 : k + 1], line[k:]]
                return Road("Old Lornstead Grade", "county", pieces, "CR204", traffic=310, bridge_piece=1)
    raise RuntimeError("no pair of junctions allows a bridge; choose another seed")


def _plant(plan: tuple[str, str, tuple[float, float], float, tuple[int, ...], str], roads: list[Road]) -> Hotspot:
    """Put a hotspot in the middle of the long piece of the wanted road or kind that is nearest the wanted place."""
    name, wanted, near, length_m, years, setting = plan
    pieces = [(road, LineString(p)) for road in roads if wanted in (road.name, road.kind) for p in road.pieces]
    pieces = [(road, line) for road, line in pieces if line.length > 1_500 and road.bridge_piece < 0]
    road, line = min(pieces, key=lambda item: item[1].centroid.distance(Point(near)))
    middle = line.interpolate(0.5, normalized=True)
    return Hotspot(name, road.name, np.array([middle.x, middle.y]), length_m, years, setting)
