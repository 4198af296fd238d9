"""Rows held back of which nothing can be made: closed with a reason, kept as they stand, opened again on demand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.errors import UsageError
from roadwatch.records.store_changes import INSERT, PROGRAM
from roadwatch.records.store_held_back import HELD_ROW, HeldRow, find_held_row, settle

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Sequence

    from roadwatch.records.store_held_back import Settled

OPEN = "open"
DISCARDED: Settled = "discarded"

COUNT = "(SELECT count(*) FROM held_back WHERE batch = batches.id AND settled_how = 'discarded')"
"""How many rows of a batch were discarded, as a part of a query of batches."""


DISCARDED_CELLS = """
SELECT cells, 'h' || batch || '-' || line, (SELECT why FROM changes WHERE field = ?1
  AND changes.record_key = 'h' || batch || '-' || line ORDER BY changes.id DESC LIMIT 1)
FROM held_back JOIN batches ON batches.id = batch
WHERE settled_how = 'discarded' AND undone_at IS NULL AND kind = ?2 AND batch <> ?3 AND cells IS NOT NULL
ORDER BY held_back.id DESC
"""
"""What the discarded rows of a kind say, the earliest last."""


def discard_rows(
    connection: sqlite3.Connection, held_back_ids: Sequence[str], *, who: str, when: str, why: str
) -> list[HeldRow]:
    """
    Close rows held back for good, all or none, inside the caller's transaction; returns them as they stood.

    Parameters
    ----------
    connection
        An open season.
    held_back_ids
        The rows.
    who, when, why
        Who discards them, at what ISO 8601 time, and for what reason.

    Raises
    ------
    UsageError
        There is no such row, it was settled before, or no reason is given.
    """
    rows = _asked_rows(connection, held_back_ids, why=why)
    for row in rows:
        if row.settled_how:
            became = f" and is now record {row.record_key}" if row.record_key else ""
            raise UsageError(f"row {row.held_back_id} was settled before ({row.settled_how}){became}; nothing changed")
    places = [(row.batch, row.line) for row in rows]
    settle(connection, places, how=DISCARDED, when=when, batch=None, record_keys=[None] * len(rows))
    _tell(connection, rows, (OPEN, DISCARDED), told=(who, when, why))
    return rows


def reopen_rows(
    connection: sqlite3.Connection, held_back_ids: Sequence[str], *, who: str, when: str, why: str
) -> list[HeldRow]:
    """
    Let discarded rows wait for a cure again, all or none, inside the caller's transaction.

    Parameters
    ----------
    connection
        An open season.
    held_back_ids
        The rows.
    who, when, why
        Who opens them again, at what ISO 8601 time, and for what reason.

    Raises
    ------
    UsageError
        There is no such row, it was not discarded, or no reason is given.
    """
    rows = _asked_rows(connection, held_back_ids, why=why)
    for row in rows:
        if row.settled_how != DISCARDED:
            raise UsageError(f"row {row.held_back_id} was not discarded; nothing changed")
    connection.executemany(
        "UPDATE held_back SET settled_at = NULL, settled_how = NULL WHERE batch = ? AND line = ?",
        [(row.batch, row.line) for row in rows],
    )
    _tell(connection, rows, (DISCARDED, OPEN), told=(who, when, why))
    return rows


def discard_again(connection: sqlite3.Connection, number: int, *, when: str) -> tuple[int, ...]:
    """
    Discard rows of a new batch that say in every cell what a discarded row of the same kind says; returns their lines.

    A person has decided about these words: a file that is sent again with more rows does not ask for them anew.
    """
    (kind,) = connection.execute("SELECT kind FROM batches WHERE id = ?", (number,)).fetchone()
    told = {cells: twin for cells, *twin in connection.execute(DISCARDED_CELLS, (HELD_ROW, kind, number))}
    if not told:
        return ()
    query = "SELECT line, cells FROM held_back WHERE batch = ? AND settled_at IS NULL ORDER BY line"
    again = {line: told[cells] for line, cells in connection.execute(query, (number,)) if cells in told}
    places = [(number, line) for line in again]
    settle(connection, places, how=DISCARDED, when=when, batch=None, record_keys=[None] * len(places))
    whys = {line: f"the same words were discarded before as {twin}: {why}" for line, (twin, why) in again.items()}
    rows = [(PROGRAM, when, kind, f"h{number}-{line}", HELD_ROW, OPEN, DISCARDED, why) for line, why in whys.items()]
    connection.executemany(INSERT, rows)
    return tuple(again)


def _asked_rows(connection: sqlite3.Connection, held_back_ids: Sequence[str], *, why: str) -> list[HeldRow]:
    if not why.strip():
        raise UsageError("discarding a row, or opening it again, needs its reason; say why")
    rows = {row.held_back_id: row for row in (find_held_row(connection, one) for one in held_back_ids)}
    return list(rows.values())


def _tell(
    connection: sqlite3.Connection, rows: Sequence[HeldRow], states: tuple[str, str], *, told: tuple[str, str, str]
) -> None:
    who, when, why = told
    before, after = states
    connection.executemany(
        INSERT, [(who, when, row.kind, row.held_back_id, HELD_ROW, before, after, why) for row in rows]
    )
