"""What kind of record a table of a file holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.records.columns import guess_kind
from roadwatch.records.fields import RECORD_KINDS, Kind
from roadwatch.season.mending import is_mended

if TYPE_CHECKING:
    from roadwatch.records.tables import RawTable


def kind_of_table(raw: RawTable, asked: str | None) -> Kind | None:
    """
    The kind of record that a table holds; None where nothing tells.

    Parameters
    ----------
    raw
        The table.
    asked
        What the user says it is; None leaves it to the file and its columns.
    """
    found = asked or raw.kind or guess_kind([str(name) for name in raw.rows.columns])
    if is_mended(raw):
        return "crossings"
    return next((kind for kind in RECORD_KINDS if kind == found), None)


def untold(raw: RawTable) -> str:
    """Say that a table does not tell what it holds, and how to say it."""
    names = [str(name) for name in raw.rows.columns]
    return (
        f"{raw.source}: the columns {', '.join(names[:12])} do not tell what the rows are; "
        f"say it with '--as' and one of {', '.join(RECORD_KINDS)}, or see 'roadwatch fields crossings'"
    )
