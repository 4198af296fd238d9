"""Shapes of KML placemarks: points, lines, areas, their collections, and recorded tracks."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Callable
    from xml.etree.ElementTree import Element

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

_SHAPES = frozenset({"Point", "LineString", "LinearRing", "Polygon", "MultiGeometry", "Track", "MultiTrack"})
_COLLECTIONS = ("MultiGeometry", "MultiTrack")


def shape_of(placemark: Element, row: dict[str, str | None]) -> tuple[BaseGeometry | None, bool]:
    """
    Read the shape of a placemark; a recorded track also gives its first and last time.

    Parameters
    ----------
    placemark
        The element.
    row
        Its cells; ``started_at`` and ``ended_at`` of a track, and ``altitude`` of a point, are put in.

    Returns
    -------
    The flat shape, None where there is none; and whether its coordinates cannot be read.
    """
    parts = [_simple(element, row) for element in _simple_shapes(placemark)]
    if not parts:
        return None, False
    whole = [part for part in parts if part is not None]
    if len(whole) < len(parts):
        return None, True
    return _joined(whole), False


def _simple_shapes(placemark: Element) -> list[Element]:
    """Points, lines, areas and tracks, also those within collections; no recursion, because files may nest."""
    found: list[Element] = []
    waiting = [child for child in reversed(placemark) if _tag(child) in _SHAPES]
    while waiting:
        element = waiting.pop()
        if _tag(element) in _COLLECTIONS:
            waiting.extend(child for child in reversed(element) if _tag(child) in _SHAPES)
        else:
            found.append(element)
    return found


def _simple(element: Element, row: dict[str, str | None]) -> BaseGeometry | None:
    tag = _tag(element)
    if tag == "Track":
        return _track(element, row)
    if tag == "Polygon":
        return _polygon(element)
    xyz = _coordinates(_texts(element, "coordinates"))
    if xyz is None or len(xyz) < (1 if tag == "Point" else 2):
        return None
    if tag != "Point":
        return shapely.LineString(xyz[:, :2])
    if len(xyz) != 1:
        return None
    if xyz[0, 2]:
        row.setdefault("altitude", f"{xyz[0, 2]:g}")
    return shapely.Point(xyz[0, :2])


def _polygon(element: Element) -> BaseGeometry | None:
    rings = [
        _coordinates(_texts(ring, "coordinates"))
        for boundary in element
        if _tag(boundary) in ("outerBoundaryIs", "innerBoundaryIs")
        for ring in boundary
        if _tag(ring) == "LinearRing"
    ]
    if not rings or any(ring is None or len(ring) < 3 for ring in rings):
        return None
    outer, *holes = [ring[:, :2] for ring in rings if ring is not None]
    return shapely.Polygon(outer, holes)


def _track(element: Element, row: dict[str, str | None]) -> BaseGeometry | None:
    """``gx:Track``: one ``when`` and one ``coord`` (numbers parted by blanks) for each fix."""
    times = [text.strip() for text in _texts(element, "when") if text.strip()]
    row["started_at"] = min([*filter(None, [row.get("started_at")]), *times], default=None)
    row["ended_at"] = max([*filter(None, [row.get("ended_at")]), *times], default=None)
    xyz = _coordinates([",".join(text.split()) for text in _texts(element, "coord")])
    return None if xyz is None or len(xyz) < 2 else shapely.LineString(xyz[:, :2])


def _coordinates(texts: list[str]) -> NDArray[np.float64] | None:
    """Longitude, latitude and altitude of each tuple: (n, 3); None where one cannot be read."""
    tuples = [one.split(",") for text in texts for one in text.split()]
    if any(len(one) not in (2, 3) for one in tuples):
        return None
    try:
        xyz = np.array([[*map(float, one), 0.0][:3] for one in tuples], dtype=np.float64).reshape(-1, 3)
    except ValueError:
        return None
    return xyz if np.isfinite(xyz).all() else None


def _joined(parts: list[BaseGeometry]) -> BaseGeometry:
    """One shape as it is, several of a kind as their multi form, others as a collection."""
    if len(parts) == 1:
        return parts[0]
    makers: dict[frozenset[str], Callable[[NDArray[np.object_]], object]] = {
        frozenset({"Point"}): shapely.multipoints,
        frozenset({"LineString"}): shapely.multilinestrings,
        frozenset({"Polygon"}): shapely.multipolygons,
    }
    make = makers.get(frozenset(part.geom_type for part in parts), shapely.geometrycollections)
    return cast("BaseGeometry", make(np.array(parts, dtype=object)))


def coordinates_as_written(placemark: Element) -> str:
    """Every coordinate of a placemark, verbatim, for one whose shape cannot be read."""
    texts = (element.text or "" for element in placemark.iter() if _tag(element) in ("coordinates", "coord"))
    return " ".join(" ".join(texts).split())


def _texts(element: Element, name: str) -> list[str]:
    return [child.text or "" for child in element if _tag(child) == name]


def _tag(element: Element) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""
