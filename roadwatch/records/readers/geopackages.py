"""A GeoPackage is a database: what it would compute when read is looked over before GDAL opens it."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

from roadwatch.records.readers.content import name_of
from roadwatch.records.readers.wording import unfit

if TYPE_CHECKING:
    from pathlib import Path

_KNOWN_MODULES = ("rtree", "fts3", "fts4", "fts5")
_COMPUTED = re.compile(r"\bGENERATED\s+ALWAYS\b|\bAS\s*\(", re.IGNORECASE)
_MODULE = re.compile(r"CREATE\s+VIRTUAL\s+TABLE\b.{0,300}?\bUSING\s+[\"'`\[]?(\w+)", re.IGNORECASE | re.DOTALL)


def look_over_geopackage(path: Path) -> None:
    """
    Refuse a GeoPackage whose layers are computed when they are read: views, computed columns, other programs' tables.

    A view can run for ever or fill the memory. Nothing of the file is run here but the reading of its schema.

    Raises
    ------
    UnfitFileError
        It computes something, or is damaged.
    """
    source = name_of(path)
    try:
        uri = f"{path.resolve().as_uri()}?mode=ro&immutable=1"
        with closing(sqlite3.connect(uri, uri=True)) as database:
            database.execute("PRAGMA trusted_schema = OFF")
            parts = database.execute("SELECT type, name, sql FROM sqlite_master").fetchall()
            told = _rows_told(database) if any(name == "gpkg_ogr_contents" for _, name, _ in parts) else 0
    except (sqlite3.Error, UnicodeDecodeError) as error:
        raise unfit(
            source,
            found=f"a GeoPackage that cannot be read ({' '.join(str(error).split())[:160]})",
            expected="a complete GeoPackage",
            cure="copy or export it again",
        ) from error
    if told > path.stat().st_size:
        raise unfit(
            source,
            found=f"a layer said to hold {told:,} features in {path.stat().st_size:,} bytes",
            expected="no more features than bytes",
            cure="export it again",
        )
    for kind, name, sql in parts:
        what = _what_it_computes(str(kind), str(sql or ""))
        if what:
            raise unfit(
                source,
                found=f"{what} {str(name)[:60]!r}, which is computed when it is read",
                expected="layers that are stored as they are",
                cure="export the layer to a new GeoPackage",
            )


def _rows_told(database: sqlite3.Connection) -> int:
    """The greatest count of features that the file tells of itself; GDAL makes room for as many before it looks."""
    told = database.execute("SELECT feature_count FROM gpkg_ogr_contents").fetchall()
    return max((count for (count,) in told if isinstance(count, int)), default=0)


def _what_it_computes(kind: str, sql: str) -> str | None:
    if kind == "view":
        return "a view"
    if kind != "table":
        return None
    module = _MODULE.match(sql)
    if module:
        return None if module[1].lower() in _KNOWN_MODULES else "a virtual table"
    return "a computed column in table" if _COMPUTED.search(sql) else None
