"""GeoJSON: RFC 7946, and the older form whose crs member names another reference system."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np
import pyproj
import shapely

from roadwatch.records.readers.content import name_of, read_bytes
from roadwatch.records.readers.features import crs_of, feature_table, no_reference_system
from roadwatch.records.readers.headed import refuse_odd_columns
from roadwatch.records.readers.limits import LARGEST_JSON_MB
from roadwatch.records.readers.text import decode_text
from roadwatch.records.readers.wording import unfit
from roadwatch.records.tables import RawTable, RowFault

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from numpy.typing import NDArray

_SHAPES = ("Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon", "GeometryCollection")

JsonObject = dict[str, object]


def read_geojson(path: Path) -> list[RawTable]:
    """
    Read the features of a GeoJSON file.

    Returns
    -------
    One table; lines count features from 1.

    Raises
    ------
    UnfitFileError
        The file is cut short, is JSON of another kind, holds no feature, or names an unknown reference system.

    Source
    ------
    rfc7946
    """
    source = name_of(path)
    document = load_geojson(read_bytes(path, largest_mb=LARGEST_JSON_MB), source=source)
    crs, notes = crs_of_document(document, source=source)
    numbered = list(enumerate(features_of(document), start=1))
    whole = [(number, feature) for number, feature in numbered if isinstance(feature, dict)]
    geometries = _geometries([feature for _, feature in whole])
    faults = [_not_a_feature(source, number, feature) for number, feature in numbered if not isinstance(feature, dict)]
    faults += [
        _broken_shape(source, number, feature)
        for (number, feature), shape in zip(whole, geometries, strict=True)
        if shape is None and feature.get("geometry")
    ]
    held = {fault.line for fault in faults}
    kept = np.array([number not in held for number, _ in whole], dtype=bool)
    table = feature_table(
        source,
        geometries[kept],
        _columns([feature for (_, feature), keep in zip(whole, kept, strict=True) if keep], source=source),
        crs=crs,
        lines=np.array([number for number, _ in whole], dtype=np.int64)[kept],
        notes=("format: GeoJSON", *notes),
    )
    return [RawTable(source, table.rows, table.lines, table.originals, table.notes, tuple(faults))]


def load_geojson(body: bytes, *, source: str) -> JsonObject:
    """
    Parse GeoJSON down to its outermost object.

    Raises
    ------
    UnfitFileError
        The text is broken or cut short, is not GeoJSON, or holds no feature.
    """
    text = decode_text(body, source=source).text.lstrip("\ufeff").strip("\x00\x1a")
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        where = str(error) if isinstance(error, json.JSONDecodeError) else "nested too deeply, or a number too long"
        raise unfit(
            source,
            found=f"JSON that is broken or cut short ({where})",
            expected="a complete GeoJSON file",
            cure="copy or export the file again",
        ) from error
    kind = document.get("type") if isinstance(document, dict) else None
    if kind not in ("FeatureCollection", "Feature", *_SHAPES):
        raise unfit(
            source,
            found=f"JSON of type {kind!r}"[:60],
            expected="a GeoJSON FeatureCollection",
            cure="export the layer as GeoJSON, or the records as CSV",
        )
    if not features_of(document):
        raise unfit(
            source, found="no features", expected="at least one", cure="check what was selected when it was exported"
        )
    return document  # type: ignore[no-any-return]  # checked above


def features_of(document: JsonObject) -> list[object]:
    """The features of a document, a single feature or a bare shape being a collection of one."""
    if document["type"] == "FeatureCollection":
        features = document.get("features")
        return features if isinstance(features, list) else []
    if document["type"] == "Feature":
        return [document]
    return [{"type": "Feature", "properties": {}, "geometry": document}]


def crs_of_document(document: JsonObject, *, source: str) -> tuple[pyproj.CRS, tuple[str, ...]]:
    """
    Read the reference system: WGS 84, unless the older crs member names another.

    Raises
    ------
    UnfitFileError
        The crs member is null or names a system that is not known.
    """
    if "crs" not in document:
        return pyproj.CRS("OGC:CRS84"), ()
    member = document["crs"]
    properties = member.get("properties") if isinstance(member, dict) else None
    name = properties.get("name") if isinstance(properties, dict) else None
    crs = crs_of(name)
    if crs is None:
        raise no_reference_system(source)
    return crs, (f"reference system by its crs member: {name}",)


def _geometries(features: Sequence[JsonObject]) -> NDArray[np.object_]:
    texts = [json.dumps(feature["geometry"]) if _has_shape(feature) else None for feature in features]
    return np.asarray(shapely.from_geojson(np.array(texts, dtype=object), on_invalid="ignore"), dtype=object)


def _has_shape(feature: JsonObject) -> bool:
    geometry = feature.get("geometry")
    return isinstance(geometry, dict) and geometry.get("type") in _SHAPES


def _columns(features: Sequence[JsonObject], *, source: str) -> dict[str, list[str | None]]:
    rows = [_properties(feature) for feature in features]
    names = dict.fromkeys(name for row in rows for name in row)
    refuse_odd_columns(names, source=source)
    return {name: [_cell(row.get(name)) for row in rows] for name in names}


def _properties(feature: JsonObject) -> JsonObject:
    properties = feature.get("properties")
    row: JsonObject = dict(properties) if isinstance(properties, dict) else {}
    if "id" in feature and "id" not in row:
        row["id"] = feature["id"]
    return row


def _cell(value: object) -> str | None:
    if value is None or isinstance(value, str):
        return (value or "").strip() or None
    return json.dumps(value, ensure_ascii=False)


def _not_a_feature(source: str, number: int, feature: object) -> RowFault:
    original = json.dumps(feature, ensure_ascii=False)
    reason = "this is not a GeoJSON feature; a feature is an object with properties and geometry"
    return RowFault(source, number, original, "", original[:60], reason)


def _broken_shape(source: str, number: int, feature: JsonObject) -> RowFault:
    original = json.dumps(feature, ensure_ascii=False)
    found = json.dumps(feature.get("geometry"), ensure_ascii=False)[:60]
    reason = f"the geometry {found} is not a valid GeoJSON shape; a point is [longitude, latitude], both plain numbers"
    return RowFault(source, number, original, "geometry", found, reason)
