"""Map layers of a season: brought to WGS 84 and replaced as a whole."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pandas as pd
import shapely

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.records.fields import fields_of
from roadwatch.records.geometry_blobs import geometry_blobs, geometry_type_name
from roadwatch.records.store_columns import LAYER_NAME, Column, SqlValue, from_sql, sql_type_of, to_sql
from roadwatch.records.store_rows import insert_columns, insert_rows, typed_rows
from roadwatch.records.store_schema import LAYER_KINDS, create_table_of, stored_columns, widen_bounds

if TYPE_CHECKING:
    import sqlite3

    import geopandas as gpd
    import numpy as np
    from numpy.typing import NDArray

RESERVED_NAMES = frozenset({"id", "fid", "geom", "geometry", "batch", "record_key", "other", "rowid"})


def replace_features(connection: sqlite3.Connection, kind: str, layer: gpd.GeoDataFrame, *, source: str) -> int:
    """
    Put a layer in the place of the one of its kind, inside the caller's transaction.

    Columns keep their names where SQL takes them; the others go, as JSON, into ``other``. Features without a
    geometry are left out. Source, reference system and number of features stand in the settings.

    Parameters
    ----------
    connection
        An open season.
    kind
        ``roads water protected passages no_fence``, or ``measures``.
    layer
        Features in any reference system.
    source
        Where it came from, as messages call it.

    Returns
    -------
    Number of features stored.

    Raises
    ------
    UsageError
        The kind is not a layer.
    UnfitFileError
        The layer has no reference system, no feature with a geometry, or coordinates that do not fit its system.
    """
    if kind not in (*LAYER_KINDS, "measures"):
        raise UsageError(f"{kind!r} is not a layer; name one of {', '.join(LAYER_KINDS)} or measures")
    features = _on_wgs84(layer, source=source)
    if kind == "measures":
        _replace_measures(connection, features, source=source)
    else:
        _replace_table(connection, kind, features)
    stated = {"source": source, "crs": layer.crs.to_string(), "features": str(len(features))}
    connection.executemany(
        "INSERT INTO settings (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
        [(f"{kind}_{name}", value) for name, value in stated.items()],
    )
    return len(features)


def _on_wgs84(layer: gpd.GeoDataFrame, *, source: str) -> gpd.GeoDataFrame:
    if layer.crs is None:
        raise UnfitFileError(
            f"{source} does not say its reference system; add its .prj file, or save it again with its system named"
        )
    has_place = ~(layer.geometry.isna() | layer.geometry.is_empty)
    if not has_place.any():
        raise UnfitFileError(f"{source} holds no feature with a geometry; check that it is the right layer")
    features = layer[has_place].to_crs("EPSG:4326").reset_index(drop=True)
    west, south, east, north = features.total_bounds
    if not (west >= -180 and south >= -90 and east <= 180 and north <= 90):
        raise UnfitFileError(
            f"{source}: its coordinates do not fit the reference system it names ({layer.crs.to_string()}): they reach "
            f"{west:g}, {south:g}, {east:g}, {north:g} in degrees; save it again with the right system"
        )
    return features


def _replace_table(connection: sqlite3.Connection, kind: str, features: gpd.GeoDataFrame) -> None:
    geometry = features.geometry.to_numpy()
    table = pd.DataFrame(features.drop(columns=features.geometry.name))
    columns = _layer_columns(table, kind)
    rest = [name for name in table if name not in {column.name for column in columns}]
    values: dict[str, list[SqlValue]] = {
        f'"{column.name}"': to_sql(table[column.name], column.type) for column in columns if column.name in table
    }
    values["other"] = _as_json(table[rest])
    values["geom"] = list(geometry_blobs(geometry))
    geometry_type = geometry_type_name(geometry)
    connection.execute(f'DROP TABLE "{kind}"')
    create_table_of(connection, kind, columns, geometry_type=geometry_type)
    connection.execute(
        "UPDATE gpkg_geometry_columns SET geometry_type_name = ? WHERE table_name = ?", (geometry_type, kind)
    )
    _restate_bounds(connection, kind, geometry)
    insert_columns(connection, kind, values)


def _replace_measures(connection: sqlite3.Connection, features: gpd.GeoDataFrame, *, source: str) -> None:
    table = pd.DataFrame(features.drop(columns=features.geometry.name))
    rest = [name for name in table if name not in fields_of("measures") and name not in RESERVED_NAMES]
    named = table.assign(geometry=features.geometry.to_numpy(), other=from_sql(_as_json(table[rest]), "TEXT"))
    rows, columns = typed_rows(named, "measures", source=source)
    if rows["record_key"].duplicated().any():
        twice = rows["record_key"][rows["record_key"].duplicated()].iloc[0]
        raise UnfitFileError(f"{source}: measure_id {twice} stands on two features; give each its own")
    connection.execute("DELETE FROM measures")
    _restate_bounds(connection, "measures", rows["geometry"].to_numpy(dtype=object))
    insert_rows(connection, rows, columns, kind="measures", batch=None)


def _layer_columns(table: pd.DataFrame, kind: str) -> tuple[Column, ...]:
    """The canonical columns first, then those of the layer whose names SQL takes, once in any mix of capitals."""
    columns = {column.name: column for column in stored_columns(kind)}
    taken = {name.lower() for name in columns} | RESERVED_NAMES
    for name in table:
        if isinstance(name, str) and LAYER_NAME.fullmatch(name) and name.lower() not in taken:
            columns[name] = Column(name, sql_type_of(table[name]))
            taken.add(name.lower())
    return tuple(columns.values())


def _as_json(rest: pd.DataFrame) -> list[SqlValue]:
    if rest.empty:
        return [None] * len(rest)
    rows = rest.astype(object).where(rest.notna(), None).to_dict("records")
    kept = [{str(name): value for name, value in row.items() if value is not None} for row in rows]
    return [json.dumps(row, ensure_ascii=False, default=str) if row else None for row in kept]


def _restate_bounds(connection: sqlite3.Connection, kind: str, geometry: NDArray[np.object_]) -> None:
    connection.execute(
        "UPDATE gpkg_contents SET min_x = NULL, min_y = NULL, max_x = NULL, max_y = NULL WHERE table_name = ?", (kind,)
    )
    west, south, east, north = (float(edge) for edge in shapely.total_bounds(geometry))
    widen_bounds(connection, kind, (west, south, east, north))
