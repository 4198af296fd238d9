"""Reading one kind of record or layer out of a season, as first stored or with its corrections."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from roadwatch.errors import UsageError
from roadwatch.records.geometry_blobs import geometries_from_blobs
from roadwatch.records.store_columns import Column, SqlValue, from_sql
from roadwatch.records.store_schema import GEOMETRY_TYPES, LAYER_KINDS, POINT_COLUMNS, STORED_KINDS, table_columns

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Collection, Sequence

    from numpy.typing import NDArray


def read_table(
    connection: sqlite3.Connection,
    kind: str,
    *,
    columns: Sequence[str] | None = None,
    keys: Sequence[str] | None = None,
    is_amended: bool = True,
) -> pd.DataFrame | gpd.GeoDataFrame:
    """
    Read a kind in the order of storing.

    Parameters
    ----------
    connection
        An open season.
    kind
        Kind of record or layer.
    columns
        Columns wanted; None reads all. A geometry comes with every kind that has one.
    keys
        Names of the records wanted; None reads all.
    is_amended
        Put the latest correction of each field in the place of what was first stored.

    Returns
    -------
    One row a record: numbers float64, text and booleans as objects with None for blank; geometry in EPSG:4326.

    Raises
    ------
    UsageError
        The kind or a column does not exist.
    """
    if kind not in STORED_KINDS:
        raise UsageError(f"a season holds no {kind!r}; ask for one of {', '.join(STORED_KINDS)}")
    present = table_columns(connection, kind)
    wanted = list(present if columns is None else columns)
    unknown = [name for name in wanted if name not in present]
    if unknown:
        raise UsageError(f"{kind} have no column {', '.join(unknown)}; there are {', '.join(present)}")
    needed = _with_place(wanted, present, kind)
    table, blobs = _select(connection, kind, [present[name] for name in needed], keys=keys)
    if is_amended and kind not in LAYER_KINDS:
        table = _amend(connection, table, kind, present)
    return _placed(table, blobs, kind, wanted)


def _with_place(wanted: Sequence[str], present: Collection[str], kind: str) -> list[str]:
    """The columns to fetch: those wanted, the record's name, and those that its place is made of."""
    place = [*POINT_COLUMNS.get(kind, ()), *(["track"] if kind == "searches" else [])]
    key = ["record_key"] if "record_key" in present else []
    return list(dict.fromkeys([*wanted, *key, *place]))


def _select(
    connection: sqlite3.Connection, kind: str, columns: Sequence[Column], *, keys: Sequence[str] | None
) -> tuple[pd.DataFrame, Sequence[bytes | None]]:
    has_blob = kind in GEOMETRY_TYPES and kind not in POINT_COLUMNS and kind != "searches"
    names = [*(f'"{column.name}"' for column in columns), *(["geom"] if has_blob else [])]
    some = "" if keys is None else " WHERE record_key IN (SELECT value FROM json_each(?))"
    query = f'SELECT {", ".join(names)} FROM "{kind}"{some} ORDER BY id'  # noqa: S608  # names are the table's own
    rows = connection.execute(query, () if keys is None else (json.dumps(list(keys)),)).fetchall()
    cells: list[Sequence[SqlValue]] = list(zip(*rows, strict=True)) if rows else [()] * len(names)
    table = pd.DataFrame(
        {column.name: from_sql(values, column.type) for column, values in zip(columns, cells, strict=False)},
        index=pd.RangeIndex(len(rows)),
    )
    return table, cells[-1] if has_blob else ()  # type: ignore[return-value]  # the last column holds the blobs


def _amend(connection: sqlite3.Connection, table: pd.DataFrame, kind: str, present: dict[str, Column]) -> pd.DataFrame:
    query = "SELECT record_key, field, new FROM changes WHERE kind = ? AND undone_at IS NULL ORDER BY id"
    latest = {(key, name): new for key, name, new in connection.execute(query, (kind,)) if name in table}
    if not latest:
        return table
    row_of = pd.Series(np.arange(len(table)), index=table["record_key"])
    for name in {name for _, name in latest}:
        changed = {key: new for (key, of), new in latest.items() if of == name and key in row_of.index}
        values = table[name].to_numpy(copy=True)
        values[row_of[list(changed)].to_numpy()] = from_text(list(changed.values()), present[name])
        table[name] = pd.Series(values, dtype=values.dtype)  # the dtype keeps text as objects
    return table


def from_text(texts: Sequence[str | None], column: Column) -> pd.Series:
    """
    Read corrected values, kept as text, in the type of their column.

    Raises
    ------
    ValueError
        A text is not a number where the column holds numbers, or not true or false where it holds booleans.
    """
    if column.type == "TEXT":
        return from_sql(texts, "TEXT")
    if column.type == "BOOLEAN":
        return from_sql([None if text is None else _boolean(text) for text in texts], "BOOLEAN")
    return from_sql([None if text is None else float(text) for text in texts], "REAL")


def _boolean(text: str) -> int:
    words = {"true": 1, "false": 0}
    if text.lower() not in words:
        raise ValueError(f"{text!r} is neither true nor false")
    return words[text.lower()]


def _placed(
    table: pd.DataFrame, blobs: Sequence[bytes | None], kind: str, wanted: list[str]
) -> pd.DataFrame | gpd.GeoDataFrame:
    if kind not in GEOMETRY_TYPES:
        return table[wanted]
    if kind in POINT_COLUMNS:
        longitude, latitude = (table[name].to_numpy(dtype=float) for name in POINT_COLUMNS[kind])
        geometry = points(longitude, latitude)
    elif kind == "searches":
        geometry = tracks(table["track"])
    else:
        geometry = geometries_from_blobs(blobs)
    return gpd.GeoDataFrame(table[wanted], geometry=geometry, crs="EPSG:4326")


def points(longitude: NDArray[np.float64], latitude: NDArray[np.float64]) -> NDArray[np.object_]:
    """Points on WGS 84; None where a coordinate is missing."""
    made = np.full(len(longitude), None, dtype=object)
    known = ~(np.isnan(longitude) | np.isnan(latitude))
    made[known] = shapely.points(longitude[known], latitude[known])
    return made


def tracks(wkt: pd.Series) -> NDArray[np.object_]:
    """Lines travelled, from their text; None where the text is blank or no geometry."""
    texts = wkt.astype(object).where(wkt.notna(), None).to_numpy(dtype=object)
    return np.atleast_1d(np.asarray(shapely.from_wkt(texts, on_invalid="ignore"), dtype=object))
