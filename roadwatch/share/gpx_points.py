"""Records as waypoints of GPX 1.1."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from roadwatch.share.gpx_route import NAMESPACE

if TYPE_CHECKING:
    import pandas as pd

_UNWRITABLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0 cannot hold."""


def waypoints(points: pd.DataFrame, *, title: str, words: tuple[str, ...], made_on: str) -> bytes:
    """
    Write points for navigation devices.

    Parameters
    ----------
    points
        ``longitude latitude`` in degrees on WGS 84, and the texts ``name comment kind``; ``time`` in Coordinated
        Universal Time or blank. A row without a place is left out.
    title
        Name of the file.
    words
        Sentences that belong beside every use, put into the file's description.
    made_on
        Day, ISO 8601; its midnight stands as the file's time.

    Returns
    -------
    The file; the same points give the same bytes.

    Source
    ------
    gpx11
    """
    root = Element("gpx", {"version": "1.1", "creator": "Roadwatch", "xmlns": NAMESPACE})
    metadata = SubElement(root, "metadata")
    _text(metadata, "name", title)
    _text(metadata, "desc", " ".join(words))
    _text(metadata, "time", f"{made_on}T00:00:00Z")
    for row in points.dropna(subset=["longitude", "latitude"]).to_dict("records"):
        point = SubElement(root, "wpt", {"lat": f"{row['latitude']:.6f}", "lon": f"{row['longitude']:.6f}"})
        for name, column in (("time", "time"), ("name", "name"), ("cmt", "comment"), ("type", "kind")):
            if isinstance(row[column], str) and row[column]:
                _text(point, name, row[column])
    indent(root)
    content: bytes = tostring(root, encoding="utf-8", xml_declaration=True)
    return content


def _text(parent: Element, name: str, text: str) -> None:
    SubElement(parent, name).text = _UNWRITABLE.sub("\ufffd", text)
