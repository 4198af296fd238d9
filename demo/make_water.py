"""Invented creeks, ponds, a marsh, and two pieces of protected land."""

from __future__ import annotations

import math

import numpy as np
from make_county import DRAWN_ON, HALF_HEIGHT_M, HALF_WIDTH_M, Floats, Hotspot, Road, chance, feature, lon_lat
from shapely import LineString, MultiLineString, Point
from shapely.ops import nearest_points

BANK_M = 14.0  # water keeps this far from the middle of a road
CREEKS = (
    ("Withen Creek", (-8_200.0, 10_200.0), -1.35),
    ("Tarrelfold Creek", (-2_000.0, 9_600.0), -1.75),
    ("Garrow Branch", (4_600.0, 10_200.0), -1.45),
    ("Umberstead Creek", (9_800.0, 7_000.0), -2.3),
)
QUIET_PONDS = (
    ("Nettleyby Pond", (-1_700.0, 2_300.0), 120.0),
    ("Hobblegarth Pond", (2_300.0, -2_600.0), 95.0),
    ("Umbermere", (-7_600.0, 3_300.0), 170.0),
    ("Wicklelow Pond", (6_700.0, -6_300.0), 110.0),
    ("Vennelwick Pond", (-3_300.0, -8_000.0), 130.0),
    ("Mossel Dip", (500.0, 1_900.0), 60.0),
    ("Kettelstead Pond", (8_300.0, 4_100.0), 140.0),
)


def make_creeks() -> list[tuple[str, Floats]]:
    """Lines that wander down the county until they leave it."""
    rng = chance(3)
    return [(name, _meander(np.array(source), heading, rng)) for name, source, heading in CREEKS]


def _meander(source: Floats, general: float, rng: np.random.Generator) -> Floats:
    """Walk downhill: the heading swings like a meander and is drawn back to the general direction."""
    points, swing = [source], 0.0
    for k in range(600):
        swing = 0.93 * swing + rng.normal(scale=0.16)
        heading = general + swing + 0.5 * math.sin(k / 5.0) + 0.35 * math.sin(k / 31.0)
        points.append(points[-1] + 75.0 * np.array([math.cos(heading), math.sin(heading)]))
        if abs(points[-1][0]) > HALF_WIDTH_M or abs(points[-1][1]) > HALF_HEIGHT_M:
            break
    return np.array(points)


def make_ponds(roads: list[Road], hotspots: list[Hotspot]) -> list[tuple[str, str, Floats]]:
    """Name, kind and ring (n, 2) of every pond and of the marsh; the hotspots' water lies beside their roads."""
    rng, net = chance(4), MultiLineString([piece for road in roads for piece in road.pieces])
    ponds = [(name, "pond", _blob(_beside_road(at, size, net), size, net, rng)) for name, at, size in QUIET_PONDS]
    by_name = {road.name: road for road in roads}
    for hotspot in hotspots:
        beside = _both_sides(hotspot, by_name[hotspot.road].line)
        if "marsh" in hotspot.setting:
            ponds.append((hotspot.name, "marsh", _blob(beside[0] * 1.0, 560.0, net, rng)))
            ponds.append((f"{hotspot.name} East Arm", "marsh", _blob(beside[1], 330.0, net, rng)))
        elif "both" in hotspot.setting:
            ponds.append((hotspot.name, "pond", _blob(beside[0], 190.0, net, rng)))
            ponds.append((f"{hotspot.name} South", "pond", _blob(beside[1], 150.0, net, rng)))
        else:
            ponds.append((hotspot.name, "pond", _blob(beside[0], 140.0, net, rng)))
    return ponds


def _beside_road(near: tuple[float, float], radius_m: float, net: MultiLineString) -> Floats:
    """The place on the way to the nearest road from which a pond of this size almost reaches it."""
    place, road = Point(near), nearest_points(net, Point(near))[0]
    share = min(1.0, (radius_m + 35.0) / place.distance(road))
    at = np.array([road.x, road.y])
    return np.asarray(at + share * (np.array(near) - at))


def _both_sides(hotspot: Hotspot, line: LineString) -> list[Floats]:
    """Points 170 m to the left and right of the road at the hotspot's centre."""
    at = line.project(Point(hotspot.centre))
    before, after = line.interpolate(at - 30.0), line.interpolate(at + 30.0)
    along = np.array([after.x - before.x, after.y - before.y]) / 60.0
    across = np.array([-along[1], along[0]])
    return [hotspot.centre + 170.0 * across, hotspot.centre - 170.0 * across]


def _blob(centre: Floats, radius_m: float, net: MultiLineString, rng: np.random.Generator) -> Floats:
    """A closed, lobed ring round a centre; each ray is cut short before it reaches a road."""
    angles = np.linspace(0, 2 * math.pi, 49)[:-1]
    lobes = sum(rng.normal(scale=0.16 / k) * np.cos(k * angles + rng.uniform(0, 6.3)) for k in range(2, 7))
    reach = radius_m * (1.0 + np.asarray(lobes))
    rays = np.column_stack([np.cos(angles), np.sin(angles)])
    ring = np.array([centre + ray * _clear(centre, ray, r, net) for ray, r in zip(rays, reach, strict=True)])
    return np.vstack([ring, ring[:1]])


def _clear(centre: Floats, ray: Floats, reach: float, net: MultiLineString) -> float:
    """The longest part of a ray, in steps of 4 %, that stays on its own bank."""
    while reach > 5.0 and LineString([centre, centre + reach * ray]).distance(net) < BANK_M:
        reach *= 0.96
    return reach


def water_features(creeks: list[tuple[str, Floats]], ponds: list[tuple[str, str, Floats]]) -> list[dict[str, object]]:
    """GeoJSON features of all water."""
    stamp = {"notes": "invented water", **DRAWN_ON}
    lines = [
        feature("LineString", lon_lat(line), {"water_id": f"W{k:02d}", "name": name, "kind": "creek", **stamp})
        for k, (name, line) in enumerate(creeks, 1)
    ]
    return lines + [
        feature("Polygon", [lon_lat(_outward(ring))], {"water_id": f"W{k:02d}", "name": name, "kind": kind, **stamp})
        for k, (name, kind, ring) in enumerate(ponds, len(creeks) + 1)
    ]


def _outward(ring: Floats) -> Floats:
    """The ring counter-clockwise, as RFC 7946 asks of an outer ring."""
    x, y = ring[:, 0], ring[:, 1]
    area = float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))
    return ring if area > 0 else ring[::-1]


def protected_features(ponds: list[tuple[str, str, Floats]]) -> list[dict[str, object]]:
    """A reserve round the marsh and a park round one pond, as rounded quadrilaterals."""
    rings = {name: ring for name, _, ring in ponds}
    plans = (
        ("Long Sallow Marsh Reserve (invented)", "reserve", rings["Long Sallow Marsh"], 420.0),
        ("Umbermere Commons (invented)", "county park", rings["Umbermere"], 260.0),
    )
    features = []
    for k, (name, kind, ring, margin) in enumerate(plans, 1):
        low, high = ring.min(axis=0) - margin, ring.max(axis=0) + margin
        skew = 0.12 * (high - low)
        corners = [low + skew * [0, 1], [high[0], low[1]], high - skew * [0.4, 0], [low[0] + skew[0], high[1]]]
        closed = np.array([*corners, corners[0]])
        properties = {
            "protected_id": f"P{k}",
            "name": name,
            "kind": kind,
            "notes": "invented protected land",
            **DRAWN_ON,
        }
        features.append(feature("Polygon", [lon_lat(_outward(closed))], properties))
    return features
