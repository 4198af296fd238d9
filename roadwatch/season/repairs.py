"""Putting records right, each with its trace: accept what is proposed, amend a record, tell its history."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from roadwatch.errors import UsageError
from roadwatch.records.checks import accept_rows
from roadwatch.records.columns import SEEN_PREFIX, match_columns
from roadwatch.records.fields import ID_FIELD, RECORD_KINDS, Kind, fields_of
from roadwatch.records.store import Batch
from roadwatch.records.store_changes import COORDINATOR
from roadwatch.records.store_columns import text_of_value
from roadwatch.records.tables import RawTable, Repair
from roadwatch.season.rows_again import Part, columns_in, habits_in, table_from_cells, with_values

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd

    from roadwatch.records.checks import Accepted
    from roadwatch.records.store import Season
    from roadwatch.records.store_held_back import HeldRow
    from roadwatch.records.store_traces import Trace
    from roadwatch.season.intake import Intake

ALL = "all"
PROPOSAL_TAKEN = "the proposal was accepted"


@dataclass(frozen=True)
class Decision:
    """What became of one row whose proposal was accepted: the record it is now, or why it is still held back."""

    held_back_id: str
    proposal: Mapping[str, str]
    record_key: str | None
    reason: str


@dataclass(frozen=True)
class Amendment:
    """
    What was corrected in one record.

    Parameters
    ----------
    kind, record_key
        The record.
    changed
        Field to the values before and after, None for a blank.
    remarks
        What to look at in the record as it is now.
    """

    kind: str
    record_key: str
    changed: Mapping[str, tuple[str | None, str | None]]
    remarks: tuple[str, ...]


def accept_proposals(
    intake: Intake, which: str, *, who: str = COORDINATOR, why: str = PROPOSAL_TAKEN
) -> list[Decision]:
    """
    Store rows held back as it is proposed for them; what is proposed and why stands in their history.

    Parameters
    ----------
    intake
        The open season.
    which
        Id of a row held back, or ``all``.
    who, why
        Who decides, and for what reason.

    Raises
    ------
    UsageError
        There is no such row, it was settled before, or nothing is proposed for it.
    """
    rows = [row for row in intake.season.held_rows() if row.proposal] if which == ALL else [_open_row(intake, which)]
    decisions = []
    for batch in dict.fromkeys(row.batch for row in rows):
        decisions += _accept_in_batch(intake, [row for row in rows if row.batch == batch], who=who, why=why)
    return decisions


def _open_row(intake: Intake, held_back_id: str) -> HeldRow:
    row = intake.season.find_held_row(held_back_id)
    if row.settled_how:
        became = f" and is now record {row.record_key}" if row.record_key else ""
        raise UsageError(f"row {row.held_back_id} was settled before ({row.settled_how}){became}; nothing changed")
    if not row.proposal:
        raise UsageError(
            f"nothing is proposed for row {row.held_back_id}; write the rows with 'roadwatch problems SEASON -o "
            "problems.csv', mend it there, and ingest that file"
        )
    return row


def _accept_in_batch(intake: Intake, rows: Sequence[HeldRow], *, who: str, why: str) -> list[Decision]:
    """Rows of one batch, read in the way of their file, with the proposals in the place of what stands there."""
    first = rows[0]
    kind = _kind(first.kind)
    raw = table_from_cells(
        first.file_name,
        {row.line: with_values(row.cells or {}, row.proposal, kind) for row in rows},
        columns=columns_in(first.reading),
        originals={row.line: row.original for row in rows},
    )
    judged = intake.judge(Part(raw, kind, habits_in(first.reading, timezone=intake.timezone)))
    remarks = [fault for fault in judged.faults if fault.severity != "hold back"]
    batch = Batch(
        file_name=first.file_name,
        sha256="",
        kind=kind,
        ingested_at=intake.now,
        accepted=judged.table,
        held_back=remarks,
        repairs=judged.repairs,
        amended=[repair for row in rows for repair in _as_repairs(row, kind, why)],
        amended_by=who,
    )
    kept = intake.season.store_held_rows(first.batch, batch, how="accepted")
    reasons = {fault.line: fault.reason for fault in (*judged.held_back, *kept.conflicts)}
    settled = {row.line: row.record_key for row in intake.season.held_rows(batch=first.batch, is_settled=True)}
    return [Decision(row.held_back_id, row.proposal, settled.get(row.line), reasons.get(row.line, "")) for row in rows]


def _as_repairs(row: HeldRow, kind: Kind, why: str) -> list[Repair]:
    """The trace of a proposal: for each field what stood in the file, in all columns that feed it."""
    feeds = match_columns(list(row.cells or {}), kind)
    stood = {
        name: " ".join(text for written, text in (row.cells or {}).items() if feeds.get(written) == name)
        for name in row.proposal
    }
    return [Repair(row.line, row.original, name, stood[name], text, why) for name, text in row.proposal.items()]


def amend(
    intake: Intake,
    record_id: str,
    values: Mapping[str, str],
    *,
    why: str,
    who: str = COORDINATOR,
    kind: str | None = None,
) -> Amendment:
    """
    Correct fields of one record, read and checked like a row of a file; what was first told stays beside it.

    Parameters
    ----------
    intake
        The open season.
    record_id
        The record's name.
    values
        Field to text as a person writes it; blank text makes a field blank.
    why, who
        The reason, and who gives it.
    kind
        Kind of record, where records of several kinds have this name.

    Raises
    ------
    UsageError
        No such record or field, no reason, or the record would break a rule that holds rows back.
    """
    found = find_kind(intake.season, record_id, kind=kind, is_stored=True)
    wanted = {_field(name, found): text.strip() for name, text in values.items()}
    texts = _texts(intake.season.read(found, keys=[record_id]), found)
    after = _judged(intake, found, {**texts, **wanted}, record_id)
    if after.table.empty:
        before = _judged(intake, found, texts, record_id)
        known = {fault.reason for fault in before.held_back}
        reasons = [fault.reason for fault in after.held_back if fault.reason not in known]
        raise UsageError(f"{record_id}: {'. Also: '.join(reasons or sorted(known))}")
    row = after.table.iloc[0]
    new = {name: text_of_value(row[name]) for name in wanted}
    told = intake.season.read(found, keys=[record_id]).iloc[0]
    changes = {name: value for name, value in new.items() if value != text_of_value(told.get(name))}
    old = intake.season.add_changes(found, record_id, changes, who=who, when=intake.now, why=why)
    remarks = tuple(fault.reason for fault in after.faults if fault.severity != "hold back")
    return Amendment(found, record_id, {name: (old[name], value) for name, value in changes.items()}, remarks)


def find_kind(season: Season, record_id: str, *, kind: str | None, is_stored: bool) -> Kind:
    """
    The kind of the record of a name.

    Raises
    ------
    UsageError
        No record has this name, or records of several kinds have it and none of them was asked for.
    """
    kinds = season.kinds_of(record_id)
    if is_stored:
        kinds = [one for one in kinds if season.trace(one, record_id).is_stored]
    fitting = [one for one in kinds if kind in (None, one)]
    if not fitting:
        among = f" among its {kind}" if kind else ""
        raise UsageError(f"the season holds no record '{record_id}'{among}; check the name")
    if len(fitting) > 1:
        raise UsageError(f"'{record_id}' names a record among {' and '.join(fitting)}; say which with '--as'")
    return _kind(fitting[0])


def history(season: Season, record_id: str, *, kind: str | None = None) -> Trace:
    """
    Where a record came from, and what became of it; also of one that left the season with its batch.

    Raises
    ------
    UsageError
        No record has this name, or records of several kinds have it.
    """
    return season.trace(find_kind(season, record_id, kind=kind, is_stored=False), record_id)


def row_history(season: Season, held_back_id: str) -> tuple[HeldRow, list[dict[str, object]]]:
    """
    A row that is or was held back, and what a person did about it: ``who changed_at old new why``.

    Raises
    ------
    UsageError
        There is no such row.
    """
    row = season.find_held_row(held_back_id)
    changes = season.changes()
    own = changes[changes["record_key"] == row.held_back_id]
    return row, [{str(name): value for name, value in one.items()} for one in own.to_dict("records")]


def _field(name: str, kind: Kind) -> str:
    """The canonical field of a name as a person writes it."""
    canonical = match_columns([name], kind).get(name, name)
    if canonical == ID_FIELD.get(kind):
        raise UsageError(f"{canonical} names the record and cannot be amended; undo its batch and send it anew")
    if canonical not in fields_of(kind) and not canonical.startswith(SEEN_PREFIX):
        raise UsageError(f"{kind} have no field '{name}'; see 'roadwatch fields {kind}'")
    return canonical


def _texts(record: pd.DataFrame, kind: Kind) -> dict[str, str]:
    """The record as a person would write it."""
    row = record.iloc[0]
    names = [str(name) for name in record if name in fields_of(kind) or str(name).startswith(SEEN_PREFIX)]
    return {name: text for name in names if (text := text_of_value(row[name])) is not None}


def _judged(intake: Intake, kind: Kind, texts: Mapping[str, str], record_id: str) -> Accepted:
    raw = RawTable.of_columns(record_id, {name: [text or None] for name, text in texts.items()}, lines=[1])
    return accept_rows(raw, kind, timezone=intake.timezone, context=intake.context(kind))


def _kind(name: str) -> Kind:
    return next(kind for kind in RECORD_KINDS if kind == name)
