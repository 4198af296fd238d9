"""Map features become rows: a point gives longitude and latitude on WGS 84, any other shape its WKT."""

from __future__ import annotations

import json
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pyproj
import shapely
from pyproj.exceptions import CRSError, ProjError

from roadwatch.records.readers.headed import refuse_odd_columns
from roadwatch.records.readers.numbers import as_number, number_texts
from roadwatch.records.readers.wording import counted, unfit
from roadwatch.records.tables import RawTable

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    Geometries = NDArray[np.object_]

_DECIMALS = 9
"""About 0.1 mm on the ground."""
_SAME_PLACE_DEGREES = 1e-5


def feature_table(
    source: str,
    geometries: Geometries,
    columns: Mapping[str, Sequence[str | None]],
    *,
    crs: pyproj.CRS | None,
    lines: NDArray[np.int64],
    notes: tuple[str, ...] = (),
) -> RawTable:
    """
    Lay features out as rows.

    Parameters
    ----------
    source
        How messages call the file or layer.
    geometries
        (n,) shapely geometries; None is kept, with blank coordinates.
    columns
        (n,) Attributes as text.
    crs
        Reference system of the coordinates.
    lines
        (n,) Feature number.
    notes
        What the reader found so far.

    Raises
    ------
    UnfitFileError
        There is no reference system, the coordinates do not fit it, or there are more columns than tables have.
    """
    refuse_odd_columns(columns, source=source)
    present = np.asarray(~(shapely.is_missing(geometries) | shapely.is_empty(geometries)))
    originals = _originals(geometries, columns, len(lines))
    table: dict[str, Sequence[str | None]] = dict(columns)
    if present.any():
        places, crs_notes = to_wgs84(geometries, crs=crs, source=source)
        places = shapely.force_2d(places)
        notes += crs_notes
        table, geometry_notes = _with_geometry(table, _single(places), present)
        notes += geometry_notes
    n_blank = int((~present).sum())
    if n_blank and present.any():
        notes += (f"{counted(n_blank, 'feature')} without a place, kept with blank coordinates",)
    rows = {name: pd.Series(list(cells), dtype=object) for name, cells in table.items()}
    return RawTable(source, pd.DataFrame(rows, index=range(len(lines))), lines, originals, notes)


def to_wgs84(geometries: Geometries, *, crs: pyproj.CRS | None, source: str) -> tuple[Geometries, tuple[str, ...]]:
    """
    Bring geometries to longitude and latitude on WGS 84.

    Raises
    ------
    UnfitFileError
        There is no reference system, or most coordinates lie outside of degrees.
    """
    if crs is None:
        raise no_reference_system(source)
    notes: tuple[str, ...] = ()
    if not is_wgs84(crs):
        try:
            transformer = pyproj.Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
            geometries = shapely.transform(
                geometries, lambda xy: np.column_stack(transformer.transform(xy[:, 0], xy[:, 1]))
            )
        except ProjError as error:
            raise no_reference_system(source) from error
        notes = (f"coordinates brought from {crs.name} to WGS 84",)
    refuse_beyond_degrees(geometries, source=source)
    return geometries, notes


@lru_cache(maxsize=64)  # asking the register of systems takes longer than reading a small file
def is_wgs84(crs: pyproj.CRS) -> bool:
    """Tell whether coordinates are longitude and latitude on WGS 84 already, whichever order the name asks for."""
    return crs.is_geographic and (crs.to_epsg() == 4326 or "CRS84" in (crs.name, crs.srs[-5:]))


def refuse_beyond_degrees(geometries: Geometries, *, source: str) -> None:
    """
    Refuse a layer most of whose coordinates cannot be degrees.

    Raises
    ------
    UnfitFileError
        More than half of the vertices lie beyond 180 east or west or 90 north or south.
    """
    xy = shapely.get_coordinates(geometries)
    if not len(xy):
        return
    beyond = ~((np.abs(xy[:, 0]) <= 180) & (np.abs(xy[:, 1]) <= 90))
    if beyond.mean() > 0.5:
        x, y = xy[beyond][0]
        raise unfit(
            source,
            found=f"coordinates such as {x:.10g} {y:.10g}, which are not degrees",
            expected="longitude and latitude, or a layer that names its reference system",
            cure="export the layer again with its coordinate reference system",
        )


def no_reference_system(source: str) -> Exception:
    """The refusal of a layer whose numbers could be degrees or metres."""
    return unfit(
        source,
        found="no coordinate reference system",
        expected="one, because the numbers could be degrees or metres",
        cure="supply the .prj file beside the .shp, or export the layer again with its reference system",
    )


def crs_of(text: object) -> pyproj.CRS | None:
    """Read the name of a reference system; None where it names none or only an undefined one."""
    if not isinstance(text, str) or not text.strip():
        return None
    try:
        crs = pyproj.CRS.from_user_input(text)
    except CRSError:
        return None
    is_local = crs.type_name == "Engineering CRS" or "undefined" in crs.name.lower() or "unknown" in crs.name.lower()
    return None if is_local else crs


def _single(geometries: Geometries) -> Geometries:
    """A multi-point of one point is that point."""
    one = (shapely.get_type_id(geometries) == 4) & (shapely.get_num_geometries(geometries) == 1)
    singles = geometries.copy()
    singles[one] = shapely.get_geometry(geometries[one], 0)
    return singles


def _with_geometry(
    columns: dict[str, Sequence[str | None]], places: Geometries, present: NDArray[np.bool_]
) -> tuple[dict[str, Sequence[str | None]], tuple[str, ...]]:
    is_point = present & (shapely.get_type_id(places) == 0)
    notes: tuple[str, ...] = ()
    table = dict(columns)
    if is_point.any():
        for name, ordinate in (("longitude", shapely.get_x), ("latitude", shapely.get_y)):
            values = np.full(len(places), np.nan)
            values[is_point] = ordinate(places[is_point])
            notes += _put_place(table, name, values)
    if (present & ~is_point).any():
        wkt = shapely.to_wkt(places, rounding_precision=_DECIMALS)
        table["wkt"] = [text if shape else None for text, shape in zip(wkt, present & ~is_point, strict=True)]
    return table, notes


def _put_place(table: dict[str, Sequence[str | None]], name: str, values: NDArray[np.float64]) -> tuple[str, ...]:
    """The geometry is the place; an attribute of the same name that says otherwise is kept beside it."""
    written = next((column for column in table if column.lower() == name), None)
    notes: tuple[str, ...] = ()
    if written is not None:
        told = np.array([as_number(cell) for cell in table[written]])
        if (np.abs(told - values) > _SAME_PLACE_DEGREES).any():
            table[f"{name} as attribute"] = table[written]
            notes = (f"attribute {written} differs from the geometry in places; the geometry is taken",)
        del table[written]
    table[name] = number_texts(values, decimals=_DECIMALS)
    return notes


def _originals(geometries: Geometries, columns: Mapping[str, Sequence[str | None]], n_rows: int) -> list[str]:
    wkt = shapely.to_wkt(geometries, rounding_precision=_DECIMALS)
    names = list(columns)
    cells = zip(*columns.values(), strict=True) if names else iter([()] * n_rows)
    return [
        json.dumps({**dict(zip(names, row, strict=True)), "geometry": shape}, ensure_ascii=False)
        for row, shape in zip(cells, wkt, strict=True)
    ]
