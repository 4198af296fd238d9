"""Keeping what was read from one file: every row stored, known or held back, with the place it came from."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field, replace
from itertools import islice
from typing import TYPE_CHECKING

from roadwatch.errors import UsageError
from roadwatch.records.fields import RECORD_KINDS, Kind
from roadwatch.records.store_changes import PROGRAM, insert_repairs
from roadwatch.records.store_columns import none_where
from roadwatch.records.store_discards import discard_again
from roadwatch.records.store_held_back import insert_held_back, restate_held_back, settle
from roadwatch.records.store_judging import Verdict, judge
from roadwatch.records.store_rows import insert_rows, typed_rows
from roadwatch.records.store_settling import count_settled, settle_mended, settle_replaced

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterator, Mapping, Sequence

    import pandas as pd

    from roadwatch.records.store_held_back import Settled
    from roadwatch.records.tables import Repair, RowFault

HELD_BACK = "hold back"
DIGEST_ROWS = 10_000
"""Rows whose wording is joined before it goes into a digest."""


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
    repairs
        Slips mended for certain; ``accepted`` holds the new values, and ``changes`` keeps the trace.
    amended, amended_by
        What a person decided in rows that were held back, and who; kept in ``changes`` too.
    cells
        Line to written column and text, of the rows held back.
    mends
        Line to batch and line of the row held back whose place it takes.
    replaces
        The same for rows of an older copy of the file; they are closed only where the line is a record that no row
        of the older copy told of, or is held back again with the same wording.
    reading
        How the file was read, in plain values.
    """

    file_name: str
    sha256: str
    kind: Kind
    ingested_at: str
    accepted: pd.DataFrame
    held_back: Sequence[RowFault] = ()
    repairs: Sequence[Repair] = ()
    amended: Sequence[Repair] = ()
    amended_by: str = ""
    cells: Mapping[int, Mapping[str, str]] = field(default_factory=dict)
    mends: Mapping[int, tuple[int, int]] = field(default_factory=dict)
    replaces: Mapping[int, tuple[int, int]] = field(default_factory=dict)
    reading: Mapping[str, object] = field(default_factory=dict)

    @property
    def held_lines(self) -> set[int]:
        """The lines that may not be stored."""
        return {fault.line for fault in self.held_back if fault.severity == HELD_BACK}


@dataclass(frozen=True)
class BatchReport:
    """
    What became of a batch: ``rows_in = accepted + known + held_back + discarded``.

    ``conflicts`` are faults found in storing, ``repairs`` those whose record was stored; ``replaced`` counts the rows
    held back in older copies of the file that these rows take the place of, ``discarded_lines`` are those whose words
    had been discarded before.
    """

    batch: int
    rows_in: int
    accepted: int
    known: int
    held_back: int
    message: str
    conflicts: tuple[RowFault, ...] = ()
    repairs: tuple[Repair, ...] = ()
    discarded: int = 0
    discarded_lines: tuple[int, ...] = ()
    replaced: int = 0


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
    rows_sha256 = _rows_digest(batch)
    earlier = connection.execute(
        "SELECT id FROM batches WHERE sha256 = ? AND kind = ? AND rows_sha256 = ? AND undone_at IS NULL",
        (batch.sha256, batch.kind, rows_sha256),
    ).fetchone()
    if earlier:
        return store_held_rows(connection, earlier[0], batch)
    return _store_first(connection, batch, rows_sha256)


def _store_first(connection: sqlite3.Connection, batch: Batch, rows_sha256: str) -> BatchReport:
    good = batch.accepted[~batch.accepted["line"].isin(batch.held_lines)]
    rows, columns = typed_rows(good, batch.kind, source=batch.file_name)
    verdict = judge(connection, rows, columns, kind=batch.kind, source=batch.file_name)
    faults = [*(fault for fault in batch.held_back if fault.severity == HELD_BACK), *verdict.conflicts]
    counts = (int(verdict.is_new.sum()), int(verdict.is_known.sum()), len({fault.line for fault in faults}))
    number = connection.execute(
        "INSERT INTO batches (file_name, sha256, kind, rows_sha256, ingested_at, rows_in, accepted, known, held_back, "
        "reading) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            *(batch.file_name, batch.sha256, batch.kind, rows_sha256, batch.ingested_at),
            *(sum(counts), *counts, json.dumps(batch.reading, ensure_ascii=False) if batch.reading else None),
        ),
    ).lastrowid
    assert number is not None
    new, kept = rows[verdict.is_new], rows[verdict.is_new | verdict.is_known]
    insert_rows(connection, new, columns, kind=batch.kind, batch=number)
    _insert_source_rows(connection, number, rows, verdict, faults)
    insert_held_back(connection, number, faults, batch.cells)
    _insert_remarks(connection, number, batch, kept)
    repairs = _insert_changes(connection, batch, new)
    settle_mended(connection, number, batch, kept)
    replaced = settle_replaced(connection, number, batch, kept)
    again = discard_again(connection, number, when=batch.ingested_at)
    accepted, known, held = counts[0], counts[1], counts[2] - len(again)
    message = f"{batch.file_name}: {sum(counts)} rows, {accepted} stored, {known} already known, {held} held back"
    found = BatchReport(number, sum(counts), accepted, known, held, message, verdict.conflicts, repairs)
    return replace(found, replaced=replaced, discarded=len(again), discarded_lines=again)


def store_held_rows(
    connection: sqlite3.Connection, number: int, batch: Batch, *, how: Settled = "read again"
) -> BatchReport:
    """
    Store those lines of an earlier batch that are still held back and good now; what they lacked may have come since.

    Parameters
    ----------
    connection
        An open season.
    number
        The earlier batch.
    batch
        All its rows, or only those to look at again.
    how
        What is written beside the settled rows.

    Raises
    ------
    UnfitFileError
        A column name cannot be kept.
    """
    open_lines = "SELECT line FROM held_back WHERE batch = ? AND settled_at IS NULL"
    still_held = {line for (line,) in connection.execute(open_lines, (number,))}
    lines = batch.accepted["line"]
    good = batch.accepted[lines.isin(still_held) & ~lines.isin(batch.held_lines)]
    rows, columns = typed_rows(good, batch.kind, source=batch.file_name)
    verdict = judge(connection, rows, columns, kind=batch.kind, source=batch.file_name)
    new, settled = rows[verdict.is_new], rows[verdict.is_new | verdict.is_known]
    insert_rows(connection, new, columns, kind=batch.kind, batch=number)
    _link_source_rows(connection, number, settled)
    places = [(number, int(line)) for line in settled["line"]]
    keys = settled["record_key"].tolist()
    settle(connection, places, how=how, when=batch.ingested_at, batch=number, record_keys=keys)
    faults = [*(fault for fault in batch.held_back if fault.severity == HELD_BACK), *verdict.conflicts]
    restate_held_back(connection, number, faults, batch.cells)
    _insert_remarks(connection, number, batch, settled)
    repairs = _insert_changes(connection, batch, new)
    if batch.reading:
        kept = json.dumps(batch.reading, ensure_ascii=False)
        connection.execute("UPDATE batches SET reading = ? WHERE id = ?", (kept, number))
    rows_in, held, discarded = count_settled(connection, number, n_accepted=len(new), n_settled=len(settled))
    accepted, known = len(new), rows_in - len(new) - held - discarded
    message = f"{batch.file_name}: read before as batch {number}; " + (
        f"{len(settled)} rows held back then are stored now" if len(settled) else "nothing added"
    )
    return BatchReport(number, rows_in, accepted, known, held, message, verdict.conflicts, repairs, discarded)


def _insert_changes(connection: sqlite3.Connection, batch: Batch, new: pd.DataFrame) -> tuple[Repair, ...]:
    """Keep the trace of what differs in the stored rows from the file; returns what nobody had to decide."""
    when = batch.ingested_at
    repairs = insert_repairs(connection, batch.kind, new, batch.repairs, who=PROGRAM, when=when)
    insert_repairs(connection, batch.kind, new, batch.amended, who=batch.amended_by, when=when)
    return repairs


def _rows_digest(batch: Batch) -> str:
    """A digest of the rows' wording, which tells the tables of one file apart whatever the file is called."""
    wording = dict(zip(batch.accepted["line"].tolist(), batch.accepted["original"].tolist(), strict=True))
    wording |= {fault.line: fault.original for fault in batch.held_back if fault.severity == HELD_BACK}
    digest = hashlib.sha256()
    pieces: Iterator[str] = (f"{line}\x1f{wording[line]}\x1e" for line in sorted(wording))
    while some := "".join(islice(pieces, DIGEST_ROWS)):
        digest.update(some.encode("utf-8", "surrogatepass"))
    return digest.hexdigest()


def _link_source_rows(connection: sqlite3.Connection, number: int, settled: pd.DataFrame) -> None:
    """Say of rows that were held back which record they are now; the table is gone through once."""
    if settled.empty:
        return
    connection.execute("CREATE TEMP TABLE settled (line INTEGER PRIMARY KEY, record_key TEXT)")
    connection.executemany(
        "INSERT INTO settled VALUES (?, ?)", zip(settled["line"].astype(int), settled["record_key"], strict=True)
    )
    connection.execute(
        "UPDATE source_rows SET record_id = (SELECT record_key FROM settled WHERE settled.line = source_rows.line) "
        "WHERE batch = ? AND line IN (SELECT line FROM settled)",
        (number,),
    )
    connection.execute("DROP TABLE settled")


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
