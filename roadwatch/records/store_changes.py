"""Corrections to stored records: new rows beside the original, never in its place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.errors import UsageError
from roadwatch.records.fields import ID_FIELD, RECORD_KINDS
from roadwatch.records.store_columns import AS_WRITTEN, text_of_value
from roadwatch.records.store_reading import from_text, read_table
from roadwatch.records.store_schema import table_columns

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Sequence

    import pandas as pd

    from roadwatch.records.tables import Repair

PROGRAM = "roadwatch"
"""Who mends a slip that the season's own extent tells for certain."""

COORDINATOR = "coordinator"
"""Who decides where nobody is named."""

INSERT = "INSERT INTO changes (who, changed_at, kind, record_key, field, old, new, why) VALUES (?, ?, ?, ?, ?, ?, ?, ?)"
NOT_AMENDABLE = ("record_key", "batch", "other")


def add_change(
    connection: sqlite3.Connection,
    kind: str,
    record_key: str,
    field: str,
    new: str | None,
    *,
    who: str,
    when: str,
    why: str,
) -> str | None:
    """
    Correct one field of one record, inside the caller's transaction; the stored row stays as it is.

    Parameters
    ----------
    connection
        An open season.
    kind, record_key, field
        Which cell.
    new
        Its new value as text; None makes it blank.
    who, when, why
        Who corrects it, at what ISO 8601 time, and for what reason.

    Returns
    -------
    The value it had before, as text.

    Raises
    ------
    UsageError
        No such record or field, no reason given, or the new value does not fit the field.
    """
    if kind not in RECORD_KINDS:
        raise UsageError(f"{kind!r} are not records; amend one of {', '.join(RECORD_KINDS)}")
    if not why.strip():
        raise UsageError("a correction needs its reason; say why")
    columns = table_columns(connection, kind)
    if field not in columns or field in (*NOT_AMENDABLE, ID_FIELD.get(kind)) or field.endswith(AS_WRITTEN):
        raise UsageError(f"{field!r} cannot be amended in {kind}; see 'roadwatch fields {kind}'")
    record = read_table(connection, kind, columns=[field], keys=[record_key])
    if record.empty:
        raise UsageError(f"the season holds no record {record_key!r} among its {kind}; check the name")
    try:
        from_text([new], columns[field])
    except ValueError as error:
        raise UsageError(f"{field} {new!r} does not fit; see what 'roadwatch fields {kind}' expects") from error
    old = text_of_value(record[field].iloc[0])
    connection.execute(INSERT, (who, when, kind, record_key, field, old, new, why))
    return old


def insert_repairs(
    connection: sqlite3.Connection,
    kind: str,
    rows: pd.DataFrame,
    repairs: Sequence[Repair],
    *,
    who: str,
    when: str,
) -> tuple[Repair, ...]:
    """
    Keep the trace of slips mended in rows that have just been stored.

    Parameters
    ----------
    connection
        An open season.
    kind
        Kind of record.
    rows
        (n,) the stored rows, with ``record_key`` and ``line``.
    repairs
        What was mended; those of other lines are passed over.
    who, when
        Who mended them, and at what ISO 8601 time.

    Returns
    -------
    The repairs whose row was stored.
    """
    if not repairs:
        return ()
    row_of = {int(line): k for k, line in enumerate(rows["line"])}
    done = tuple(repair for repair in repairs if repair.line in row_of)
    keys = rows["record_key"].tolist()
    connection.executemany(
        INSERT,
        [
            (who, when, kind, keys[row], one.column, one.old, _stored(rows, row, one), one.why)
            for one in done
            for row in [row_of[one.line]]
        ],
    )
    return done


def _stored(rows: pd.DataFrame, row: int, repair: Repair) -> str | None:
    """The value as it was stored, so that reading the correction back changes nothing."""
    return text_of_value(rows[repair.column].iloc[row]) if repair.column in rows else repair.new
