"""The placemarks of a KML file, by folder: texts, shape and original."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from roadwatch.records.readers.gpx import parse_xml
from roadwatch.records.readers.kml_shapes import coordinates_as_written, shape_of
from roadwatch.records.readers.plain_text import is_markup, text_of_markup
from roadwatch.records.readers.wording import unfit

if TYPE_CHECKING:
    from collections.abc import Iterator
    from xml.etree.ElementTree import Element

    from shapely.geometry.base import BaseGeometry

_CONTAINERS = frozenset({"kml", "Document", "Folder"})
_PLAIN_CHILDREN = {"name": "name", "description": "description", "address": "address", "phoneNumber": "phone"}
_TIMES = {("TimeStamp", "when"): "time", ("TimeSpan", "begin"): "time", ("TimeSpan", "end"): "time_end"}

Row = dict[str, str | None]


@dataclass
class Placemark:
    """
    One placemark.

    Parameters
    ----------
    number
        Its place in the file, from 1.
    row
        Its texts by column.
    shape
        Flat, longitude and latitude; None where it has none or it cannot be read.
    original
        The placemark as one line of JSON.
    has_broken_shape
        It has coordinates that cannot be read.
    """

    number: int
    row: Row
    shape: BaseGeometry | None
    original: str
    has_broken_shape: bool = False

    @property
    def is_empty(self) -> bool:
        """It has neither a place nor any word."""
        return self.shape is None and not self.has_broken_shape and not any(self.row.values())


@dataclass
class Placemarks:
    """Placemarks by the path of their folder and whether they are recorded tracks, and what else the file holds."""

    parts: dict[tuple[str, bool], list[Placemark]] = field(default_factory=dict)
    n_links: int = 0
    n_placemarks: int = 0
    n_markup: int = 0
    n_empty: int = 0


def placemarks_of(body: bytes, *, source: str) -> Placemarks:
    """
    Take the placemarks out of the text of a KML file.

    Raises
    ------
    UnfitFileError
        The text is broken, declares a document type, or holds no placemark.
    """
    found = Placemarks()
    for element, folder in _walk(parse_xml(body, source=source, root_name="kml")):
        if _tag(element) == "Placemark":
            found.n_placemarks += 1
            placemark = _placemark(element, found)
            if placemark.is_empty:
                found.n_empty += 1
                continue
            part = (folder, "started_at" in placemark.row)
            found.parts.setdefault(part, []).append(placemark)
        else:
            found.n_links += 1
    if not found.parts:
        raise unfit(
            source,
            found=f"a KML file without placemarks{', only links to others' if found.n_links else ''}",
            expected="at least one placemark",
            cure="save the places themselves, not a link to them",
        )
    return found


def _walk(root: Element) -> Iterator[tuple[Element, str]]:
    """Placemarks and links in the order of the file, each with the path of its folder; no recursion, files may nest."""
    waiting = [(root, "")]
    while waiting:
        element, folder = waiting.pop()
        tag = _tag(element)
        if tag in ("Placemark", "NetworkLink"):
            yield element, folder
        elif tag in _CONTAINERS:
            name = _child_text(element, "name") if tag == "Folder" else None
            inner = "/".join(filter(None, (folder, name)))[-200:]
            waiting.extend((child, inner) for child in reversed(element))


def _placemark(element: Element, found: Placemarks) -> Placemark:
    row: Row = {}
    for child in element:
        tag = _tag(child)
        if tag in _PLAIN_CHILDREN:
            row[_PLAIN_CHILDREN[tag]] = _blank(child.text)
        elif tag == "ExtendedData":
            _take_extended(child, row)
        elif tag in ("TimeStamp", "TimeSpan"):
            for part in child:
                row.setdefault(_TIMES.get((tag, _tag(part)), _tag(part)), _blank(part.text))
    shape, is_broken = shape_of(element, row)
    wkt = shape.wkt if shape else None
    geometry = coordinates_as_written(element) if is_broken else wkt
    original = json.dumps(
        {**{name: cell for name, cell in row.items() if cell}, "geometry": geometry}, ensure_ascii=False
    )
    description = row.get("description")
    if description and is_markup(description):
        row["description"] = text_of_markup(description)
        found.n_markup += 1
    return Placemark(found.n_placemarks, row, shape, original, is_broken)


def _take_extended(extended: Element, row: Row) -> None:
    """``Data`` with a ``value``, and ``SimpleData`` in a ``SchemaData``, are columns of their names."""
    counts: Counter[str] = Counter()
    for child in extended:
        tag = _tag(child)
        if tag == "Data":
            put_text(row, child.get("name"), _child_text(child, "value"), counts)
        elif tag == "SchemaData":
            for simple in child:
                if _tag(simple) == "SimpleData":
                    put_text(row, simple.get("name"), _blank(simple.text), counts)


def put_text(row: Row, name: str | None, value: str | None, counts: Counter[str]) -> None:
    """A name that stands more than once keeps every value."""
    if not name or not value:
        return
    counts[name] += 1
    copy = counts[name] + (name in row and counts[name] == 1)
    row[name if copy == 1 else f"{name} ({copy})"] = value
    counts[name] = copy


def _tag(element: Element) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def _child_text(element: Element, name: str) -> str | None:
    return next((_blank(child.text) for child in element if _tag(child) == name), None)


def _blank(text: str | None) -> str | None:
    return (text or "").replace("\x00", "").strip() or None
