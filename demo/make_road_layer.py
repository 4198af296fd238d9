"""The road layer as an agency might hand it out: measures, speeds and traffic on the big roads, blanks on the small."""

from __future__ import annotations

import numpy as np
from make_county import DRAWN_ON, Floats, Road, feature, lon_lat

METRES_PER_MILE = 1_609.344
AGENCIES = {"highway": "Invented State Roads Office", "county": "Marrowfen County Roads (invented)", "street": "Town"}
DRAWN_BACKWARDS = 23  # every so many pieces of a measured road were digitised against its measures


def road_features(roads: list[Road]) -> list[dict[str, object]]:
    """One GeoJSON feature for every piece between two junctions."""
    features: list[dict[str, object]] = []
    for k, road in enumerate(roads):
        miles = _milepoints(road)
        for piece in range(len(road.pieces)):
            number = len(features) + 1
            line, span = _direction(road.pieces[piece], miles[piece : piece + 2], number)
            properties = {
                "road_id": f"R{number:04d}",
                "road": road.name or None,
                "agency": AGENCIES.get(road.kind),
                "route_id": road.route_id or None,
                "from_measure": span[0] if road.route_id else None,
                "to_measure": span[1] if road.route_id else None,
                "measure_unit": "mile" if road.route_id else None,
                "speed_limit": _speed(road, line, number),
                "traffic_per_day": _traffic(road, line, k),
                "divided": _is_divided(road, line) if road.kind == "highway" else None,
                "bridge": piece == road.bridge_piece,
                "notes": "invented road",
                **DRAWN_ON,
            }
            features.append(feature("LineString", lon_lat(line), properties))
    return features


def _milepoints(road: Road) -> list[float]:
    """Miles from the road's beginning at the ends of its pieces, three decimals."""
    lengths = [np.hypot(*np.diff(piece, axis=0).T).sum() for piece in road.pieces]
    return [round(float(m) / METRES_PER_MILE, 3) for m in np.concatenate([[0.0], np.cumsum(lengths)])]


def _direction(line: Floats, span: list[float], number: int) -> tuple[Floats, list[float]]:
    return (line[::-1], span[::-1]) if number % DRAWN_BACKWARDS == 0 else (line, span)


def _near_town(line: Floats, reach_m: float) -> bool:
    return bool(np.hypot(*line.mean(axis=0)) < reach_m)


def _is_divided(road: Road, line: Floats) -> bool:
    return road.route_id == "SR1907" and 1_000 < float(np.hypot(*line.mean(axis=0))) < 3_500


def _speed(road: Road, line: Floats, number: int) -> int | None:
    if road.kind == "highway":
        return 35 if _near_town(line, 1_000) else 55
    if road.kind == "county":
        return None if number % 9 == 0 else 45
    return 25 if road.kind == "street" else None


def _traffic(road: Road, line: Floats, k: int) -> int | None:
    """Vehicles a day: busier near the town on highways; about a quarter of the county roads were never counted."""
    if road.traffic is None or (road.kind == "county" and k % 4 == 3):
        return None
    if road.kind != "highway":
        return road.traffic
    away_km = float(np.hypot(*line.mean(axis=0))) / 1_000
    return int(round(road.traffic * (0.75 + 0.6 * np.exp(-away_km / 3)), -1))
