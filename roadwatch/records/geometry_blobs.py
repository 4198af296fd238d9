"""Geometries as the bytes a GeoPackage keeps: a short header, then well-known binary."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    Geometries = NDArray[np.object_]

WGS84_SRS_ID = 4326
LITTLE_ENDIAN = 1
ENVELOPE_BYTES = (0, 32, 48, 48, 64)
"""Length of the envelope that follows the header, by the three bits of the flags that name its contents."""

HEADER = np.dtype([("magic", "S2"), ("version", "u1"), ("flags", "u1"), ("srs_id", "<i4")])
POINT = np.dtype([*HEADER.descr, ("order", "u1"), ("type", "<u4"), ("x", "<f8"), ("y", "<f8")])
HEADER_BLOB = np.array((b"GP", 0, LITTLE_ENDIAN, WGS84_SRS_ID), dtype=HEADER).tobytes()


def point_blobs(longitude: ArrayLike, latitude: ArrayLike) -> list[bytes | None]:
    """
    Write points as GeoPackage blobs, all at once.

    Parameters
    ----------
    longitude, latitude
        (n,) degrees on WGS 84; nan in either gives None.

    Returns
    -------
    (n,) blobs of 29 bytes, or None.

    Source
    ------
    ogc12128r
    """
    x, y = np.asarray(longitude, dtype=float), np.asarray(latitude, dtype=float)
    rows = np.empty(len(x), dtype=POINT)
    for name, value in {"magic": b"GP", "version": 0, "flags": LITTLE_ENDIAN, "srs_id": WGS84_SRS_ID}.items():
        rows[name] = value
    rows["order"], rows["type"], rows["x"], rows["y"] = LITTLE_ENDIAN, 1, x, y
    whole, size = rows.tobytes(), POINT.itemsize
    blobs: list[bytes | None] = [whole[k : k + size] for k in range(0, len(whole), size)]
    for k in np.flatnonzero(np.isnan(x) | np.isnan(y)):
        blobs[k] = None
    return blobs


def geometry_blobs(geometries: Sequence[object] | Geometries) -> list[bytes | None]:
    """
    Write lines, areas or points as GeoPackage blobs; heights are dropped.

    Parameters
    ----------
    geometries
        (n,) shapely geometries on WGS 84; None stays None.

    Source
    ------
    ogc12128r
    """
    flat = shapely.force_2d(np.array(geometries, dtype=object))
    wkb = np.atleast_1d(shapely.to_wkb(flat, byte_order=LITTLE_ENDIAN))
    return [None if body is None else HEADER_BLOB + body for body in wkb]


def geometries_from_blobs(blobs: Sequence[bytes | None]) -> Geometries:
    """
    Read GeoPackage blobs, with or without an envelope after the header.

    Returns
    -------
    (n,) shapely geometries; None for a blob that is None.

    Source
    ------
    ogc12128r
    """
    wkb = [None if blob is None else blob[_header_length(blob) :] for blob in blobs]
    return np.atleast_1d(np.asarray(shapely.from_wkb(np.array(wkb, dtype=object)), dtype=object))


def geometry_type_name(geometries: Geometries) -> str:
    """
    Name the one type that all geometries have, as a GeoPackage writes it; ``GEOMETRY`` when they are mixed or none.

    >>> geometry_type_name(shapely.points([[0.0, 0.0], [1.0, 1.0]]))
    'POINT'
    """
    kinds = {shapely.GeometryType(int(k)).name for k in np.unique(shapely.get_type_id(geometries)) if k >= 0}
    return kinds.pop() if len(kinds) == 1 else "GEOMETRY"


def _header_length(blob: bytes) -> int:
    return HEADER.itemsize + ENVELOPE_BYTES[(blob[3] >> 1) & 0b111]
