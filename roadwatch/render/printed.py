"""A still picture of the map for paper and for readers without scripts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from roadwatch.render.layers import in_degrees
from roadwatch.render.legend import CONDITIONS, INK, NEST_STATES, STRENGTHS, UNKNOWN_STRENGTH, strength_of
from roadwatch.render.safe_text import fill, joined

if TYPE_CHECKING:
    import geopandas as gpd
    from markupsafe import Markup
    from numpy.typing import NDArray

    from roadwatch.render.content import MapContent

WIDTH_PX = 720.0
BADGE_UP_PX = 15.0
PRINT_WIDTH = 0.5
STILL_WORDS = (
    "The still map shows roads, water, crossings (dead square, others round), numbered hotspots and, for the team, "
    "nests. Not for navigation."
)
DOT_PX, CASING_PX = 5, 1.5


@dataclass(frozen=True)
class Frame:
    """West and north edge, and pixels per degree east and north: a plane map true to scale at its middle."""

    west: float
    north: float
    per_degree_east: float
    per_degree_north: float
    height: float

    def pixels(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Longitude and latitude to x and y on paper, (n, 2) each."""
        return np.column_stack(
            [(points[:, 0] - self.west) * self.per_degree_east, (self.north - points[:, 1]) * self.per_degree_north]
        )


def still_map(content: MapContent, bounds: list[float]) -> Markup:
    """
    Draw roads, water, crossings, hotspots with their ranks, and for the team the nests.

    Parameters
    ----------
    content
        What the page shows.
    bounds
        West, south, east, north in degrees.

    Returns
    -------
    A ``figure`` element without a style, script or link.
    """
    frame = _frame(bounds)
    parts = [
        _layer(content.water, frame, area="#d5e4e8", stroke="#7ea3ad"),
        _layer(content.roads, frame, area="none", stroke="#6d6658"),
        *_crossings(content.places.crossings, frame),
        *_hotspots(content.hotspots.table, frame),
        *_nests(content.places.nests, frame),
    ]
    return fill(
        '<figure class="printed"><svg viewBox="0 0 {width} {height}" role="img" aria-label="Still map of roads, water '
        'and numbered hotspots"><rect width="{width}" height="{height}" fill="#fdfcf8" stroke="#8a8272"/>{parts}</svg>'
        "<figcaption>{words}</figcaption></figure>",
        words=STILL_WORDS,
        width=int(WIDTH_PX),
        height=int(frame.height),
        parts=joined(parts),
    )


def _frame(bounds: list[float]) -> Frame:
    west, south, east, north = bounds
    margin = 0.03 * max(east - west, north - south, 1e-4)
    west, south, east, north = west - margin, south - margin, east + margin, north + margin
    per_degree_east = WIDTH_PX / (east - west)
    per_degree_north = per_degree_east / max(math.cos(math.radians((south + north) / 2)), 0.1)
    height = (north - south) * per_degree_north
    shrink = min(1.0, 900.0 / height)
    return Frame(west, north, per_degree_east * shrink, per_degree_north * shrink, height * shrink)


def _layer(layer: gpd.GeoDataFrame, frame: Frame, *, area: str, stroke: str) -> Markup:
    """Lines and outlines of a layer, its areas filled; points are left out."""
    parts = shapely.get_parts(in_degrees(layer).geometry.to_numpy()) if len(layer) else np.array([], dtype=object)
    dimensions = shapely.get_dimensions(parts)
    lines, rings = parts[dimensions == 1], shapely.get_rings(parts[dimensions == 2])  # polygons
    return fill(
        '<path d="{areas}" fill="{area}" fill-rule="evenodd" stroke="{stroke}"/>'
        '<path d="{lines}" fill="none" stroke="{stroke}" stroke-width="1.1"/>',
        areas=" ".join(_path(ring, frame) for ring in rings),
        lines=" ".join(_path(line, frame) for line in lines if not line.is_empty),
        area=area,
        stroke=stroke,
    )


def _path(piece: shapely.Geometry, frame: Frame) -> str:
    corners = shapely.linestrings(frame.pixels(shapely.get_coordinates(piece)))
    places = np.rint(shapely.get_coordinates(shapely.simplify(corners, 0.5)) * 10) / 10
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in places)


def _crossings(crossings: gpd.GeoDataFrame, frame: Frame) -> list[Markup]:
    """Every crossing as a dot in one line of its condition: thousands stay a few kilobytes."""
    drawn = []
    places = frame.pixels(shapely.get_coordinates(crossings.geometry.to_numpy()))
    conditions = crossings["condition"].fillna("unknown") if "condition" in crossings.columns else []
    for sign in CONDITIONS:
        own = places[[condition == sign.key for condition in conditions]] if len(conditions) else places[:0]
        if len(own):
            dots = "".join(f"M{x:.1f} {y:.1f}h0" for x, y in own)
            cap = "square" if sign.key == "dead" else "round"
            drawn.append(
                fill(
                    '<path d="{dots}" fill="none" stroke="{ink}" stroke-width="{casing}" stroke-linecap="{cap}"/>'
                    '<path d="{dots}" fill="none" stroke="{colour}" stroke-width="{dot}" stroke-linecap="{cap}"/>',
                    dots=dots,
                    dot=DOT_PX,
                    ink=INK,
                    casing=DOT_PX + CASING_PX,
                    cap=cap,
                    colour=sign.colour,
                )
            )
    return drawn


def _hotspots(table: gpd.GeoDataFrame, frame: Frame) -> list[Markup]:
    drawn = []
    for row, line in zip(table.to_dict("records"), in_degrees(table).geometry, strict=True):
        place = strength_of(float(row.get("ratio", math.nan)))
        sign = STRENGTHS[place] if place >= 0 else UNKNOWN_STRENGTH
        path = " ".join(_path(part, frame) for part in shapely.get_parts(line))
        x, y = frame.pixels(shapely.get_coordinates(line.interpolate(0.5, normalized=True)))[0] - (0, BADGE_UP_PX)
        drawn.append(
            fill(
                '<path d="{path}" fill="none" stroke="{ink}" stroke-width="{casing}"/>'
                '<path d="{path}" fill="none" stroke="{colour}" stroke-width="{width}"/>'
                '<circle cx="{x}" cy="{y}" r="8" fill="#ffffff" stroke="{ink}"/>'
                '<text x="{x}" y="{base}" font-size="10" font-family="sans-serif" text-anchor="middle" '
                'fill="{ink}">{rank}</text>',
                path=path,
                ink=INK,
                casing=sign.width * PRINT_WIDTH + 2,
                colour=sign.colour,
                width=sign.width * PRINT_WIDTH,
                x=round(float(x), 1),
                y=round(float(y), 1),
                base=round(float(y) + 3.5, 1),
                rank=row.get("rank"),
            )
        )
    return drawn


def _nests(nests: gpd.GeoDataFrame, frame: Frame) -> list[Markup]:
    colours = {sign.key: sign.colour for sign in NEST_STATES}
    states = nests["window_state"] if "window_state" in nests.columns else []
    places = frame.pixels(shapely.get_coordinates(nests.geometry.to_numpy()))
    return [
        fill(
            '<ellipse cx="{x}" cy="{y}" rx="3" ry="4.5" fill="{colour}" stroke="{ink}" {dashed}/>',
            x=round(float(x), 1),
            y=round(float(y), 1),
            colour=colours[str(state)],
            dashed=fill('stroke-dasharray="2 1.5"' if state == "none" else ""),
            ink=INK,
        )
        for (x, y), state in zip(places, states, strict=True)
    ]
