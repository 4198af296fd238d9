"""What the public has seen: every release, and the records that stand in it, kept in the season file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.records.store_schema import KEY

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable

TABLE = "released_records"
COLUMNS = ("kind", "record_key", "square", "content")
DECLARED = (
    f"CREATE TABLE IF NOT EXISTS {TABLE} ({KEY}, release INTEGER NOT NULL REFERENCES releases (id), "
    "kind TEXT NOT NULL, record_key TEXT NOT NULL, square TEXT NOT NULL, content TEXT NOT NULL, "
    "left_in INTEGER REFERENCES releases (id))"
)
"""Made with the first release, so that a season without one stays as it was. ``square`` is blank where a record was
shown where it lies, and ``content`` is what was shown of it."""


def standing_records(connection: sqlite3.Connection) -> pd.DataFrame:
    """
    Records that the union of all releases has made public and that no release has taken out.

    Returns
    -------
    ``number first_released_at kind record_key square content``, by number: a record keeps its number for ever.
    """
    names = ["number", "first_released_at", *COLUMNS]
    if not _exists(connection):
        return pd.DataFrame({name: pd.Series([], dtype=object) for name in names})
    found = connection.execute(
        f"SELECT {TABLE}.id, released_at, kind, record_key, square, content FROM {TABLE} "  # noqa: S608
        "JOIN releases ON release = releases.id WHERE left_in IS NULL ORDER BY 1"
    )
    return pd.DataFrame(found.fetchall(), columns=names, dtype=object)


def keep_release(
    connection: sqlite3.Connection,
    *,
    released_at: str,
    what: str,
    grid: str,
    file_name: str,
    came: Iterable[tuple[str, str, str, str]],
    changed: Iterable[tuple[int, str]],
    left: Iterable[int],
) -> int:
    """
    Note one release, inside the caller's transaction; nothing that an earlier release told is forgotten.

    Parameters
    ----------
    connection
        An open season.
    released_at, what, grid, file_name
        ISO 8601 time or day, what was made, on which grid, and for which file.
    came
        ``kind record_key square content`` of the records that this release shows first, in the order of their numbers.
    changed
        Number and new content of records that are shown otherwise now.
    left
        Numbers of the records that this release no longer shows.

    Returns
    -------
    The number of the release.
    """
    if not _exists(connection):
        connection.execute(DECLARED)
        connection.execute(
            "INSERT INTO gpkg_contents (table_name, data_type, identifier, description) VALUES (?, 'attributes', ?, ?)",
            (TABLE, TABLE, "Records that stand in what was made public"),
        )
    number = connection.execute(
        "INSERT INTO releases (released_at, what, grid, file_name) VALUES (?, ?, ?, ?)",
        (released_at, what, grid, file_name),
    ).lastrowid
    connection.executemany(
        f"INSERT INTO {TABLE} (release, kind, record_key, square, content) VALUES (?, ?, ?, ?, ?)",  # noqa: S608
        [(number, *row) for row in came],
    )
    connection.executemany(
        f"UPDATE {TABLE} SET content = ? WHERE id = ?",  # noqa: S608
        [(content, row) for row, content in changed],
    )
    connection.executemany(f"UPDATE {TABLE} SET left_in = ? WHERE id = ?", [(number, row) for row in left])  # noqa: S608
    return int(number or 0)


def _exists(connection: sqlite3.Connection) -> bool:
    return connection.execute("SELECT 1 FROM sqlite_master WHERE name = ?", (TABLE,)).fetchone() is not None
