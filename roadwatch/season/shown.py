"""Names of files as messages show them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


def shown(name: Path | str) -> str:
    r"""
    A file's name on one line: control characters, and bytes that are no text, are written out.

    >>> shown("a\nb\x1b[2J.csv")
    'a\\nb\\x1b[2J.csv'
    """
    text = str(name).encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")
    return "".join(sign if sign.isprintable() else ascii(sign)[1:-1] for sign in text)


def word_of_place(source: str, *, kind: str = "") -> str:
    """
    What the numbers of a file's rows count, by the file's name: lines, or what stands in for them.

    >>> word_of_place("walk.gpx, tracks"), word_of_place("walk.gpx"), word_of_place("a.geojson"), word_of_place("a.csv")
    ('track', 'waypoint', 'feature', 'line')
    >>> word_of_place("book.xlsx, sheet May"), word_of_place("walk.zip, photographs")
    ('row', 'photograph')
    """
    name = source.casefold()
    if re.search(r"\.gpx(,|$)", name):
        return "track" if name.endswith(", tracks") or kind == "searches" else "waypoint"
    if name.endswith(", photographs"):
        return "photograph"
    if ", sheet " in name:
        return "row"
    if ", layer " in name or re.search(r"\.(geojson|json|kml|kmz|gpkg|shp)(,|$)", name):
        return "feature"
    return "line"
