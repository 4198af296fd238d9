"""Taking a batch back: its records leave the season with their trace, and nothing of them is lost."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from roadwatch.errors import UsageError
from roadwatch.records.store_decisions import forget_decisions
from roadwatch.records.store_schema import table_columns

if TYPE_CHECKING:
    import sqlite3


@dataclass(frozen=True)
class Undone:
    """
    What became of a batch that was taken back.

    Parameters
    ----------
    batch, file_name, kind
        The batch.
    withdrawn
        Records that left the season.
    kept
        Records that stay, because another batch tells of them too.
    dropped
        Rows of the batch that were held back and no longer wait for a cure.
    reopened
        Rows of other batches that are held back again, because this batch had mended or replaced them.
    corrections
        Corrections of withdrawn records that no longer hold.
    orphans
        Nest checks whose nest left the season.
    """

    batch: int
    file_name: str
    kind: str
    withdrawn: int
    kept: int
    dropped: int
    reopened: int
    corrections: int
    orphans: int


def undo_batch(connection: sqlite3.Connection, number: int, *, who: str, when: str, why: str) -> Undone:
    """
    Take a batch back inside the caller's transaction.

    Its records go, as they were stored, into the table ``withdrawn``; its rows, their wording and all corrections stay
    where they are.

    Raises
    ------
    UsageError
        There is no such batch, or it was undone before.
    """
    file_name, kind = _standing_batch(connection, number)
    kept = _keep_what_others_tell(connection, number, kind)
    withdrawn = _withdraw(connection, number, kind, when)
    corrections = connection.execute(
        "UPDATE changes SET undone_at = ? WHERE kind = ? AND undone_at IS NULL AND record_key IN "
        "(SELECT record_key FROM withdrawn WHERE batch = ? AND withdrawn_at = ?)",
        (when, kind, number, when),
    ).rowcount
    forget_decisions(connection, number, when)
    dropped = connection.execute(
        "UPDATE held_back SET settled_at = ?, settled_how = 'undone' WHERE batch = ? AND settled_at IS NULL",
        (when, number),
    ).rowcount
    reopened = _reopen(connection, number)
    connection.execute(
        "UPDATE batches SET undone_at = ?, undone_by = ?, undone_why = ? WHERE id = ?", (when, who, why, number)
    )
    orphans = _orphans(connection, number) if kind == "nests" else 0
    return Undone(number, file_name, kind, withdrawn, kept, dropped, reopened, corrections, orphans)


def _standing_batch(connection: sqlite3.Connection, number: int) -> tuple[str, str]:
    row = connection.execute(
        "SELECT file_name, kind, undone_at, undone_by FROM batches WHERE id = ?", (number,)
    ).fetchone()
    if row is None:
        raise UsageError(f"the season holds no batch {number}; 'roadwatch undo' with the season alone lists them")
    file_name, kind, undone_at, undone_by = row
    if undone_at is not None:
        raise UsageError(
            f"batch {number} ({file_name}) was undone already, by {undone_by} at {undone_at}; nothing changed"
        )
    return str(file_name), str(kind)


def _keep_what_others_tell(connection: sqlite3.Connection, number: int, kind: str) -> int:
    """Hand records that another standing batch tells of over to the first such batch."""
    own = [key for (key,) in connection.execute(f'SELECT record_key FROM "{kind}" WHERE batch = ?', (number,))]  # noqa: S608
    told = connection.execute(
        "SELECT record_id, min(batch) FROM source_rows JOIN batches ON batches.id = batch WHERE batch <> ?1 "
        "AND kind = ?2 AND undone_at IS NULL AND record_id IN (SELECT value FROM json_each(?3)) GROUP BY record_id",
        (number, kind, json.dumps(own)),
    ).fetchall()
    heirs = [(heir, key) for key, heir in told]
    connection.executemany(f'UPDATE "{kind}" SET batch = ? WHERE record_key = ?', heirs)  # noqa: S608
    connection.executemany(
        "UPDATE batches SET accepted = accepted + 1, known = known - 1 WHERE id = ?", [(heir,) for heir, _ in heirs]
    )
    return len(heirs)


def _withdraw(connection: sqlite3.Connection, number: int, kind: str, when: str) -> int:
    names = list(table_columns(connection, kind))
    query = f"""SELECT {", ".join(f'"{name}"' for name in names)} FROM "{kind}" WHERE batch = ?"""  # noqa: S608
    rows = [dict(zip(names, row, strict=True)) for row in connection.execute(query, (number,))]
    connection.executemany(
        "INSERT INTO withdrawn (batch, kind, record_key, content, withdrawn_at) VALUES (?, ?, ?, ?, ?)",
        ((number, kind, row["record_key"], _content(row), when) for row in rows),
    )
    connection.execute(f'DELETE FROM "{kind}" WHERE batch = ?', (number,))  # noqa: S608
    return len(rows)


def _content(row: dict[str, object]) -> str:
    return json.dumps({name: value for name, value in row.items() if value is not None}, ensure_ascii=False)


def _reopen(connection: sqlite3.Connection, number: int) -> int:
    """Rows of other batches that this one had mended or replaced are held back again, where their own batch stands."""
    where = (
        "settled_in = ?1 AND settled_how IN ('mended', 'replaced') "
        "AND batch IN (SELECT id FROM batches WHERE undone_at IS NULL AND id <> ?1)"
    )
    per_batch = connection.execute(
        f"SELECT count(*), batch FROM held_back WHERE {where} GROUP BY batch",  # noqa: S608
        (number,),
    ).fetchall()
    connection.execute(
        f"UPDATE held_back SET settled_at = NULL, settled_how = NULL, settled_in = NULL, record_key = NULL "  # noqa: S608
        f"WHERE {where}",
        (number,),
    )
    connection.executemany("UPDATE batches SET held_back = held_back + ?1, known = known - ?1 WHERE id = ?2", per_batch)
    return sum(count for count, _ in per_batch)


def _orphans(connection: sqlite3.Connection, number: int) -> int:
    (count,) = connection.execute(
        "SELECT count(*) FROM checks WHERE nest_id IN (SELECT record_key FROM withdrawn WHERE batch = ?)", (number,)
    ).fetchone()
    return int(count)
