"""The invented people who visit nests, and what was built along the roads."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from make_county import Hotspot, Road, feature, latitude, lon_lat, longitude
from make_rows import write_table
from make_seasons import FENCE_BUILT, homes
from shapely import Point
from shapely.ops import substring

if TYPE_CHECKING:
    from pathlib import Path


def write_people(folder: Path) -> None:
    """Eight of the observers, their days and hours; two hold the permit to open cages."""
    days = ("Mo;We;Sa", "Tu;Th", "Sa;Su", "Mo;Tu;We;Th;Fr", "We;Sa", "Fr;Su", "Tu;Sa", "Mo;Th;Su")
    hours = ("3", "2.5", "4", "1.5", "3", "2", "4", "2")
    rows = []
    for k, (name, home) in enumerate(list(homes().items())[:8]):
        row = {"observer": name, "start_longitude": f"{longitude(home[0]):.5f}"}
        row |= {"start_latitude": f"{latitude(home[1]):.5f}", "days": days[k], "hours_per_day": hours[k]}
        rows.append(row | {"may_open_nests": "true" if k in (0, 6) else "false", "data_note": "invented person"})
    write_table(folder / "people.csv", rows)


def measure_features(roads: list[Road], hotspots: list[Hotspot]) -> list[dict[str, object]]:
    """A fence along both sides of the first hotspot, and warning signs at the second."""
    features: list[dict[str, object]] = []
    by_name = {road.name: road.line for road in roads}
    first, second = hotspots[0], hotspots[1]
    line = by_name[first.road]
    at = line.project(Point(first.centre))
    fence = np.array(substring(line, at - first.length_m / 2, at + first.length_m / 2).coords)
    told = {"removed_on": None, "sides": 2, "ends_treated": True, "cost": 52_000, "notes": "invented fence"}
    properties = {"measure_id": "M-01", "kind": "fence", "built_on": FENCE_BUILT.isoformat(), **told}
    features.append(feature("LineString", lon_lat(fence), properties))
    line = by_name[second.road]
    at = line.project(Point(second.centre))
    for k, offset in enumerate((-420.0, 420.0), 2):
        place = line.interpolate(at + offset)
        properties = {"measure_id": f"M-{k:02d}", "kind": "sign", "built_on": "2023-04-03", "removed_on": None}
        properties |= {"sides": 1, "ends_treated": None, "cost": 380, "notes": "invented sign"}
        features.append(feature("Point", [longitude(place.x), latitude(place.y)], properties))
    return features
