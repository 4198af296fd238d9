"""Keeping what was read from one file: every row stored, known or held back, with the place it came from."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from roadwatch.errors import UsageError
from roadwatch.records.fields import RECORD_KINDS, Kind
from roadwatch.records.store_columns import none_where
from roadwatch.records.store_judging import Verdict, judge
from roadwatch.records.store_rows import insert_rows, typed_rows

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Sequence

    import pandas as pd

    from roadwatch.records.tables import RowFault

HELD_BACK = "hold back"


@dataclass(frozen=True, eq=False)
class Batch:
    """
    What was read from one table of one file.

    Parameters
    ----------
    file_name
        How messages call the table.
    sha256
        Hexadecimal digest of the whole file.
    kind
        Kind of record.
    ingested_at
        ISO 8601 time of reading, given by the caller.
    accepted
        (n,) rows with ``line``, ``original`` and the canonical columns of the kind, and where it has them ``seen_*``,
        ``taxon_as_written``, ``other`` and ``geometry``. Other columns are not stored.
    held_back
        Everything found wrong. A line with a fault of severity "hold back" is not stored even where it is among
        ``accepted``; "ask" and "note" are kept as remarks on the stored row.
    """

    file_name: str
    sha256: str
    kind: Kind
    ingested_at: str
    accepted: pd.DataFrame
    held_back: Sequence[RowFault] = ()


@dataclass(frozen=True)
class BatchReport:
    """What became of a batch: ``rows_in = accepted + known + held_back``; ``conflicts`` are faults found in storing."""

    batch: int
    rows_in: int
    accepted: int
    known: int
    held_back: int
    message: str
    conflicts: tuple[RowFault, ...] = ()


def store_batch(connection: sqlite3.Connection, batch: Batch) -> BatchReport:
    """
    Store a batch inside the caller's transaction; one read before adds only rows that were held back then.

    Raises
    ------
    UsageError
        The kind is not one of records.
    UnfitFileError
        A column name cannot be kept.
    """
    if batch.kind not in RECORD_KINDS:
        raise UsageError(f"{batch.kind!r} are not records; take in one of {', '.join(RECORD_KINDS)}")
    held_lines = {fault.line for fault in batch.held_back if fault.severity == HELD_BACK}
    good = batch.accepted[~batch.accepted["line"].isin(held_lines)]
    rows_sha256 = _rows_digest(batch)
    earlier = connection.execute(
        "SELECT id FROM batches WHERE sha256 = ? AND kind = ? AND rows_sha256 = ?",
        (batch.sha256, batch.kind, rows_sha256),
    ).fetchone()
    if earlier:
        return _store_again(connection, batch, good, earlier[0])
    return _store_first(connection, batch, good, rows_sha256)


def _store_first(connection: sqlite3.Connection, batch: Batch, good: pd.DataFrame, rows_sha256: str) -> BatchReport:
    rows, columns = typed_rows(good, batch.kind, source=batch.file_name)
    verdict = judge(connection, rows, columns, kind=batch.kind, source=batch.file_name)
    faults = [*(fault for fault in batch.held_back if fault.severity == HELD_BACK), *verdict.conflicts]
    counts = (int(verdict.is_new.sum()), int(verdict.is_known.sum()), len({fault.line for fault in faults}))
    number = connection.execute(
        "INSERT INTO batches (file_name, sha256, kind, rows_sha256, ingested_at, rows_in, accepted, known, held_back) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (batch.file_name, batch.sha256, batch.kind, rows_sha256, batch.ingested_at, sum(counts), *counts),
    ).lastrowid
    assert number is not None
    insert_rows(connection, rows[verdict.is_new], columns, kind=batch.kind, batch=number)
    _insert_source_rows(connection, number, rows, verdict, faults)
    _insert_held_back(connection, number, faults)
    _insert_remarks(connection, number, batch, rows[verdict.is_new | verdict.is_known])
    accepted, known, held = counts
    message = f"{batch.file_name}: {sum(counts)} rows, {accepted} stored, {known} already known, {held} held back"
    return BatchReport(number, sum(counts), accepted, known, held, message, verdict.conflicts)


def _store_again(connection: sqlite3.Connection, batch: Batch, good: pd.DataFrame, number: int) -> BatchReport:
    """Look again at the lines still held back: what they lacked, such as their nest, may have come since."""
    still_held = {
        line
        for (line,) in connection.execute(
            "SELECT line FROM held_back WHERE batch = ? AND settled_at IS NULL", (number,)
        )
    }
    rows, columns = typed_rows(good[good["line"].isin(still_held)], batch.kind, source=batch.file_name)
    verdict = judge(connection, rows, columns, kind=batch.kind, source=batch.file_name)
    insert_rows(connection, rows[verdict.is_new], columns, kind=batch.kind, batch=number)
    settled = rows[verdict.is_new | verdict.is_known]
    lines = [(number, int(line)) for line in settled["line"]]
    connection.executemany(
        "UPDATE source_rows SET record_id = ? WHERE batch = ? AND line = ?",
        [(key, *line) for key, line in zip(settled["record_key"], lines, strict=True)],
    )
    connection.executemany(
        "UPDATE held_back SET settled_at = ? WHERE batch = ? AND line = ?",
        [(batch.ingested_at, *line) for line in lines],
    )
    _insert_remarks(connection, number, batch, settled)
    accepted = int(verdict.is_new.sum())
    connection.execute(
        "UPDATE batches SET accepted = accepted + ?1, known = known + ?2 - ?1, held_back = held_back - ?2 "
        "WHERE id = ?3",
        (accepted, len(settled), number),
    )
    rows_in, held = connection.execute("SELECT rows_in, held_back FROM batches WHERE id = ?", (number,)).fetchone()
    message = f"{batch.file_name}: read before as batch {number}; " + (
        f"{len(settled)} rows held back then are stored now" if lines else "nothing added"
    )
    return BatchReport(number, rows_in, accepted, rows_in - accepted - held, held, message, verdict.conflicts)


def _rows_digest(batch: Batch) -> str:
    """A digest of the rows' wording, which tells the tables of one file apart whatever the file is called."""
    wording = dict(zip(batch.accepted["line"].tolist(), batch.accepted["original"].tolist(), strict=True))
    wording |= {fault.line: fault.original for fault in batch.held_back if fault.severity == HELD_BACK}
    digest = hashlib.sha256()
    for line in sorted(wording):
        digest.update(f"{line}\x1f{wording[line]}\x1e".encode("utf-8", "surrogatepass"))
    return digest.hexdigest()


def _insert_source_rows(
    connection: sqlite3.Connection, number: int, rows: pd.DataFrame, verdict: Verdict, faults: list[RowFault]
) -> None:
    is_kept = verdict.is_new | verdict.is_known
    lines, originals = rows["line"].astype(int).tolist(), rows["original"].tolist()
    records = none_where(~is_kept, rows["record_key"].to_numpy(dtype=object)).tolist()
    every = dict(zip(lines, zip(records, originals, strict=True), strict=True))
    for fault in faults:
        every.setdefault(fault.line, (None, fault.original))
    connection.executemany(
        "INSERT INTO source_rows (batch, line, record_id, original) VALUES (?, ?, ?, ?)",
        ((number, line, *every[line]) for line in sorted(every)),
    )


def _insert_held_back(connection: sqlite3.Connection, number: int, faults: list[RowFault]) -> None:
    by_line: dict[int, list[RowFault]] = {}
    for fault in faults:
        by_line.setdefault(fault.line, []).append(fault)
    connection.executemany(
        "INSERT INTO held_back (batch, line, original, reasons) VALUES (?, ?, ?, ?)",
        (
            (number, line, those[0].original, "\n".join(dict.fromkeys(fault.reason for fault in those)))
            for line, those in sorted(by_line.items())
        ),
    )


def _insert_remarks(connection: sqlite3.Connection, number: int, batch: Batch, kept: pd.DataFrame) -> None:
    key_of = dict(zip(kept["line"].tolist(), kept["record_key"].tolist(), strict=True))
    connection.executemany(
        "INSERT INTO remarks (batch, line, record_key, severity, reason) VALUES (?, ?, ?, ?, ?)",
        (
            (number, fault.line, key_of[fault.line], fault.severity, fault.reason)
            for fault in batch.held_back
            if fault.severity != HELD_BACK and fault.line in key_of
        ),
    )
