"""A small still map of one place: its roads, water, and the run of fence."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

from roadwatch.render.safe_text import fill, joined

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Mapping

    import geopandas as gpd
    from markupsafe import Markup

    from roadwatch.roads.arrays import FloatArray

    Pixels = Callable[[FloatArray], FloatArray]

WIDTH_PX, HEIGHT_PX = 700.0, 420.0
DEGREE_M = 111_320.0
"""Metres to a degree of latitude, on average (nist811 has the mile; this is geometry of a sphere of 6,378 km)."""

LEAST_WIDTH_M = 2500.0
NAME_SPOTS = (0.5, 0.2, 0.8)
"""Where along its road a name may stand, the best first."""
NAME_APART = 0.12
"""A name keeps this share of the map's width off the run."""
SCALE_BARS_M = (200, 500, 1000, 2000, 5000)


def place_map(
    run: shapely.Geometry, row: Mapping[Hashable, object], *, roads: gpd.GeoDataFrame, water: gpd.GeoDataFrame
) -> Markup:
    """
    Draw a place.

    Parameters
    ----------
    run
        Line of the run, degrees.
    row
        Its row of the plan, for the label.
    roads, water
        Layers, WGS 84.

    Returns
    -------
    A ``figure`` without style, script or link.
    """
    west, south, east, north = shapely.bounds(run)
    middle = ((west + east) / 2.0, (south + north) / 2.0)
    per_degree_m = np.array([DEGREE_M * math.cos(math.radians(middle[1])), DEGREE_M])
    size_m = (np.array([east, north]) - [west, south]) * per_degree_m
    width_m = max(LEAST_WIDTH_M, 1.5 * float(size_m[0]), 1.5 * float(size_m[1]) * WIDTH_PX / HEIGHT_PX)
    scale = WIDTH_PX / width_m

    def pixels(points: FloatArray) -> FloatArray:
        moved = (points - middle) * per_degree_m * scale * [1.0, -1.0]
        return np.asarray(moved + np.array([WIDTH_PX / 2.0, HEIGHT_PX / 2.0]))

    half = np.array([WIDTH_PX, HEIGHT_PX]) / 2.0 / scale / per_degree_m
    frame = shapely.box(*(np.array(middle) - half), *(np.array(middle) + half))
    label = f"Run {row['run']}: {row['road']}, {row['from_m']:.0f} to {row['to_m']:.0f} m"
    words = f"Map of {label}; roads grey, water blue, the run thick with pale dashes."
    return fill(
        '<figure class="map"><svg viewBox="0 0 {w} {h}" role="img" aria-label="{words}" font-family="sans-serif">'
        '<rect width="{w}" height="{h}" fill="#fdfcf8"/>'
        '<path d="{areas}" fill="#d5e4e8" fill-rule="evenodd" stroke="#7ea3ad"/>'
        '<path d="{streams}" fill="none" stroke="#7ea3ad"/>'
        '<path d="{roads}" fill="none" stroke="#6d6658" stroke-width="1.6"/>'
        '<path d="{run}" fill="none" stroke="#252525" stroke-width="9"/>'
        '<path d="{run}" fill="none" stroke="#fe9929" stroke-width="6" stroke-dasharray="10 3"/>'
        "{names}{bar}{north}"
        '<rect width="{w}" height="{h}" fill="none" stroke="#8a8272"/></svg>'
        "<figcaption>{label} (thick, dashed). Metres run from the road's western end. {lies}</figcaption></figure>",
        w=int(WIDTH_PX),
        h=int(HEIGHT_PX),
        words=words,
        areas=_paths(water, frame, pixels, dimension=2),
        streams=_paths(water, frame, pixels, dimension=1),
        roads=_paths(roads, frame, pixels, dimension=1),
        run=" ".join(_path(part, pixels) for part in shapely.get_parts(run)),
        names=_names(roads, frame, pixels, run),
        bar=_bar(scale),
        north=fill('<text x="{x}" y="24" font-size="18" text-anchor="middle">N ↑</text>', x=int(WIDTH_PX) - 30),
        label=label,
        lies=f"From {_degrees(run, 0)} to {_degrees(run, -1)} (longitude, latitude).",
    )


def _degrees(run: shapely.Geometry, place: int) -> str:
    x, y = shapely.get_coordinates(run)[place]
    return f"{x:.5f}, {y:.5f}"


def _clipped(layer: gpd.GeoDataFrame, frame: shapely.Polygon, dimension: int) -> list[shapely.Geometry]:
    shapes = layer.geometry.to_numpy() if len(layer) else np.array([], dtype=object)
    near = shapes[shapely.intersects(shapes, frame)] if len(shapes) else shapes
    parts = shapely.get_parts(shapely.intersection(shapely.make_valid(near), frame)) if len(near) else near
    return [part for part in parts if shapely.get_dimensions(part) == dimension]


def _paths(layer: gpd.GeoDataFrame, frame: shapely.Polygon, pixels: Pixels, *, dimension: int) -> str:
    pieces = _clipped(layer, frame, dimension)
    lines = [ring for piece in pieces for ring in (shapely.get_rings(piece) if dimension == 2 else [piece])]
    return " ".join(_path(line, pixels) for line in lines)


def _path(line: shapely.Geometry, pixels: Pixels) -> str:
    places = np.round(pixels(shapely.get_coordinates(line)), 1)
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in places)


def _names(roads: gpd.GeoDataFrame, frame: shapely.Polygon, pixels: Pixels, run: shapely.Geometry) -> Markup:
    """The name of each road once, on its longest piece in the frame: at its middle, or beside the run."""
    if "road" not in roads or not len(roads):
        return fill("")
    near = roads[roads.geometry.intersects(frame) & roads["road"].notna()]
    drawn = []
    for name, own in near.groupby("road", sort=True):
        pieces = _clipped(own, frame, 1)
        if not pieces:
            continue
        longest = [max(pieces, key=shapely.length)]
        spots = shapely.line_interpolate_point(longest, np.array(NAME_SPOTS), normalized=True)
        far = np.flatnonzero(shapely.distance(spots, run) > NAME_APART * (frame.bounds[2] - frame.bounds[0]))
        x, y = pixels(shapely.get_coordinates(spots[far[0] if len(far) else 0]))[0]
        drawn.append(
            fill(
                '<text x="{x}" y="{y}" font-size="17" text-anchor="middle" fill="#252525" stroke="#fdfcf8" '
                'stroke-width="3" paint-order="stroke">{name}</text>',
                x=round(float(np.clip(x, 90, WIDTH_PX - 90)), 1),
                y=round(float(np.clip(y - 12, 20, HEIGHT_PX - 40)), 1),
                name=name,
            )
        )
    return joined(drawn)


def _bar(scale: float) -> Markup:
    length_m = max((bar for bar in SCALE_BARS_M if bar * scale < WIDTH_PX / 3.0), default=SCALE_BARS_M[0])
    return fill(
        '<path d="M16 {y}h{w}" stroke="#252525" stroke-width="3"/>'
        '<text x="16" y="{above}" font-size="17">{length} m</text>',
        y=int(HEIGHT_PX) - 12,
        above=int(HEIGHT_PX) - 19,
        w=round(length_m * scale, 1),
        length=length_m,
    )
