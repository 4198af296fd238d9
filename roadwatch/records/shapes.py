"""Map features that are no point, where a record needs one."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from roadwatch.records.complaints import Complaint

SHAPE_COLUMN = "wkt"
"""Column in which readers of map layers hand on any shape but a point."""

_NAMES = ("MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon", "GeometryCollection")
_BY_WKT = {name.upper(): name for name in _NAMES}


def named_shapes(complaints: Iterable[Complaint], shapes: pd.Series) -> list[Complaint]:
    """
    Say which shape was found where a place is missing because the feature is no point.

    Parameters
    ----------
    complaints
        What is wrong, by row counted from 0.
    shapes
        (n,) WKT, None where the feature is a point or has no shape.

    Returns
    -------
    The complaints, the two about a missing longitude and latitude turned into one about the shape.

    Source
    ------
    rfc7946
    """
    texts = shapes.tolist()
    told = []
    for one in complaints:
        is_place = one.column in ("longitude", "latitude") and not one.found
        name = _name_of(texts[one.row]) if is_place else None
        if name is None:
            told.append(one)
        elif one.column == "longitude":
            reason = f"the geometry: found {name}, expected Point; send one point for each record"
            told.append(replace(one, column="geometry", found=name, reason=reason))
    return told


def wkt_of(other: str) -> str | None:
    """
    The geometry among a row's other columns: text that a reader of map layers hands on, or the two numbers of a point.

    >>> wkt_of('{"wkt": "LINESTRING (0 0, 1 1)"}'), wkt_of('{"longitude": "-82.3", "latitude": "29.6"}')
    ('LINESTRING (0 0, 1 1)', 'POINT (-82.3 29.6)')
    >>> wkt_of('{"colour": "red"}') is None
    True
    """
    try:
        told = json.loads(other)
        wkt = told.get(SHAPE_COLUMN)
        if isinstance(wkt, str):
            return wkt
        longitude, latitude = (float(told[name]) for name in ("longitude", "latitude"))
    except (ValueError, AttributeError, KeyError, TypeError):
        return None
    return f"POINT ({longitude!r} {latitude!r})" if math.isfinite(longitude + latitude) else None


def _name_of(wkt: object) -> str | None:
    word = re.match(r"\s*([A-Za-z]+)", wkt) if isinstance(wkt, str) else None
    return _BY_WKT.get(word[1].upper()) if word else None
