"""The invented county: its frame, its chance, and the lines that other modules draw. No place here is real."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from shapely import LineString

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

Floats = npt.NDArray[np.float64]

SEED = 31781
CENTRE_LONGITUDE, CENTRE_LATITUDE = -81.9, 31.7
HALF_WIDTH_M, HALF_HEIGHT_M = 11_200.0, 10_200.0
LAYER_STAMP: dict[str, object] = {
    "source": "invented for the Roadwatch demo; no real place",
    "licence": "CC0-1.0",
    "invented": True,
}
DRAWN_ON = {"date": "2025-07-01"}  # not on measures, where a column called date is the day of building

_LATITUDE_RAD = math.radians(CENTRE_LATITUDE)
# Length of a degree on the WGS 84 ellipsoid: the usual cosine series, from memory; good to a metre in 100 km.
METRES_PER_DEGREE_LATITUDE = 111_132.92 - 559.82 * math.cos(2 * _LATITUDE_RAD)
METRES_PER_DEGREE_LONGITUDE = 111_412.84 * math.cos(_LATITUDE_RAD) - 93.5 * math.cos(3 * _LATITUDE_RAD)


@dataclass
class Road:
    """One named road: its pieces in order, each (n, 2) metres east and north of the centre."""

    name: str
    kind: str
    pieces: list[Floats]
    route_id: str = ""
    speed: list[int | None] = field(default_factory=list)
    traffic: int | None = None
    bridge_piece: int = -1

    @property
    def line(self) -> LineString:
        """All pieces joined end to end."""
        parts = [self.pieces[0], *(piece[1:] for piece in self.pieces[1:])]
        return LineString(np.vstack(parts))


@dataclass(frozen=True)
class Hotspot:
    """A planted stretch where many more animals die: the pattern that the demo should find again."""

    name: str
    road: str
    centre: Floats
    length_m: float
    years: tuple[int, ...]
    setting: str


def chance(stream: int) -> np.random.Generator:
    """A generator of its own for each module, so that a change in one leaves the others as they were."""
    return np.random.default_rng([SEED, stream])


def longitude(x_m: float) -> float:
    """Longitude, degrees, of a place so many metres east of the centre."""
    return round(CENTRE_LONGITUDE + float(x_m) / METRES_PER_DEGREE_LONGITUDE, 6)


def latitude(y_m: float) -> float:
    """Latitude, degrees, of a place so many metres north of the centre."""
    return round(CENTRE_LATITUDE + float(y_m) / METRES_PER_DEGREE_LATITUDE, 6)


def lon_lat(points: Floats) -> list[list[float]]:
    """GeoJSON positions of (n, 2) metres."""
    return [[longitude(x), latitude(y)] for x, y in points]


def curve(start: Floats, end: Floats, rng: np.random.Generator, *, bend: float, step_m: float = 110.0) -> Floats:
    """A winding line from start to end: three sine waves across the chord, each chance-sized."""
    chord = end - start
    length = float(np.hypot(*chord))
    t = np.linspace(0.0, 1.0, max(3, round(length / step_m) + 1))
    sizes = rng.normal(size=3) * np.array([1.0, 0.45, 0.2]) * bend * length
    offset = sum(size * np.sin((k + 1) * math.pi * t) for k, size in enumerate(sizes))
    across = np.array([-chord[1], chord[0]]) / length
    line: Floats = start + t[:, None] * chord + np.asarray(offset)[:, None] * across
    line[0], line[-1] = start, end
    return line


def wander(start: Floats, heading: float, length_m: float, rng: np.random.Generator, *, step_m: float = 60.0) -> Floats:
    """A line that starts in a direction and drifts like a lane or a creek."""
    points, turn = [start], 0.0
    for _ in range(max(3, round(length_m / step_m))):
        turn = 0.75 * turn + rng.normal(scale=0.09)
        heading += turn
        points.append(points[-1] + step_m * np.array([math.cos(heading), math.sin(heading)]))
    return np.array(points)


def write_layer(path: Path, features: Sequence[Mapping[str, object]]) -> None:
    """Write features as RFC 7946 GeoJSON, one a line, in a fixed order."""
    lines = ",\n".join(json.dumps(feature, separators=(",", ":"), ensure_ascii=False) for feature in features)
    path.write_bytes(f'{{"type":"FeatureCollection","features":[\n{lines}\n]}}\n'.encode())


def feature(geometry_type: str, coordinates: object, properties: Mapping[str, object]) -> dict[str, object]:
    """One GeoJSON feature that says it is invented."""
    geometry = {"type": geometry_type, "coordinates": coordinates}
    return {"type": "Feature", "properties": {**properties, **LAYER_STAMP}, "geometry": geometry}
