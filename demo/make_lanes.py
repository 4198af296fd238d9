"""Invented small roads: the town's streets, dead-end lanes, and one loop."""

from __future__ import annotations

import itertools
import math

import numpy as np
from make_county import HALF_HEIGHT_M, HALF_WIDTH_M, Floats, Hotspot, Road, chance, wander
from make_names import road_names
from shapely import LineString, STRtree

BLOCK_M, ARM_M = 140.0, 900.0
ALONG = np.array([math.cos(0.21), math.sin(0.21)])
ACROSS = np.array([math.cos(1.88), math.sin(1.88)])
LANES, ATTEMPTS = 78, 3_000


def make_town(roads: list[Road]) -> list[Road]:
    """Streets on a skewed, slightly wavy grid hung between the two highways, which become its main streets."""
    for road, direction in ((roads[0], ALONG), (roads[1], ACROSS)):
        _cut_main_street(road, direction)
    rng, names = chance(2), iter(road_names()["street"])
    grid = {(i, j): i * BLOCK_M * ALONG + j * BLOCK_M * ACROSS for i in range(-3, 4) for j in range(-2, 4)}
    for key, place in grid.items():
        if 0 not in key:
            grid[key] = place + rng.normal(scale=11.0, size=2)
    rows = [[(i, j) for i in range(-3, 4)] for j in (-2, -1, 1, 2, 3)]
    columns = [[(i, j) for j in range(-2, 4)] for i in (-3, -2, -1, 1, 2, 3)]
    columns[1], columns[5], rows[0] = columns[1][1:], columns[5][:-1], rows[0][1:]
    streets = []
    for keys in rows + columns:
        pieces = [np.array([grid[a], grid[b]]) for a, b in itertools.pairwise(keys)]
        streets.append(Road(next(names), "street", pieces, traffic=220 if len(streets) % 3 == 0 else None))
    return streets


def _cut_main_street(road: Road, direction: Floats) -> None:
    """Replace the straight pieces beside the town's centre by pieces one block long."""
    at = next(k for k, piece in enumerate(road.pieces) if np.allclose(piece[-1], 0.0))
    steps = [s for s in range(-3, 4) if direction is ALONG or s >= -2]
    marks = [road.pieces[at][0], *(s * BLOCK_M * direction for s in steps), road.pieces[at + 1][-1]]
    road.pieces[at : at + 2] = [np.array([a, b]) for a, b in itertools.pairwise(marks)]


def _split_at(road: Road, piece: int, vertex: int) -> Floats:
    """Cut one piece of a road at one of its vertices, so that another road can join there."""
    line = road.pieces[piece]
    road.pieces[piece : piece + 1] = [line[: vertex + 1], line[vertex:]]
    return np.asarray(line[vertex])


def make_lanes(roads: list[Road], hotspots: list[Hotspot], rng: np.random.Generator) -> list[Road]:
    """Dead ends that leave other roads at a vertex and come near no road again."""
    names, lanes = iter(road_names()["lane"]), list[Road]()
    for _ in range(ATTEMPTS):
        if len(lanes) == LANES:
            break
        everything = roads + lanes
        spot = _free_vertex(everything, hotspots, rng)
        if spot is None:
            continue
        road, piece, vertex = spot
        start, ahead = road.pieces[piece][vertex], road.pieces[piece][vertex + 1] - road.pieces[piece][vertex]
        turn = rng.choice([-1, 1]) * math.pi / 2 + rng.normal(scale=0.3)
        line = wander(start, math.atan2(ahead[1], ahead[0]) + turn, rng.uniform(350, 2_000), rng)
        if _stands_free(line, everything):
            _split_at(road, piece, vertex)
            blank = len(lanes) % 16 == 9  # a few tracks have no name in any layer
            lanes.append(Road("" if blank else next(names), "lane", [line]))
    return lanes


def _free_vertex(roads: list[Road], hotspots: list[Hotspot], rng: np.random.Generator) -> tuple[Road, int, int] | None:
    """A vertex in the middle of some piece, outside the town and away from the hotspots."""
    open_to_lanes = [road for road in roads if road.kind != "street" and road.bridge_piece < 0]
    choices = [(road, piece, len(line)) for road in open_to_lanes for piece, line in enumerate(road.pieces)]
    n_vertices = np.array([n for _, _, n in choices])
    road, piece, n = choices[int(rng.choice(len(choices), p=n_vertices / n_vertices.sum()))]
    if n < 9:
        return None
    vertex = int(rng.integers(3, n - 3))
    place = road.pieces[piece][vertex]
    if np.hypot(*place) < 1_100 or any(np.hypot(*(place - h.centre)) < 650 for h in hotspots):
        return None
    return road, piece, vertex


def _stands_free(line: Floats, roads: list[Road]) -> bool:
    """A lane stays inside the county, does not cross itself, and keeps 130 m from every road after its start."""
    if (np.abs(line) > np.array([HALF_WIDTH_M, HALF_HEIGHT_M])).any() or not LineString(line).is_simple:
        return False
    tree = STRtree([LineString(piece) for road in roads for piece in road.pieces])
    away = LineString(line[3:])
    return bool(tree.geometries[tree.nearest(away)].distance(away) > 130.0)


def make_loop(roads: list[Road], hotspots: list[Hotspot], rng: np.random.Generator) -> Road:
    """A stem and a ring that comes back to its own beginning."""
    for _ in range(ATTEMPTS):
        spot = _free_vertex(roads, hotspots, rng)
        if spot is None:
            continue
        road, piece, vertex = spot
        start = road.pieces[piece][vertex]
        out = rng.uniform(0, 2 * math.pi)
        stem = start + np.linspace(0, 360, 7)[:, None] * np.array([math.cos(out), math.sin(out)])
        angles = np.linspace(0, 2 * math.pi, 41)
        radius = 250 + 45 * np.cos(2 * angles) + 25 * np.sin(3 * angles)
        centre = stem[-1] + radius[0] * np.array([math.cos(out), math.sin(out)])
        ring = centre + radius[:, None] * np.column_stack(
            [np.cos(angles + out + math.pi), np.sin(angles + out + math.pi)]
        )
        ring[0] = ring[-1] = stem[-1]
        if _stands_free(np.vstack([stem, ring[1:-1]]), roads):
            _split_at(road, piece, vertex)
            return Road("Yarrelmere Loop", "lane", [stem, ring])
    raise RuntimeError("no room for the loop; choose another seed")
