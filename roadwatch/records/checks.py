"""Checking typed records against every rule of their kind, and the whole way from text to accepted rows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

# Importing the modules of rules enters their rules in the registry.
from roadwatch.records import (  # noqa: F401
    rules_animal,
    rules_movement,
    rules_nest,
    rules_place,
    rules_state,
    rules_temperature,
    rules_time,
)
from roadwatch.records.complaints import held_rows
from roadwatch.records.rules import CheckContext, Rule, complaints_of, registered
from roadwatch.records.tables import Repair
from roadwatch.records.values import faults_of, read_values

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from roadwatch.records.complaints import Complaint
    from roadwatch.records.coordinates_places import Mended
    from roadwatch.records.dates import Order
    from roadwatch.records.fields import Kind
    from roadwatch.records.file_habits import FileHabits
    from roadwatch.records.tables import RawTable, RowFault

__all__ = ["Accepted", "CheckContext", "Rule", "accept_rows", "check_records", "rules_of"]


@dataclass(frozen=True, eq=False)
class Accepted:
    """
    What one file gave: the rows to store, and one fault for each row that has any.

    Parameters
    ----------
    table
        (n,) typed rows that broke no rule that holds back.
    faults
        Held back, asked and noted; a row stands here once, with all its reasons.
    notes
        What was found and decided for the file as a whole.
    repairs
        Slips that could be mended for certain; the rows of ``table`` already hold the new values.
    habits
        How the file writes things.
    """

    table: pd.DataFrame
    faults: list[RowFault]
    notes: tuple[str, ...]
    repairs: tuple[Repair, ...] = ()
    habits: FileHabits | None = None

    @property
    def held_back(self) -> list[RowFault]:
        """The faults of the rows that are not in the table."""
        return [fault for fault in self.faults if fault.severity == "hold back"]


def rules_of(kind: Kind) -> tuple[Rule, ...]:
    """Every rule of one kind, with its sentence, severity and cure."""
    return tuple(one for one in registered() if kind in one.kinds)


def check_records(table: pd.DataFrame, kind: Kind, context: CheckContext) -> list[RowFault]:
    """
    Ask every rule of a table of typed records.

    Parameters
    ----------
    table
        (n,) rows with the canonical columns and ``source``, ``line``, ``original``.
    kind
        The kind of record.
    context
        What the rules may know beside the table.

    Returns
    -------
    One fault for each row that breaks a rule, with all its reasons and the gravest severity.
    """
    return faults_of(table, _complaints(table, kind, context))


def accept_rows(
    raw: RawTable,
    kind: Kind,
    *,
    timezone: str,
    context: CheckContext,
    date_order: Order | None = None,
    habits: FileHabits | None = None,
) -> Accepted:
    """
    Read and check every row of a file, so that a row is told once all that is wrong with it.

    Parameters
    ----------
    raw
        (n,) rows as a reader hands them on, with the faults it found itself.
    kind
        The kind of record.
    timezone
        IANA name; times without an offset are local to it.
    context
        What the rules may know beside the table.
    date_order
        Order of day and month where the file itself does not tell.
    habits
        How the whole file writes things, where ``raw`` holds only some of its rows.

    Returns
    -------
    Accepted and held-back rows add up to the rows of ``raw`` and those that its reader could not split into cells.

    Raises
    ------
    UsageError
        The timezone is not known.
    """
    read = read_values(
        raw,
        kind,
        timezone=timezone,
        date_order=date_order,
        habits=habits,
        area=context.area,
        taxonomy=context.taxonomy,
    )
    complaints = read.complaints + _complaints(read.table, kind, context, read=read.complaints)
    held = held_rows(complaints)
    kept = read.table[~read.table.index.isin(held)].reset_index(drop=True)
    applied = sorted((one for one in read.repairs if one.row not in held), key=lambda one: one.row)
    repairs = tuple(_repair(read.table, one) for one in applied)
    return Accepted(kept, [*raw.faults, *faults_of(read.table, complaints)], read.notes, repairs, read.habits)


def _repair(table: pd.DataFrame, one: Mended) -> Repair:
    line, original = table["line"].iloc[one.row], table["original"].iloc[one.row]
    return Repair(int(line), original, one.column, one.old, one.new, one.why)


def _complaints(
    table: pd.DataFrame, kind: Kind, context: CheckContext, *, read: Sequence[Complaint] = ()
) -> list[Complaint]:
    """What the rules say; a cell that could not be read is not called missing as well."""
    rows = table.reset_index(drop=True)
    unread = {(one.row, one.column) for one in read if one.found}
    return [
        complaint
        for one in rules_of(kind)
        for complaint in complaints_of(one, rows, context)
        if complaint.found or not any((complaint.row, column) in unread for column in one.columns)
    ]
