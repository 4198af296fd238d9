"""The tables of a season file: GeoPackage 1.3, declared by us so that plain SQLite can write them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.records.fields import KINDS, RECORD_KINDS, Kind
from roadwatch.records.store_columns import Column, columns_of

if TYPE_CHECKING:
    import sqlite3

APPLICATION_ID = int.from_bytes(b"GPKG", "big")
GEOPACKAGE_VERSION = 10300
SCHEMA_VERSION = 2

LAYER_KINDS = ("roads", "water", "protected", "passages", "no_fence")
"""Map layers, replaced as a whole; every other kind holds records, which are only ever added to."""

GEOMETRY_TYPES: dict[str, str] = {
    "crossings": "POINT",
    "nests": "POINT",
    "people": "POINT",
    "searches": "GEOMETRY",  # a track with a pause is a MULTILINESTRING
    "measures": "GEOMETRY",
    **dict.fromkeys(LAYER_KINDS, "GEOMETRY"),
}
"""Kinds with a place, and the geometry type they are declared with; a layer takes the type of its features."""

POINT_COLUMNS: dict[str, tuple[str, str]] = {
    "crossings": ("longitude", "latitude"),
    "nests": ("longitude", "latitude"),
    "people": ("start_longitude", "start_latitude"),
}
"""The columns that a point is made of: longitude, latitude."""

STORED_KINDS: tuple[str, ...] = (*RECORD_KINDS, *LAYER_KINDS)

KEY = "id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL"

PLAIN_TABLES: dict[str, tuple[str, str]] = {
    "settings": ("What holds for the whole season", "name TEXT NOT NULL UNIQUE, value TEXT NOT NULL"),
    "batches": (
        "What was read in, table by table",
        (
            "file_name TEXT NOT NULL, sha256 TEXT NOT NULL, kind TEXT NOT NULL, rows_sha256 TEXT NOT NULL, "
            "ingested_at TEXT NOT NULL, rows_in INTEGER NOT NULL, accepted INTEGER NOT NULL, known INTEGER NOT NULL, "
            "held_back INTEGER NOT NULL, reading TEXT, undone_at TEXT, undone_by TEXT, undone_why TEXT"
        ),
    ),
    "source_rows": (
        "Every row read in, as it stood in its file, and the record it became",
        "batch INTEGER NOT NULL REFERENCES batches (id), line INTEGER NOT NULL, record_id TEXT, original TEXT NOT NULL",
    ),
    "held_back": (
        "Rows not stored, each with its reasons",
        (
            "batch INTEGER NOT NULL REFERENCES batches (id), line INTEGER NOT NULL, original TEXT NOT NULL, "
            "reasons TEXT NOT NULL, columns TEXT, proposal TEXT, cells TEXT, settled_at TEXT, settled_how TEXT, "
            "settled_in INTEGER REFERENCES batches (id), record_key TEXT"
        ),
    ),
    "remarks": (
        "What to look at in rows that were stored",
        (
            "batch INTEGER NOT NULL REFERENCES batches (id), line INTEGER NOT NULL, record_key TEXT, "
            "severity TEXT NOT NULL, reason TEXT NOT NULL"
        ),
    ),
    "changes": (
        "Corrections; the latest of a record and field holds",
        (
            "who TEXT NOT NULL, changed_at TEXT NOT NULL, kind TEXT NOT NULL, record_key TEXT NOT NULL, "
            "field TEXT NOT NULL, old TEXT, new TEXT, why TEXT NOT NULL, undone_at TEXT"
        ),
    ),
    "withdrawn": (
        "Records that left with their batch, as they were stored",
        (
            "batch INTEGER NOT NULL REFERENCES batches (id), kind TEXT NOT NULL, record_key TEXT NOT NULL, "
            "content TEXT NOT NULL, withdrawn_at TEXT NOT NULL"
        ),
    ),
    "releases": (
        "What was made public, when, and on what grid",
        "released_at TEXT NOT NULL, what TEXT NOT NULL, grid TEXT NOT NULL, file_name TEXT NOT NULL",
    ),
}
"""Name, meaning and columns of the tables that hold no records."""

INDEXES = (
    "CREATE UNIQUE INDEX batches_read_once ON batches (sha256, kind, rows_sha256) WHERE undone_at IS NULL",
    "CREATE INDEX held_back_place ON held_back (batch, line)",
)
"""A file that was undone may be read again; one that stands is kept once."""

GEOPACKAGE_TABLES = """
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE, description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name), CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents (table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
"""

WGS84_WKT = (
    'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],'
    'AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],'
    'UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4326"]]'
)

REFERENCE_SYSTEMS = (
    ("Undefined Cartesian SRS", -1, "NONE", -1, "undefined", "undefined Cartesian coordinate reference system"),
    ("Undefined geographic SRS", 0, "NONE", 0, "undefined", "undefined geographic coordinate reference system"),
    ("WGS 84 geodetic", 4326, "EPSG", 4326, WGS84_WKT, "longitude and latitude in decimal degrees on WGS 84"),
)
"""The three rows that the standard asks for."""


def create_tables(connection: sqlite3.Connection) -> None:
    """
    Declare every table of an empty season, inside the caller's transaction.

    Source
    ------
    ogc12128r
    """
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {GEOPACKAGE_VERSION}")
    for statement in GEOPACKAGE_TABLES.split(";\n")[:-1]:
        connection.execute(statement)
    connection.executemany("INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, ?)", REFERENCE_SYSTEMS)
    for name in PLAIN_TABLES:
        create_plain_table(connection, name)
    for statement in INDEXES:
        connection.execute(statement)
    for kind in STORED_KINDS:
        create_table_of(connection, kind, stored_columns(kind))
        _register(connection, kind, "")


def create_plain_table(connection: sqlite3.Connection, name: str) -> None:
    """Declare one of the tables that hold no records, and enter it in the contents."""
    meaning, columns = PLAIN_TABLES[name]
    connection.execute(f"CREATE TABLE {name} ({KEY}, {columns})")
    _register(connection, name, meaning)


def stored_columns(kind: str) -> tuple[Column, ...]:
    """The columns a kind is declared with at first; a layer has its name and whatever else it brings."""
    if kind in KINDS:
        return columns_of(_as_kind(kind))
    return (Column("name", "TEXT"), Column("other", "TEXT"))


def create_table_of(
    connection: sqlite3.Connection, kind: str, columns: tuple[Column, ...], *, geometry_type: str | None = None
) -> None:
    """Declare the table of one kind of record or layer."""
    declared = geometry_type or GEOMETRY_TYPES.get(kind)
    geometry = [f"geom {declared}"] if declared else []
    record = [] if kind in LAYER_KINDS else ["record_key TEXT NOT NULL UNIQUE", "batch INTEGER REFERENCES batches (id)"]
    parts = [KEY, *geometry, *record, *(column.definition for column in columns)]
    connection.execute(f'CREATE TABLE "{kind}" ({", ".join(parts)})')


def table_columns(connection: sqlite3.Connection, kind: str) -> dict[str, Column]:
    """The columns a table has now, by name, without its number and geometry."""
    found = connection.execute("SELECT name, type FROM pragma_table_info(?)", (kind,)).fetchall()
    return {name: Column(name, sql_type) for name, sql_type in found if name not in ("id", "geom")}


def widen_bounds(connection: sqlite3.Connection, kind: str, bounds: tuple[float, float, float, float]) -> None:
    """Let the stated extent of a table take in new features; west, south, east, north in degrees."""
    west, south, east, north = bounds
    connection.execute(
        "UPDATE gpkg_contents SET min_x = min(coalesce(min_x, ?1), ?1), min_y = min(coalesce(min_y, ?2), ?2), "
        "max_x = max(coalesce(max_x, ?3), ?3), max_y = max(coalesce(max_y, ?4), ?4) WHERE table_name = ?5",
        (west, south, east, north, kind),
    )


def stated_bounds(connection: sqlite3.Connection, kind: str) -> tuple[float, float, float, float] | None:
    """West, south, east and north end of a table as it is stated, degrees; None where it holds nothing."""
    query = "SELECT min_x, min_y, max_x, max_y FROM gpkg_contents WHERE table_name = ? AND min_x IS NOT NULL"
    found: tuple[float, float, float, float] | None = connection.execute(query, (kind,)).fetchone()
    return found


def _register(connection: sqlite3.Connection, name: str, meaning: str) -> None:
    geometry_type = GEOMETRY_TYPES.get(name)
    data_type = "features" if geometry_type else "attributes"
    connection.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id) VALUES (?, ?, ?, ?, ?)",
        (name, data_type, name, meaning, 4326 if geometry_type else None),
    )
    if geometry_type:
        connection.execute("INSERT INTO gpkg_geometry_columns VALUES (?, 'geom', ?, 4326, 0, 0)", (name, geometry_type))


def _as_kind(kind: str) -> Kind:
    return next(known for known in KINDS if known == kind)
