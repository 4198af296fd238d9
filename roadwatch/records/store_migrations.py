"""Steps that bring an older season file to today's schema, one version at a time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.records.fields import RECORD_KINDS
from roadwatch.records.store_schema import INDEXES, KEY, PLAIN_TABLES, create_plain_table, stored_columns, table_columns

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Mapping

NEW_IN_2 = {
    "held_back": ("columns", "proposal", "cells", "settled_how", "settled_in", "record_key"),
    "changes": ("undone_at",),
}


def to_version_2(connection: sqlite3.Connection) -> None:
    """
    Let rows held back keep their cells and proposals, and let a batch be undone; inside the caller's transaction.

    The table of batches is made anew, because SQLite cannot take a rule away from a table: foreign keys must be off.
    """
    columns = ", ".join(table_columns(connection, "batches"))
    connection.execute(f"CREATE TABLE batches_2 ({KEY}, {PLAIN_TABLES['batches'][1]})")
    connection.execute(f"INSERT INTO batches_2 (id, {columns}) SELECT id, {columns} FROM batches")  # noqa: S608
    connection.execute("DROP TABLE batches")
    connection.execute("ALTER TABLE batches_2 RENAME TO batches")
    for table, names in NEW_IN_2.items():
        for name in names:
            kind = "INTEGER REFERENCES batches (id)" if name == "settled_in" else "TEXT"
            connection.execute(f"ALTER TABLE {table} ADD COLUMN {name} {kind}")
    create_plain_table(connection, "withdrawn")
    for statement in INDEXES:
        connection.execute(statement)
    _add_new_fields(connection)


def _add_new_fields(connection: sqlite3.Connection) -> None:
    """Give every kind of record the columns that its fields have today."""
    for kind in RECORD_KINDS:
        present = table_columns(connection, kind)
        for column in stored_columns(kind):
            if column.name not in present:
                connection.execute(f'ALTER TABLE "{kind}" ADD COLUMN {column.definition}')


MIGRATIONS: Mapping[int, Callable[[sqlite3.Connection], None]] = {1: to_version_2}
"""From each older schema version, the step to the next one."""
