"""Corrections to stored records: new rows beside the original, never in its place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.errors import UsageError
from roadwatch.records.fields import ID_FIELD, RECORD_KINDS
from roadwatch.records.store_columns import AS_WRITTEN
from roadwatch.records.store_reading import from_text, read_table
from roadwatch.records.store_schema import table_columns

if TYPE_CHECKING:
    import sqlite3

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
    before = record[field].iloc[0]
    old = None if before is None or before != before else str(before)  # nan is not itself
    connection.execute(
        "INSERT INTO changes (who, changed_at, kind, record_key, field, old, new, why) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (who, when, kind, record_key, field, old, new, why),
    )
    return old
