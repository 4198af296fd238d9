"""What is wrong with rows, collected first and told once a row."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from roadwatch.records.tables import RowFault, Severity

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

_GRAVITY: dict[Severity, int] = {"note": 0, "ask": 1, "hold back": 2}


@dataclass(frozen=True)
class Misread:
    """
    Why a cell could not be read: what is expected and what to do, as the end of a sentence.

    ``proposal`` is the text that is likely meant, blank where nothing is.
    """

    reason: str
    proposal: str = ""


LONGEST_CELL = 300
"""Characters that a cell other than free text can have; a longer one is not looked at."""

TOO_LONG = Misread(f"is longer than {LONGEST_CELL} characters; write the value alone and the rest in notes")


@dataclass(frozen=True)
class Remarked:
    """A value that was read, with a remark as the end of a sentence where a choice had to be made."""

    value: float | bool | str
    remark: str


@dataclass(frozen=True)
class Complaint:
    """
    One thing wrong with one row, counted from 0; ``reason`` is a full sentence.

    ``proposal`` maps canonical fields to the texts that are likely right.
    """

    row: int
    column: str
    found: str
    reason: str
    severity: Severity = "hold back"
    proposal: Mapping[str, str] | None = field(default=None, hash=False)


def held_rows(complaints: Iterable[Complaint]) -> set[int]:
    """The rows that may not be stored."""
    return {complaint.row for complaint in complaints if complaint.severity == "hold back"}


def row_faults(
    complaints: Iterable[Complaint], *, sources: Sequence[str], lines: Sequence[int], originals: Sequence[str]
) -> list[RowFault]:
    """
    Join the complaints of each row to one fault, so that none hides another; rows keep their order.

    Parameters
    ----------
    complaints
        Any number a row, in any order of rows.
    sources, lines, originals
        (n,) where each row came from.

    Returns
    -------
    One fault a row that has any complaint; the gravest severity counts and is told first, and all proposals of a row
    are joined.
    """
    of_row: dict[int, list[Complaint]] = {}
    for complaint in sorted(complaints, key=lambda one: -_GRAVITY[one.severity]):
        of_row.setdefault(complaint.row, []).append(complaint)
    return [
        RowFault(
            source=sources[row],
            line=int(lines[row]),
            original=originals[row],
            column=_joined(one.column for one in of_row[row]),
            found=_joined(one.found for one in of_row[row]),
            reason=". Also: ".join(one.reason for one in of_row[row]),
            severity=max((one.severity for one in of_row[row]), key=_GRAVITY.__getitem__),
            proposal=_proposed(of_row[row]),
        )
        for row in sorted(of_row)
    ]


def _proposed(complaints: Iterable[Complaint]) -> dict[str, str] | None:
    """What is proposed for a row as a whole; where two complaints propose for one field the first counts."""
    joined: dict[str, str] = {}
    for complaint in complaints:
        joined = {**(complaint.proposal or {}), **joined}
    return joined or None


def _joined(texts: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(text for text in texts if text))
