"""KML and KMZ: every folder a table; points are rows, lines and areas their WKT, recorded tracks are searches."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import pyproj

from roadwatch.records.readers.archives import is_shown, opened_archive
from roadwatch.records.readers.content import name_of, read_bytes
from roadwatch.records.readers.features import feature_table
from roadwatch.records.readers.gpx import parse_xml
from roadwatch.records.readers.headed import refuse_odd_columns
from roadwatch.records.readers.kml_shapes import coordinates_as_written, shape_of
from roadwatch.records.readers.limits import FREE_SHEET_MB, LARGEST_XML_MB, MOST_TABLES, MOST_TIMES_PACKED
from roadwatch.records.readers.plain_text import is_markup, text_of_markup
from roadwatch.records.readers.wording import unfit
from roadwatch.records.tables import RawTable, RowFault

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path
    from xml.etree.ElementTree import Element

    from shapely.geometry.base import BaseGeometry

    from roadwatch.records.fields import Kind

_CONTAINERS = frozenset({"kml", "Document", "Folder"})
_PLAIN_CHILDREN = {"name": "name", "description": "description", "address": "address", "phoneNumber": "phone"}
_TIMES = {("TimeStamp", "when"): "time", ("TimeSpan", "begin"): "time", ("TimeSpan", "end"): "time_end"}

Row = dict[str, str | None]


@dataclass
class _Placemark:
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
class _Found:
    """Placemarks by the path of their folder and whether they are recorded tracks, and what else the file holds."""

    parts: dict[tuple[str, bool], list[_Placemark]] = field(default_factory=dict)
    n_links: int = 0
    n_placemarks: int = 0
    n_markup: int = 0
    n_empty: int = 0


def read_kml(path: Path) -> list[RawTable]:
    """
    Read the placemarks of a KML file.

    Returns
    -------
    One table for each folder that holds placemarks; lines count the placemarks of the file from 1.

    Raises
    ------
    UnfitFileError
        The file is cut short, declares a document type, or holds no placemark.

    Source
    ------
    kml23
    """
    source = name_of(path)
    return _tables(read_bytes(path, largest_mb=LARGEST_XML_MB), source=source)


def read_kmz(path: Path) -> list[RawTable]:
    """
    Read the KML files of a KMZ archive; pictures and other files in it are not looked at.

    Raises
    ------
    UnfitFileError
        The archive is damaged or made to harm, or one of its KML files cannot be read.

    Source
    ------
    kml23
    """
    source = name_of(path)
    bodies = kml_members(path)
    several = len(bodies) > 1
    return [
        table
        for name, body in bodies.items()
        for table in _tables(body, source=f"{source}, file {name}" if several else source)
    ]


def kml_members(path: Path) -> dict[str, bytes]:
    """
    The KML files of a KMZ archive, by name.

    Raises
    ------
    UnfitFileError
        The archive is damaged or made to harm, or a KML file in it is too large.
    """
    with opened_archive(path) as archive:
        members = [
            one for one in archive.infolist() if one.filename.lower().endswith(".kml") and is_shown(one.filename)
        ]
        n_bytes = sum(member.file_size for member in members)
        most = MOST_TIMES_PACKED["kmz"] * sum(member.compress_size for member in members)
        most = min(LARGEST_XML_MB * 1_000_000, max(FREE_SHEET_MB * 1_000_000, most))
        if n_bytes > most:
            raise unfit(
                name_of(path),
                found=f"{n_bytes / 1e6:.0f} MB of KML",
                expected=f"at most {most / 1e6:.0f} MB of it packed as it is",
                cure="export the folders one by one",
            )
        return {member.filename: archive.read(member) for member in members}


def _tables(body: bytes, *, source: str) -> list[RawTable]:
    found = _Found()
    for element, folder in _walk(parse_xml(body, source=source)):
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
    if len(found.parts) > MOST_TABLES:
        found.parts = _joined(found)
    return [
        _table(placemarks, found, source=_name_of_part(source, folder, is_track=is_track), is_track=is_track)
        for (folder, is_track), placemarks in found.parts.items()
    ]


def _name_of_part(source: str, folder: str, *, is_track: bool) -> str:
    return f"{source}{f', folder {folder}' if folder else ''}{', tracks' if is_track else ''}"


def _joined(found: _Found) -> dict[tuple[str, bool], list[_Placemark]]:
    """Too many folders become one, whose column ``folder`` tells them apart."""
    joined: dict[tuple[str, bool], list[_Placemark]] = {}
    for (folder, is_track), placemarks in found.parts.items():
        for placemark in placemarks:
            _put(placemark.row, "folder", folder, Counter())
        joined.setdefault(("", is_track), []).extend(placemarks)
    return joined


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


def _placemark(element: Element, found: _Found) -> _Placemark:
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
    return _Placemark(found.n_placemarks, row, shape, original, is_broken)


def _take_extended(extended: Element, row: Row) -> None:
    """``Data`` with a ``value``, and ``SimpleData`` in a ``SchemaData``, are columns of their names."""
    counts: Counter[str] = Counter()
    for child in extended:
        tag = _tag(child)
        if tag == "Data":
            _put(row, child.get("name"), _child_text(child, "value"), counts)
        elif tag == "SchemaData":
            for simple in child:
                if _tag(simple) == "SimpleData":
                    _put(row, simple.get("name"), _blank(simple.text), counts)


def _put(row: Row, name: str | None, value: str | None, counts: Counter[str]) -> None:
    """A name that stands more than once keeps every value."""
    if not name or not value:
        return
    counts[name] += 1
    copy = counts[name] + (name in row and counts[name] == 1)
    row[name if copy == 1 else f"{name} ({copy})"] = value
    counts[name] = copy


def _table(placemarks: list[_Placemark], found: _Found, *, source: str, is_track: bool) -> RawTable:
    kept = [placemark for placemark in placemarks if not placemark.has_broken_shape]
    names = list(dict.fromkeys(name for placemark in kept for name, cell in placemark.row.items() if cell))
    refuse_odd_columns(names, source=source)
    shapes = np.full(len(kept), None, dtype=object)
    shapes[:] = [placemark.shape for placemark in kept]
    table = feature_table(
        source,
        shapes,
        {name: [placemark.row.get(name) for placemark in kept] for name in names},
        crs=pyproj.CRS("OGC:CRS84"),
        lines=np.array([placemark.number for placemark in kept], dtype=np.int64),
        notes=("format: KML", *_notes(found)),
    )
    faults = [_broken(source, placemark) for placemark in placemarks if placemark.has_broken_shape]
    originals = [placemark.original for placemark in kept]
    kind: Kind | None = "searches" if is_track else None
    rows = table.rows.rename(columns={"name": "search_id", "wkt": "track"}) if is_track else table.rows
    return RawTable(source, rows, table.lines, originals, table.notes, tuple(faults), kind)


def _notes(found: _Found) -> Iterator[str]:
    if found.n_links:
        yield f"{found.n_links} links to other files, which are never followed"
    if found.n_empty:
        yield f"{found.n_empty} placemarks without a place or any word left out"
    if found.n_markup:
        yield f"{found.n_markup} descriptions hold marked-up text, read as plain text and kept as written"


def _broken(source: str, placemark: _Placemark) -> RowFault:
    reason = "the coordinates cannot be read; write longitude,latitude with a comma between them and a point in each"
    return RowFault(source, placemark.number, placemark.original, "geometry", placemark.original[:60], reason)


def _tag(element: Element) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def _child_text(element: Element, name: str) -> str | None:
    return next((_blank(child.text) for child in element if _tag(child) == name), None)


def _blank(text: str | None) -> str | None:
    return (text or "").replace("\x00", "").strip() or None
