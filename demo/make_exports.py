"""Write what devices export: GPX waypoints and tracks, and a phone's GeoJSON."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from make_animals import TIMEZONE, Report
from make_county import latitude, longitude
from make_rows import Fault, canonical

if TYPE_CHECKING:
    from pathlib import Path

    from make_seasons import Search

GPX_HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="Roadwatch demo, invented data" '
    'xmlns="http://www.topografix.com/GPX/1/1">\n<metadata><desc>Invented data for a demo; no real place.</desc>'
    "</metadata>\n"
)


def _utc(when: datetime) -> str:
    return when.replace(tzinfo=TIMEZONE).astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def write_waypoints(folder: Path, reports: list[Report]) -> list[Fault]:
    """A hand-held GPS that is lent round: animal as name, the rest as comment; one point has no fix."""
    places = [(report.longitude, report.latitude, report) for report in reports]
    places.insert(6, (0.0, 0.0, reports[6]))
    lines = [_waypoint(k, *place) for k, place in enumerate(places, 1)]
    (folder / "waypoints_2024.gpx").write_bytes((GPX_HEAD + "\n".join(lines) + "\n</gpx>\n").encode())
    return [Fault("waypoints_2024.gpx", 7, "", "saved without a fix: latitude 0, longitude 0")]


def _waypoint(number: int, lon: float, lat: float, report: Report) -> str:
    """Every third waypoint kept the serial name that the receiver gave it; then the comment names the animal."""
    name, comment = report.written, f"{report.condition}; {report.notes}"
    if number % 3 == 0:
        name, comment = f"{number:03d}", f"{report.written}, {comment}"
    where = f'<wpt lat="{lat:.6f}" lon="{lon:.6f}"><time>{_utc(report.when)}</time>'
    return f"{where}<name>{escape(name)}</name><cmt>{escape(comment)}</cmt></wpt>"


def write_track(path: Path, search: Search) -> None:
    """A search as a GPX track: one point every hundred metres or so, at an even pace."""
    assert search.track is not None
    step = (search.end - search.start) / max(1, len(search.track) - 1)
    points = "\n".join(
        f'<trkpt lat="{latitude(y):.6f}" lon="{longitude(x):.6f}"><time>{_utc(search.start + k * step)}</time></trkpt>'
        for k, (x, y) in enumerate(search.track)
    )
    head = f"<trk><name>{search.search_id}</name><desc>invented search</desc><type>{search.method}</type><trkseg>\n"
    path.write_bytes((GPX_HEAD + head + points + "\n</trkseg></trk>\n</gpx>\n").encode())


def write_phone(folder: Path, reports: list[Report], *, sparse: list[str]) -> list[Fault]:
    """
    A phone's export: GeoJSON points with the project's own columns; one was saved without a place.

    Records that are also in a table carry only what that table has, so that both say the same.
    """
    features: list[dict[str, object]] = []
    for report in reports:
        if report.record_id in sparse:
            kept = {key: report.more.get(key, "") for key in ("life_stage", "sex")}
            report = replace(report, id_confidence="", more=kept)  # noqa: PLW2901  the same report, told with less
        row = {key: value for key, value in canonical(report).items() if value and not key.endswith("itude")}
        geometry = {"type": "Point", "coordinates": [report.longitude, report.latitude]}
        features.append({"type": "Feature", "properties": row, "geometry": geometry})
    lost = canonical(replace(reports[9], record_id="INV-FAULT-2025-9"))
    properties = {key: value for key, value in lost.items() if value and not key.endswith("itude")}
    features.insert(9, {"type": "Feature", "properties": properties, "geometry": None})
    lines = ",\n".join(json.dumps(item, separators=(",", ":")) for item in features)
    text = f'{{"type":"FeatureCollection","name":"invented_phone_export","features":[\n{lines}\n]}}\n'
    (folder / "phone_2025.geojson").write_bytes(text.encode())
    return [Fault("phone_2025.geojson", 10, "geometry", "saved without a place: geometry is null")]
