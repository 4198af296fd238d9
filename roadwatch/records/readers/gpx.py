"""GPX: waypoints are sightings, recorded tracks are searches; planned routes are neither."""

from __future__ import annotations

import json
from pathlib import PurePath
from typing import TYPE_CHECKING
from xml.etree.ElementTree import ParseError

import defusedxml.ElementTree
from defusedxml.common import DefusedXmlException

from roadwatch.records.readers.content import name_of, read_bytes
from roadwatch.records.readers.limits import LARGEST_XML_MB, MOST_TAGS
from roadwatch.records.readers.numbers import as_number
from roadwatch.records.readers.wording import counted, unfit
from roadwatch.records.tables import RawTable, RowFault

if TYPE_CHECKING:
    from pathlib import Path
    from xml.etree.ElementTree import Element

_METHODS = {
    **dict.fromkeys(("foot", "on foot", "walk", "walking", "hiking", "hike"), "foot"),
    **dict.fromkeys(("bicycle", "bike", "biking", "cycling"), "bicycle"),
    **dict.fromkeys(("car", "driving", "drive", "vehicle"), "car"),
}
"""What a track's type may say of the way it was travelled."""
_POINT_TEXTS = ("time", "name", "cmt", "desc", "sym", "type", "ele")


def read_gpx(path: Path) -> list[RawTable]:
    """
    Read the waypoints of a GPX file as crossings and its tracks as searches.

    Returns
    -------
    One or two tables; lines count waypoints and tracks from 1.

    Raises
    ------
    UnfitFileError
        The file is cut short, declares a document type, or holds neither waypoints nor tracks.

    Source
    ------
    gpx11
    """
    source = name_of(path)
    root = parse_xml(read_bytes(path, largest_mb=LARGEST_XML_MB), source=source, root_name="gpx")
    waypoints = _children(root, "wpt")
    tracks = _children(root, "trk")
    n_routes = len(_children(root, "rte"))
    notes = (f"{counted(n_routes, 'route')} left out: a route is planned, not travelled",) if n_routes else ()
    tables = []
    if waypoints:
        tables.append(_waypoint_table(waypoints, source=f"{source}, waypoints" if tracks else source, notes=notes))
    if tracks:
        tables.append(
            _track_table(tracks, source=f"{source}, tracks" if waypoints else source, notes=() if waypoints else notes)
        )
    if not tables:
        raise unfit(
            source,
            found="a GPX file without waypoints or tracks",
            expected="waypoints (sightings) or tracks (searches)",
            cure="export the waypoints from the receiver again",
        )
    return tables


def parse_xml(body: bytes, *, source: str, root_name: str) -> Element:
    """
    Parse XML that strangers wrote: no document type, no entities, no external files.

    Raises
    ------
    UnfitFileError
        It is not well-formed, declares a document type, holds too many tags, or its root element has another name.
    """
    if body.count(b"<") > MOST_TAGS:
        raise unfit(source, found=f"more than {MOST_TAGS} tags", expected="fewer", cure="split the file")
    try:
        root: Element = defusedxml.ElementTree.fromstring(body, forbid_dtd=True)
    except DefusedXmlException as error:
        raise unfit(
            source,
            found="a document type declaration, which can hide other files",
            expected="plain XML without one",
            cure="export the file again from the receiver or map program",
        ) from error
    except (ParseError, ValueError, LookupError) as error:
        raise unfit(
            source,
            found=f"XML that is broken or cut short ({error})",
            expected="a complete file",
            cure="copy or export the file again",
        ) from error
    if _tag(root).lower() != root_name:
        raise unfit(
            source,
            found=f"XML with the root element {_tag(root)[:40]!r}",
            expected=f"the root element {root_name}",
            cure="export the records again from the receiver or map program",
        )
    return root


def _waypoint_table(waypoints: list[Element], *, source: str, notes: tuple[str, ...]) -> RawTable:
    cells = [
        {"longitude": point.get("lon"), "latitude": point.get("lat"), **_texts(point, _POINT_TEXTS)}
        for point in waypoints
    ]
    names = ["longitude", "latitude", *(name for name in _POINT_TEXTS if any(row.get(name) for row in cells))]
    columns = {name: [_blank(row.get(name)) for row in cells] for name in names}
    if "time" in columns:
        columns["time"], n_bare = _as_utc(columns["time"])
        notes += (f"{counted(n_bare, 'time')} without an offset taken as UTC, as GPX prescribes",) if n_bare else ()
    return RawTable.of_columns(
        source,
        columns,
        lines=list(range(1, len(cells) + 1)),
        originals=[json.dumps(row, ensure_ascii=False) for row in cells],
        notes=("format: GPX, waypoints taken as crossings", *notes),
        kind="crossings",
    )


def _track_table(tracks: list[Element], *, source: str, notes: tuple[str, ...]) -> RawTable:
    rows: list[dict[str, str | None]] = []
    lines: list[int] = []
    faults: list[RowFault] = []
    used: set[str | None] = set()
    for number, track in enumerate(tracks, start=1):
        row = _track_row(track, fallback=f"{PurePath(source.removesuffix(', tracks')).stem} {number}")
        if row["track"] is None:
            faults.append(_no_line(source, number, row))
            continue
        if row["search_id"] in used:
            row["search_id"] = f"{row['search_id']} ({number})"
        used.add(row["search_id"])
        rows.append(row)
        lines.append(number)
    names = ("search_id", "started_at", "ended_at", "method", "track", "notes")
    return RawTable.of_columns(
        source,
        {name: [row[name] for row in rows] for name in names},
        lines=lines,
        originals=[json.dumps(row, ensure_ascii=False) for row in rows],
        notes=(
            "format: GPX, tracks taken as searches; the method of travel is blank where no track type tells it",
            *notes,
        ),
        faults=tuple(faults),
        kind="searches",
    )


def _track_row(track: Element, *, fallback: str) -> dict[str, str | None]:
    segments = [_children(segment, "trkpt") for segment in _children(track, "trkseg")]
    times = [time for segment in segments for point in segment if (time := _text(point, "time"))]
    stamped, _ = _as_utc([min(times), max(times)]) if times else ([None, None], 0)
    kind = _text(track, "type")
    method = _METHODS.get(kind.lower()) if kind else None
    about = [text for text in (_text(track, "cmt"), _text(track, "desc"), kind if method is None else None) if text]
    return {
        "search_id": _text(track, "name") or fallback,
        "started_at": stamped[0],
        "ended_at": stamped[1],
        "method": method,
        "track": _line_wkt(segments),
        "notes": "; ".join(about) or None,
    }


def _line_wkt(segments: list[list[Element]]) -> str | None:
    """Each segment with two points or more is a line; a gap between segments was not travelled."""
    lines = [line for segment in segments if len(line := _positions(segment)) >= 2]
    if not lines:
        return None
    texts = ["(" + ", ".join(line) + ")" for line in lines]
    return f"LINESTRING {texts[0]}" if len(texts) == 1 else f"MULTILINESTRING ({', '.join(texts)})"


def _positions(points: list[Element]) -> list[str]:
    pairs = [(as_number(point.get("lon")), as_number(point.get("lat"))) for point in points]
    return [f"{lon!r} {lat!r}" for lon, lat in pairs if abs(lon) <= 180 and abs(lat) <= 90]


def _no_line(source: str, number: int, row: dict[str, str | None]) -> RowFault:
    return RowFault(
        source=source,
        line=number,
        original=json.dumps(row, ensure_ascii=False),
        column="track",
        found="fewer than two points",
        reason=f"track {row['search_id']!r} has fewer than two usable points; a search needs the line travelled",
    )


def _as_utc(times: list[str | None]) -> tuple[list[str | None], int]:
    bare = [bool(time and "T" in time and not time.endswith("Z") and "+" not in time[10:] and "-" not in time[10:])
            for time in times]  # fmt: skip
    return [f"{time}Z" if is_bare else time for time, is_bare in zip(times, bare, strict=True)], sum(bare)


def _children(parent: Element, name: str) -> list[Element]:
    return [child for child in parent if _tag(child) == name]


def _tag(element: Element) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def _text(parent: Element, name: str) -> str | None:
    found = _children(parent, name)
    return _blank(found[0].text) if found else None


def _texts(parent: Element, names: tuple[str, ...]) -> dict[str, str]:
    texts: dict[str, str] = {}
    for child in parent:
        name = _tag(child)
        if name in names and (text := _blank(child.text)):
            texts.setdefault(name, text)
    return texts


def _blank(text: str | None) -> str | None:
    return (text.strip() or None) if text else None
