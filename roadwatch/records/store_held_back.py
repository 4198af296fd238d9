"""Rows held back: kept with their cells, shown with an id of their own, and settled when they have been mended."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from roadwatch.errors import UsageError

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable, Mapping, Sequence

    from roadwatch.records.tables import RowFault

Settled = Literal["read again", "mended", "accepted", "undone", "replaced", "discarded"]
"""
How a row held back was settled: by the same file, a mended one, an accepted proposal, with its batch, by its mended
row in a newer copy of its file, or because nothing can be made of it.
"""

HELD_ROW = "row held back"
"""The field under which a row's discarding stands among the corrections, by the row's id."""

WHY = (
    "(SELECT why || ' (' || who || ', ' || substr(changed_at, 1, 10) || ')' FROM changes WHERE field = ?3 "
    "AND changes.record_key = 'h' || batch || '-' || line ORDER BY changes.id DESC LIMIT 1)"
)

_ID = re.compile(r"h?(\d{1,18})-(\d{1,18})", re.ASCII | re.IGNORECASE)


@dataclass(frozen=True, eq=False)
class HeldRow:
    """
    One row that was not stored.

    Parameters
    ----------
    batch, line
        Number of the batch, and the line or feature number in its file.
    file_name, kind
        What the batch was read from, and the kind of record.
    original
        The row as it stands in the file.
    reasons
        Why it was held back, one sentence a line of text.
    columns
        The columns at fault, separated by commas.
    proposal
        Canonical field to the text that is likely right; empty where nothing is proposed.
    cells
        Written column to text, blanks left out; None where the reader could not cut the row into cells.
    reading
        How the file was read, as the batch says; empty where it does not.
    settled_how, settled_in, record_key
        How and by which batch it was settled, and the record that came of it; None where it is open.
    why
        Why it was discarded, and who did so; empty for all others.
    """

    batch: int
    line: int
    file_name: str
    kind: str
    original: str
    reasons: str
    columns: str
    proposal: Mapping[str, str]
    cells: Mapping[str, str] | None
    reading: Mapping[str, object]
    settled_how: str | None
    settled_in: int | None
    record_key: str | None
    why: str = ""

    @property
    def held_back_id(self) -> str:
        """What a person calls the row: its batch and line, such as ``h3-70``; no spreadsheet takes that for a date."""
        return f"h{self.batch}-{self.line}"


def split_held_back_id(text: str) -> tuple[int, int] | None:
    """
    Batch and line of an id, None where the text is none.

    >>> split_held_back_id("h3-70"), split_held_back_id("3-70")
    ((3, 70), (3, 70))
    """
    match = _ID.fullmatch(text.strip())
    return (int(match[1]), int(match[2])) if match else None


def held_rows(
    connection: sqlite3.Connection, *, batch: int | None = None, is_settled: bool | None = False
) -> list[HeldRow]:
    """
    Rows held back, in the order of batches and lines.

    Parameters
    ----------
    connection
        An open season.
    batch
        Number of the batch; None for all.
    is_settled
        False for the open ones, True for the settled ones, None for both.
    """
    found = connection.execute(
        f"SELECT batch, line, file_name, kind, original, reasons, columns, proposal, cells, reading, settled_how, "  # noqa: S608
        f"settled_in, record_key, CASE settled_how WHEN 'discarded' THEN {WHY} END FROM held_back "
        "JOIN batches ON batch = batches.id WHERE undone_at IS NULL AND batch = coalesce(?1, batch) "
        "AND (settled_at IS NOT NULL) = coalesce(?2, settled_at IS NOT NULL) ORDER BY batch, line, held_back.id",
        (batch, is_settled, HELD_ROW),
    )
    return [_held_row(row) for row in found]


def _held_row(row: tuple[int, int, str, str, str, str, str, str, str, str, str, int, str, str]) -> HeldRow:
    batch, line, file_name, kind, original, reasons, columns, proposal, cells, reading, how, settled_in, key, why = row
    return HeldRow(
        batch=batch,
        line=line,
        file_name=file_name,
        kind=kind,
        original=original,
        reasons=reasons,
        columns=columns or "",
        proposal=json.loads(proposal or "{}"),
        cells=json.loads(cells) if cells else None,
        reading=json.loads(reading or "{}"),
        settled_how=how,
        settled_in=settled_in,
        record_key=key,
        why=why or "",
    )


def insert_held_back(
    connection: sqlite3.Connection, batch: int, faults: Iterable[RowFault], cells: Mapping[int, Mapping[str, str]]
) -> None:
    """Keep rows that are not stored, all faults of a line together."""
    connection.executemany(
        "INSERT INTO held_back (reasons, columns, proposal, cells, original, batch, line) VALUES (?, ?, ?, ?, ?, ?, ?)",
        ((*told, those[0].original, batch, line) for line, those, told in _by_line(faults, cells)),
    )


def restate_held_back(
    connection: sqlite3.Connection, batch: int, faults: Iterable[RowFault], cells: Mapping[int, Mapping[str, str]]
) -> None:
    """Say why rows still held back are so today."""
    connection.executemany(
        "UPDATE held_back SET reasons = ?, columns = ?, proposal = ?, cells = coalesce(?, cells) "
        "WHERE batch = ? AND line = ? AND settled_at IS NULL",
        ((*told, batch, line) for line, _, told in _by_line(faults, cells)),
    )


def settle(
    connection: sqlite3.Connection,
    places: Sequence[tuple[int, int]],
    *,
    how: Settled,
    when: str,
    batch: int | None,
    record_keys: Sequence[str | None],
) -> int:
    """
    Close rows held back; they stay in the table. Returns how many were open.

    Parameters
    ----------
    connection
        An open season.
    places
        Batch and line of each row.
    how, when, batch
        How and when they were settled, and by which batch.
    record_keys
        The record that came of each, None where none did.
    """
    done = connection.executemany(
        "UPDATE held_back SET settled_at = ?, settled_how = ?, settled_in = ?, record_key = ? "
        "WHERE batch = ? AND line = ? AND settled_at IS NULL",
        [(when, how, batch, key, *place) for key, place in zip(record_keys, places, strict=True)],
    )
    return done.rowcount if places else 0


def find_held_row(connection: sqlite3.Connection, held_back_id: str) -> HeldRow:
    """
    The row of an id, open or settled.

    Raises
    ------
    UsageError
        There is no such row.
    """
    place = split_held_back_id(held_back_id)
    found = held_rows(connection, batch=place[0], is_settled=None) if place else []
    rows = [row for row in found if place and row.line == place[1]]
    if not rows:
        raise UsageError(f"no row held back is called '{held_back_id}'; 'roadwatch problems' lists them with their ids")
    return rows[-1]


def _by_line(
    faults: Iterable[RowFault], cells: Mapping[int, Mapping[str, str]]
) -> list[tuple[int, list[RowFault], tuple[str, str, str | None, str | None]]]:
    by_line: dict[int, list[RowFault]] = {}
    for fault in faults:
        by_line.setdefault(fault.line, []).append(fault)
    return [(line, those, _told(those, cells.get(line))) for line, those in sorted(by_line.items())]


def _told(faults: Sequence[RowFault], cells: Mapping[str, str] | None) -> tuple[str, str, str | None, str | None]:
    """Reasons, columns at fault, proposal and cells of one line, as they are kept."""
    reasons = "\n".join(dict.fromkeys(fault.reason for fault in faults))
    columns = ", ".join(dict.fromkeys(fault.column for fault in faults if fault.column))
    proposal = {name: text for fault in reversed(faults) for name, text in (fault.proposal or {}).items()}
    return reasons, columns, _json(proposal) if proposal else None, None if cells is None else _json(cells)


def _json(values: Mapping[str, str]) -> str:
    return json.dumps(values, ensure_ascii=False)
