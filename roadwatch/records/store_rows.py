"""Rows on their way into a table: typed, named, and inserted with their place."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from roadwatch.records.fields import ID_FIELD, Kind
from roadwatch.records.geometry_blobs import geometry_blobs, point_blobs
from roadwatch.records.shapes import wkt_of
from roadwatch.records.store_columns import Column, SqlValue, columns_of, from_sql, none_where, seen_columns, to_sql
from roadwatch.records.store_identity import record_keys
from roadwatch.records.store_reading import tracks
from roadwatch.records.store_schema import GEOMETRY_TYPES, POINT_COLUMNS, table_columns, widen_bounds

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Sequence

    from numpy.typing import NDArray


def typed_rows(table: pd.DataFrame, kind: Kind, *, source: str) -> tuple[pd.DataFrame, tuple[Column, ...]]:
    """
    Bring rows into the columns and types of their kind, and name every row.

    Parameters
    ----------
    table
        (n,) rows; columns that the kind lacks are left out, except ``seen_*``.
    kind
        Kind of record.
    source
        How messages call the file.

    Returns
    -------
    (n,) rows with ``record_key``, the stored columns, ``geometry`` where the kind has lines or areas, and ``line
    original`` where given, and ``is_named``, False where the name was made from the content; and the stored columns.

    Raises
    ------
    UnfitFileError
        A ``seen_*`` column's name cannot be kept.
    """
    table = table.reset_index(drop=True)
    if kind == "searches" and "geometry" in table:
        table = table.assign(track=_track_texts(table))
    columns = (*columns_of(kind), *seen_columns(map(str, table.columns), source=source))
    rows = pd.DataFrame({column.name: _typed(table, column) for column in columns}, index=table.index)
    rows["record_key"] = record_keys(rows, columns, kind=kind)
    rows["is_named"] = rows[ID_FIELD[kind]].notna() if kind in ID_FIELD else False
    if kind in ID_FIELD:
        rows[ID_FIELD[kind]] = rows["record_key"]
    if kind in GEOMETRY_TYPES and kind not in POINT_COLUMNS:
        rows["geometry"] = _lines(table, rows, kind)
    return rows.assign(**{name: table[name] for name in ("line", "original") if name in table}), columns


def insert_rows(
    connection: sqlite3.Connection, rows: pd.DataFrame, columns: Sequence[Column], *, kind: str, batch: int | None
) -> None:
    """
    Store new records inside the caller's transaction, adding the columns that the table lacks.

    Parameters
    ----------
    connection
        An open season.
    rows
        (n,) rows as ``typed_rows`` makes them, none of them stored.
    columns
        The columns to store.
    kind
        Kind of record.
    batch
        Number of the batch they came in; None for a layer that is replaced as a whole.
    """
    if rows.empty:
        return
    present = table_columns(connection, kind)
    for column in columns:
        if column.name not in present:
            connection.execute(f'ALTER TABLE "{kind}" ADD COLUMN {column.definition}')
    cells = {f'"{column.name}"': to_sql(rows[column.name], column.type) for column in columns}
    values = {name: column for name, column in cells.items() if column.count(None) < len(rows)}
    values["record_key"] = rows["record_key"].tolist()
    values["batch"] = [batch] * len(rows)
    if kind in GEOMETRY_TYPES:
        values["geom"] = _blobs(rows, kind)
        _widen(connection, rows, kind)
    insert_columns(connection, kind, values)


def insert_columns(connection: sqlite3.Connection, kind: str, values: dict[str, list[SqlValue]]) -> None:
    """Insert rows given column by column; the names are quoted by the caller."""
    marks = ", ".join("?" * len(values))
    query = f'INSERT INTO "{kind}" ({", ".join(values)}) VALUES ({marks})'  # noqa: S608  # names are ours or checked
    connection.executemany(query, zip(*values.values(), strict=True))


def _typed(table: pd.DataFrame, column: Column) -> pd.Series:
    if column.name not in table:
        return from_sql([None] * len(table), column.type)
    return from_sql(to_sql(table[column.name], column.type), column.type)


def _track_texts(table: pd.DataFrame) -> pd.Series:
    """The track as text, made from the geometry where only that is given."""
    written = table["track"] if "track" in table else pd.Series(None, index=table.index, dtype=object)
    drawn = pd.Series(shapely.to_wkt(table["geometry"].to_numpy(), rounding_precision=7), dtype=object)
    return written.astype(object).where(written.notna(), drawn)


def _lines(table: pd.DataFrame, rows: pd.DataFrame, kind: str) -> NDArray[np.object_]:
    if kind == "searches":
        return tracks(rows["track"])
    if "geometry" in table:
        drawn = table["geometry"].to_numpy(dtype=object)
        return none_where(np.asarray(pd.isna(drawn), dtype=bool), drawn)
    return tracks(rows["other"].map(wkt_of, na_action="ignore"))


def _blobs(rows: pd.DataFrame, kind: str) -> list[SqlValue]:
    if kind in POINT_COLUMNS:
        longitude, latitude = (rows[name].to_numpy(dtype=float) for name in POINT_COLUMNS[kind])
        return list(point_blobs(longitude, latitude))
    return list(geometry_blobs(rows["geometry"].to_numpy(dtype=object)))


def _widen(connection: sqlite3.Connection, rows: pd.DataFrame, kind: str) -> None:
    if kind in POINT_COLUMNS:
        placed = rows[list(POINT_COLUMNS[kind])].dropna().to_numpy(dtype=float)
        bounds = [*placed.min(axis=0), *placed.max(axis=0)] if len(placed) else []
    else:
        bounds = [edge for edge in shapely.total_bounds(rows["geometry"].to_numpy(dtype=object)) if not np.isnan(edge)]
    if bounds:
        west, south, east, north = map(float, bounds)
        widen_bounds(connection, kind, (west, south, east, north))
