"""A plan of nest rounds as GPX 1.1: a route for each person and day, for the team alone."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, SubElement, indent, tostring

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd

NAMESPACE = "http://www.topografix.com/GPX/1/1"
TEAM_WORDS = "Team only. This file holds exact places of nests. Do not pass it on."
_UNWRITABLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0 cannot hold."""


def rounds_routes(visits: pd.DataFrame, places: pd.DataFrame, *, as_of: date, cautions: tuple[str, ...] = ()) -> bytes:
    """
    Write a plan for navigation devices.

    Parameters
    ----------
    visits
        Rows with ``date nest_id observer order reason``.
    places
        For each nest ``longitude latitude access_longitude access_latitude``, degrees: its own place is a waypoint,
        where to leave the road a point of the route.
    as_of
        Day that the plan starts from; its midnight stands as the file's time.
    cautions
        Sentences put into the file's description.

    Returns
    -------
    The file; where people start is not in it.

    Source
    ------
    gpx11
    """
    root = Element("gpx", {"version": "1.1", "creator": "Roadwatch", "xmlns": NAMESPACE})
    metadata = SubElement(root, "metadata")
    _text(metadata, "name", "Nest rounds (team only)")
    _text(metadata, "desc", " ".join([TEAM_WORDS, *cautions]))
    _text(metadata, "time", f"{as_of.isoformat()}T00:00:00Z")
    where = places.drop_duplicates("nest_id").set_index("nest_id")
    for nest in sorted(set(visits["nest_id"])):
        point = _point(root, "wpt", where.loc[nest, "longitude"], where.loc[nest, "latitude"])
        _text(point, "name", str(nest))
        _text(point, "desc", "nest; team only")
    for number, ((day, observer), rows) in enumerate(visits.groupby(["date", "observer"], sort=True), start=1):
        route = SubElement(root, "rte")
        _text(route, "name", f"{day} {observer}")
        _text(route, "desc", TEAM_WORDS)
        _text(route, "number", str(number))
        for row in rows.sort_values("order", kind="stable").to_dict("records"):
            place = where.loc[row["nest_id"]]
            point = _point(route, "rtept", place["access_longitude"], place["access_latitude"])
            _text(point, "name", f"{row['order']} {row['nest_id']}")
            _text(point, "desc", str(row["reason"]))
        if len(rows) == 1:  # a route of one point is no line for most programs: it goes on to the nest
            _text(_point(route, "rtept", place["longitude"], place["latitude"]), "name", str(row["nest_id"]))
    indent(root)
    content: bytes = tostring(root, encoding="utf-8", xml_declaration=True)
    return content


def _point(parent: Element, name: str, longitude: object, latitude: object) -> Element:
    return SubElement(parent, name, {"lat": f"{latitude:.6f}", "lon": f"{longitude:.6f}"})


def _text(parent: Element, name: str, text: str) -> None:
    SubElement(parent, name).text = _UNWRITABLE.sub("\ufffd", text)
