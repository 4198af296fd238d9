"""What became of the rows of one file, in words and in numbers."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from roadwatch.records.fields import DEFAULT_POSITION_ERROR_M
from roadwatch.season.shown import shown, word_of_place

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import pandas as pd

    from roadwatch.records.tables import Repair, RowFault

T = TypeVar("T")

ALL_REMARKS = "see 'roadwatch problems SEASON --remarks'"
"""Where every remark on a kept row is listed."""

SHOWN_REASONS = 5
"""Rows held back that are told one by one before the rest is only counted."""


@dataclass(frozen=True)
class FileReport:
    """
    What became of the rows of one file or layer; ``rows_read = accepted + known + held_back + discarded``.

    ``error`` is set, and nothing was kept, where a layer could not be taken in beside others of its file.
    """

    file: str
    kind: str
    rows_read: int
    accepted: int
    known: int
    held_back: int
    faults: tuple[RowFault, ...] = ()
    notes: tuple[str, ...] = ()
    repairs: tuple[Repair, ...] = ()
    batch: int | None = None
    error: str = ""
    discarded: int = 0

    def as_dict(self) -> dict[str, object]:
        """The report as plain values, reasons included."""
        held = [_plain(fault) for fault in self.faults if fault.severity == "hold back"]
        remarks = [
            {**_plain(fault), "severity": fault.severity} for fault in self.faults if fault.severity != "hold back"
        ]
        mended = [
            {"line": one.line, "column": one.column, "old": one.old, "new": one.new, "why": one.why}
            for one in self.repairs
        ]
        names = ("file", "kind", "batch", "rows_read", "accepted", "known", "held_back")
        told = {name: getattr(self, name) for name in names}
        told |= {"discarded": self.discarded} if self.discarded else {}
        told |= {"error": self.error} if self.error else {}
        return told | {"reasons": held, "remarks": remarks, "repairs": mended, "notes": list(self.notes)}

    def sentence(self, *, dry_run: bool = False) -> str:
        """One line: rows read, accepted, already known, held back."""
        verb = "would be accepted" if dry_run else "accepted"
        return (
            f"{self.file}: {self.rows_read} {_kind_of_rows(self.kind, self.rows_read)} {_rows(self.rows_read)} read, "
            f"{self.accepted} {verb}, "
            f"{self.known} already known, {self.held_back} held back"
            + (f", {self.discarded} discarded" if self.discarded else "")
        )

    def lines(self, *, dry_run: bool = False) -> list[str]:
        """What was found in the file, why rows were held back, what was mended, and what to look at in those kept."""
        held = [fault for fault in self.faults if fault.severity == "hold back"]
        word = word_of_place(self.file, kind=self.kind)
        told = [f"{word} {fault.line}{_photograph(fault)}: {fault.reason}" for fault in held[:SHOWN_REASONS]]
        if len(held) > len(told):
            n_more = len(held) - len(told)
            more = "--json lists them all" if dry_run else "see 'roadwatch problems'"
            told.append(f"{n_more} more {'reason' if n_more == 1 else 'reasons'}: {more}")
        kept = [fault for fault in self.faults if fault.severity != "hold back"]
        remarks = [
            f"{len(alike)} kept with a remark, such as {word} {alike[0].line}: {alike[0].reason}"
            for alike in _alike(kept, lambda fault: fault.reason)
        ]
        mended = [
            f"{n} {_rows(n)} repaired, such as {word} {alike[0].line}: {alike[0].why}"
            for alike in _alike(self.repairs, lambda one: one.why)
            if (n := len({one.line for one in alike}))
        ]
        if any(len(alike) > 1 for alike in _alike(kept, lambda fault: fault.reason)):
            remarks.append(f"all remarks: {'--json lists them' if dry_run else ALL_REMARKS}")
        return [*self.notes, *told, *mended, *remarks]


def stated_assumptions(table: pd.DataFrame) -> tuple[str, ...]:
    """What is taken for granted where a column is blank, counted."""
    taken = {
        "observer_skill": "novice",
        "position_error_m": f"{DEFAULT_POSITION_ERROR_M:.0f} m",
        "count": "1",
        "id_confidence": "likely (0.8) when one taxon is asked for",
    }
    blank = {name: int(table[name].isna().sum()) for name in taken if name in table}
    return tuple(f"{n} {_rows(n)} without {name}: taken as {taken[name]}." for name, n in blank.items() if n)


def joined(
    source: str, reports: Sequence[FileReport], *, untouched: Sequence[RowFault], settled: int, discarded: int = 0
) -> FileReport:
    """
    One report of a mended file.

    Parameters
    ----------
    source
        How messages call it.
    reports
        Of its parts.
    untouched
        Rows that nobody mended: still held back.
    settled
        Number of rows that were settled before: known.
    discarded
        Number of rows that were discarded, now or before.
    """
    notes = dict.fromkeys(note for report in reports for note in report.notes)
    if settled:
        were = "row was" if settled == 1 else "rows were"
        notes |= {f"{settled} {were} settled before; correct what became of them with 'roadwatch amend'": None}
    return FileReport(
        file=source,
        kind="mended",
        rows_read=sum(report.rows_read for report in reports) + len(untouched) + settled + discarded,
        accepted=sum(report.accepted for report in reports),
        known=sum(report.known for report in reports) + settled,
        held_back=sum(report.held_back for report in reports) + len(untouched),
        faults=(*(fault for report in reports for fault in report.faults), *untouched),
        notes=tuple(notes),
        repairs=tuple(repair for report in reports for repair in report.repairs),
        batch=reports[0].batch if reports else None,
        discarded=discarded,
    )


def _plain(fault: RowFault) -> dict[str, object]:
    return {"line": fault.line, "column": fault.column, "found": fault.found, "reason": fault.reason}


def _photograph(fault: RowFault) -> str:
    """The file of a photograph, which its number among the others does not tell."""
    if not fault.source.endswith(", photographs"):
        return ""
    name = str(json.loads(fault.original).get("photo", ""))
    return f" ({shown(name)})" if name and name not in fault.reason else ""


def _kind_of_rows(kind: str, n: int) -> str:
    """One search row, but two searches rows."""
    one = {"searches": "search"}.get(kind, kind.removesuffix("s"))
    return one if n == 1 else kind


def _rows(n: int) -> str:
    return "row" if n == 1 else "rows"


def _alike(entries: Sequence[T], words: Callable[[T], str]) -> list[list[T]]:
    """Group what differs only in its numbers and quoted values."""
    groups: dict[str, list[T]] = {}
    for entry in entries:
        groups.setdefault(re.sub(r"'[^']*'|[\d.]+", "", words(entry)), []).append(entry)
    return list(groups.values())
