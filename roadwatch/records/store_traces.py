"""Where a record came from and what became of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from roadwatch.errors import UsageError
from roadwatch.records.fields import RECORD_KINDS

if TYPE_CHECKING:
    import sqlite3

Row = dict[str, object]

SOURCES = (
    "SELECT batch, file_name, line, ingested_at, original, undone_at, undone_by, undone_why, 'stored' AS how "
    "FROM source_rows JOIN batches ON batches.id = batch WHERE kind = ?1 AND record_id = ?2 "
    "UNION ALL SELECT batch, file_name, line, ingested_at, original, undone_at, undone_by, undone_why, "
    "'held back, then ' || settled_how || CASE settled_how WHEN 'mended' THEN ' in' ELSE ' by its newer copy in' END "
    "|| ' batch ' || settled_in FROM held_back JOIN batches ON batches.id = batch WHERE kind = ?1 "
    "AND record_key = ?2 AND settled_how IN ('mended', 'replaced') ORDER BY batch, line"
)
CHANGES = (
    "SELECT who, changed_at, field, old, new, why, undone_at FROM changes WHERE kind = ? AND record_key = ? ORDER BY id"
)
REMARKS = (
    "SELECT batch, line, severity, reason FROM remarks JOIN batches ON batches.id = batch "
    "WHERE kind = ? AND record_key = ? ORDER BY remarks.id"
)
WITHDRAWN = "SELECT batch, withdrawn_at, content FROM withdrawn WHERE kind = ? AND record_key = ? ORDER BY id"


@dataclass(frozen=True, eq=False)
class Trace:
    """
    Everything the season knows of how one record came to be.

    Parameters
    ----------
    kind, record_key
        The record.
    is_stored
        False where it left the season with its batch.
    sources
        Each row that told of it: ``batch file_name line ingested_at original how undone_at undone_by undone_why``.
    changes
        Corrections in their order: ``who changed_at field old new why undone_at``.
    remarks
        What was to be looked at: ``batch line severity reason``.
    withdrawn
        The record as it left: ``batch withdrawn_at content``.
    """

    kind: str
    record_key: str
    is_stored: bool
    sources: list[Row]
    changes: list[Row]
    remarks: list[Row]
    withdrawn: list[Row]


def kinds_of(connection: sqlite3.Connection, record_key: str) -> list[str]:
    """The kinds that have, or had, a record of this name."""
    stored = [kind for kind in RECORD_KINDS if _is_stored(connection, kind, record_key)]
    query = "SELECT DISTINCT kind FROM withdrawn WHERE record_key = ?"
    gone = [kind for (kind,) in connection.execute(query, (record_key,)) if kind not in stored]
    return stored + gone


def trace_of(connection: sqlite3.Connection, kind: str, record_key: str) -> Trace:
    """
    Collect the trace of one record.

    Raises
    ------
    UsageError
        The season never held such a record.
    """
    if kind not in kinds_of(connection, record_key):
        raise UsageError(f"the season holds no record {record_key!r} among its {kind}; check the name")
    found = [_rows(connection, query, kind, record_key) for query in (SOURCES, CHANGES, REMARKS, WITHDRAWN)]
    return Trace(kind, record_key, _is_stored(connection, kind, record_key), *found)


def _is_stored(connection: sqlite3.Connection, kind: str, record_key: str) -> bool:
    query = f'SELECT 1 FROM "{kind}" WHERE record_key = ?'  # noqa: S608  # one of our own names
    return connection.execute(query, (record_key,)).fetchone() is not None


def _rows(connection: sqlite3.Connection, query: str, kind: str, record_key: str) -> list[Row]:
    found = connection.execute(query, (kind, record_key))
    names = [description[0] for description in found.description]
    return [dict(zip(names, row, strict=True)) for row in found]
