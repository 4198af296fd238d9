"""A still picture of the map for paper and for readers without scripts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from roadwatch.render.legend import INK, NEST_STATES, POST, SAVED, STRENGTHS, UNKNOWN_STRENGTH, strength_of
from roadwatch.render.printed_dots import crossing_dots
from roadwatch.render.safe_text import fill, joined
from roadwatch.render.saved import stop_numbers
from roadwatch.render.shapes import in_degrees
from roadwatch.units import METRES_PER_MILE

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd
    from markupsafe import Markup
    from numpy.typing import NDArray

    from roadwatch.render.content import MapContent
    from roadwatch.share.map_parts import DrawnResult

WIDTH_PX = 720.0
BADGE_UP_PX = 15.0
PRINT_WIDTH = 0.5
STILL_WORDS = (
    "The still map shows roads, water, crossings (dead square, others round), numbered hotspots and, for the team, "
    "nests. Not for navigation."
)
SAVED_WORDS = " Saved fence runs are double lines, saved signs plates on a post, stops of rounds numbered rings."
MERGED_WORDS = " Crossings closer together than one dot of the picture are one dot."


SCALE_PX = 150.0
METRES_PER_DEGREE = 111_195.0
"""A degree of latitude on a sphere of 6,371 km: good to half a percent, which is finer than the bar is drawn."""
ROUND_LENGTHS = (0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500)

_FENCE = (
    '<path d="{path}" fill="none" stroke="{ink}" stroke-width="5"/>'
    '<path d="{path}" fill="none" stroke="{colour}" stroke-width="2.5" stroke-dasharray="7 1.5"/>'
)
_POST = (
    '<path d="{path}" transform="translate({x} {y}) scale(.6) translate(-9 -18)" fill="{colour}" stroke="{ink}" '
    'stroke-width="1.5"/>'
)
_STOP = (
    '<circle cx="{x}" cy="{y}" r="6" fill="#ffffff" stroke="{colour}" stroke-width="2"/>'
    '<text x="{x}" y="{y}" dy="3" font-size="8" font-family="sans-serif" text-anchor="middle" fill="{ink}">{stop}'
    "</text>"
)


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
    crossings = content.places.crossings
    dots, merged = crossing_dots(crossings, frame.pixels(shapely.get_coordinates(crossings.geometry.to_numpy())))
    parts = [
        *_scale_bars(frame),
        _layer(content.water, frame, area="#d5e4e8", stroke="#7ea3ad"),
        _layer(content.roads, frame, area="none", stroke="#6d6658"),
        *dots,
        *_hotspots(content.hotspots.table, frame),
        *_saved(content.drawn, frame),
        *_nests(content.places.nests, frame),
    ]
    words = STILL_WORDS + (SAVED_WORDS if content.drawn else "") + (MERGED_WORDS if merged else "")
    return fill(
        '<figure class="printed"><svg viewBox="0 0 {width} {height}" role="img" aria-label="Still map of roads, water '
        'and numbered hotspots"><rect width="{width}" height="{height}" fill="#fdfcf8" stroke="#8a8272"/>{parts}</svg>'
        "<figcaption>{words}</figcaption></figure>",
        words=words,
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


def _scale_bars(frame: Frame) -> list[Markup]:
    """The longest round number of kilometres and of miles that fits, low on the left."""
    per_km = frame.per_degree_north * 1000 / METRES_PER_DEGREE
    drawn = []
    for unit, per_unit, above in (("km", per_km, 22), ("mi", per_km * METRES_PER_MILE / 1000, 8)):
        length = max((one for one in ROUND_LENGTHS if one * per_unit <= SCALE_PX), default=ROUND_LENGTHS[0])
        drawn.append(
            fill(
                '<path d="M10 {y}v-4h{long}v4" fill="none" stroke="{ink}"/><text x="{after}" y="{y}" font-size="10" '
                'font-family="sans-serif" fill="{ink}">{words}</text>',
                y=round(frame.height - above, 1),
                long=round(length * per_unit, 1),
                after=round(15 + length * per_unit, 1),
                ink=INK,
                words=f"{length:g} {unit}",
            )
        )
    return drawn


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


def _saved(drawn: Sequence[DrawnResult], frame: Frame) -> list[Markup]:
    """Saved results in the order of their layers."""
    colours = {sign.key: sign.colour for sign in SAVED}
    return [piece for result in drawn for piece in _saved_result(result, frame, colours[result.kind])]


def _saved_result(result: DrawnResult, frame: Frame, colour: str) -> list[Markup]:
    table = in_degrees(result.table)
    parts = shapely.get_parts(table.geometry.to_numpy()) if len(table) else np.array([], dtype=object)
    lines = parts[shapely.get_dimensions(parts) == 1]
    drawn = [fill(_FENCE, path=_path(line, frame), ink=INK, colour=colour) for line in lines if not line.is_empty]
    places = frame.pixels(shapely.get_coordinates(parts[shapely.get_type_id(parts) == 0]))
    stops = stop_numbers(table) if result.kind == "rounds" else [""] * len(places)
    shape = _STOP if result.kind == "rounds" else _POST
    return drawn + [
        fill(shape, x=round(float(x), 1), y=round(float(y), 1), path=POST, ink=INK, colour=colour, stop=stop)
        for (x, y), stop in zip(places, stops, strict=False)
    ]


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
