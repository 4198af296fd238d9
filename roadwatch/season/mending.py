"""A file of problems that was mended: its rows take the place of the rows held back."""

from __future__ import annotations

import csv
import re
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.records.columns import match_columns
from roadwatch.records.fields import RECORD_KINDS, Kind
from roadwatch.records.store_held_back import HeldRow, split_held_back_id
from roadwatch.records.tables import RawTable, RowFault
from roadwatch.season.rows_again import Cells, Part, cells_of, columns_in, habits_in, table_from_cells, with_values
from roadwatch.share.writers import spreadsheet_safe

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from roadwatch.records.store import Season

ID = "held_back_id"
CURE = "cure"
OWN_COLUMNS = (ID, CURE, "file", "line", "reasons", "proposal", "original_text", "access")
"""Columns of a file of problems that are not the volunteer's; ``access`` is the mark of team files."""

AS_SENT = " (as sent)"
"""Ending of a volunteer's column that is called like one of ours."""

ACCEPT = frozenset({"accept", "accepted", "ok", "yes"})
"""Words in the cure column that take the proposal."""

DISCARD = re.compile(r"discard(?:ed)?\b\s*[:,;-]*\s*(?P<why>.*)", re.IGNORECASE | re.DOTALL)
"""The cure of a row of which nothing can be made; the reason may follow."""

NO_REASON = "nothing can be made of it, says the cure column of {source}"


@dataclass(frozen=True, eq=False)
class MendedFile:
    """
    A mended file, taken apart.

    Parameters
    ----------
    parts
        Rows to read and check, one part a batch they were held back in, and one of rows that belong to none.
    untouched
        Line of the mended file to the row held back that it repeats without a cure.
    settled
        Number of rows that have been settled before.
    discards
        Id of each row to discard, and why.
    discarded
        Number of rows discarded before.
    """

    parts: tuple[Part, ...]
    untouched: Mapping[int, HeldRow]
    settled: int
    discards: Mapping[str, str]
    discarded: int


def is_mended(raw: RawTable) -> bool:
    """Tell whether a table is a file of problems that has come back."""
    return ID in raw.rows.columns


def problems_table(held_rows: Sequence[HeldRow]) -> pd.DataFrame:
    """
    Rows held back, each with an empty cure beside it, and its cells under the names of its own file.

    Returns
    -------
    ``held_back_id file line reasons proposal cure``, the columns of the files, and ``original_text``.
    """
    rows: list[Cells] = []
    written: dict[str, None] = {}
    for held in held_rows:
        written |= dict.fromkeys(map(_exported, columns_in(held.reading)))
        cells = {_exported(name): text for name, text in (held.cells or {}).items()}
        proposal = "; ".join(f"{name}={text}" for name, text in held.proposal.items())
        own = {ID: held.held_back_id, "file": held.file_name, "line": str(held.line)}
        why = f"discarded: {held.why}. Held back because: " if held.why else ""
        own |= {"reasons": why + held.reasons.replace("\n", ". Also: "), "proposal": proposal, CURE: ""}
        rows.append({**own, **cells, "original_text": held.original})
        written |= dict.fromkeys(cells)
    names = [*OWN_COLUMNS[:1], "file", "line", "reasons", "proposal", CURE, *written, "original_text"]
    return pd.DataFrame(rows, columns=names, dtype=object).fillna("")


def take_apart(raw: RawTable, season: Season, *, sha256: str, timezone: str) -> MendedFile:
    """
    Find the row held back that each line of a mended file speaks of.

    Parameters
    ----------
    raw
        The file, as its reader hands it on.
    season
        The season.
    sha256
        Digest of the file: rows that it settled itself are read as they were the first time.
    timezone
        Of the season.
    """
    by_id = {row.held_back_id: row for row in season.held_rows(is_settled=None)}
    batches = {int(one["batch"]) for one in season.standing_batches(sha256)}  # type: ignore[call-overload]
    touched: dict[tuple[int, frozenset[str]], dict[int, tuple[HeldRow, Cells]]] = {}
    untouched: dict[int, HeldRow] = {}
    faults: list[RowFault] = list(raw.faults)
    settled: Counter[str] = Counter()
    discards: dict[str, str] = {}
    originals = dict(zip(raw.lines.tolist(), raw.originals, strict=True))
    for line, held, cells in _named_rows(raw, by_id, originals, faults):
        if held.settled_how and held.settled_in not in batches:
            settled[held.settled_how] += 1
        elif discard := DISCARD.fullmatch(cells.get(CURE, "").strip()):
            discards[held.held_back_id] = discard["why"].strip() or NO_REASON.format(source=raw.source)
        elif isinstance(mended := mended_cells(cells, held, columns=columns_in(held.reading)), str):
            faults.append(RowFault(raw.source, line, originals[line], CURE, cells.get(CURE, ""), mended))
        elif mended == (held.cells or {}):
            untouched[line] = held
        else:
            added = frozenset(mended).difference(columns_in(held.reading))
            touched.setdefault((held.batch, added), {})[line] = (held, mended)
    parts = [_part(raw, rows, originals, timezone=timezone) for rows in touched.values()]
    if faults:
        parts.append(
            Part(table_from_cells(raw.source, {}, columns=(), originals={}, faults=tuple(faults)), "crossings")
        )
    discarded = settled.pop("discarded", 0)
    return MendedFile(tuple(parts), untouched, settled.total(), discards, discarded)


def _named_rows(
    raw: RawTable, by_id: Mapping[str, HeldRow], originals: Mapping[int, str], faults: list[RowFault]
) -> Iterator[tuple[int, HeldRow, Cells]]:
    """Line, row held back and cells of each line that names one; the others go to the faults."""
    seen: set[str] = set()
    for line, cells in cells_of(raw, raw.lines.tolist()).items():
        held = by_id.get(_plain_id(cells.get(ID, "")))
        if held is None or held.held_back_id in seen:
            faults.append(_stray(raw, line, originals[line], cells.get(ID, ""), is_twice=held is not None))
            continue
        seen.add(held.held_back_id)
        yield line, held, cells


def mended_cells(cells: Mapping[str, str], held: HeldRow, *, columns: Sequence[str]) -> Cells | str:
    """
    The cells of a row as the volunteer wants them, by its own columns and by what stands in the cure column.

    Parameters
    ----------
    cells
        The row of the mended file.
    held
        The row held back that it speaks of.
    columns
        The columns of the file that row came from.

    Returns
    -------
    The cells, or a sentence that says why the cure cannot be read.
    """
    own = {name.removesuffix(AS_SENT): text for name, text in cells.items() if name not in OWN_COLUMNS}
    before = {name: str(spreadsheet_safe(text)) for name, text in (held.cells or {}).items()}
    own = {name: (held.cells or {})[name] if before.get(name) == text else text for name, text in own.items()}
    cure = cells.get(CURE, "")
    return _cured(own, cure, held, columns) if cure else own


def _cured(own: Cells, cure: str, held: HeldRow, columns: Sequence[str]) -> Cells | str:
    kind = _kind(held.kind)
    if cure.casefold() in ACCEPT:
        return with_values(own, held.proposal, kind) if held.proposal else "nothing is proposed for this row; mend it"
    values = _named_values(cure, kind, [*columns, *own])
    if values is not None:
        return with_values(own, values, kind)
    row = next(csv.reader([cure]), [])
    if len(columns) > 1 and len(row) == len(columns):
        return {name: text.strip() for name, text in zip(columns, row, strict=True) if text.strip()}
    at_fault = [name for name in held.columns.split(", ") if name]
    if len(at_fault) == 1 and "=" not in cure:
        return with_values(own, {at_fault[0]: cure}, kind)
    return (
        f"the cure '{cure[:60]}' cannot be read; write COLUMN=VALUE, several of them with ; between, "
        "discard where nothing can be made of the row, or mend the cells themselves and leave the cure blank"
    )


def _named_values(cure: str, kind: Kind, columns: Iterable[str]) -> Cells | None:
    """Canonical name to value, of a cure such as ``lat=31.7; lng=-81.9``; None where it is not of that form."""
    pairs = [part.partition("=") for part in cure.split(";") if part.strip()]
    names = [name.strip() for name, _, _ in pairs]
    if not all(sign for _, sign, _ in pairs):
        return None
    feeds = match_columns(list(dict.fromkeys([*names, *columns])), kind) | match_columns(names, kind)
    known = {*columns, *feeds}
    if not all(name in known for name in names):
        return None
    return {feeds.get(name, name): value.strip() for name, (_, _, value) in zip(names, pairs, strict=True)}


def _part(
    raw: RawTable,
    rows: Mapping[int, tuple[HeldRow, Cells]],
    originals: Mapping[int, str],
    *,
    timezone: str,
) -> Part:
    """
    The mended rows of one batch that name the same columns beside its own, read in the way of their first file.

    A column that a cure named stands for one of the file's own, which holds the value of the rows mended in place: the
    two ways of mending are read apart, as one column alone gives a field.
    """
    first = next(iter(rows.values()))[0]
    named = {name for _, cells in rows.values() for name in cells}
    own = columns_in(first.reading)
    columns = own if named <= {*own} else [name for name in own if name in named]
    table = table_from_cells(
        raw.source,
        {line: cells for line, (_, cells) in rows.items()},
        columns=columns,
        originals=originals,
    )
    places = {line: (held.batch, held.line) for line, (held, _) in rows.items()}
    return Part(table, _kind(first.kind), habits_in(first.reading, timezone=timezone), places)


def _stray(raw: RawTable, line: int, original: str, found: str, *, is_twice: bool) -> RowFault:
    if is_twice:
        reason = f"{ID} '{found}' stands on two rows of this file; leave one of them"
    else:
        reason = (
            f"{ID} '{found}' is no row held back in this season; put back the id that 'roadwatch problems' wrote, "
            "or send a new record in a file of its own"
        )
    return RowFault(raw.source, line, original, ID, found, reason)


def _plain_id(text: str) -> str:
    """The id as we write it; a spreadsheet may have put an apostrophe or blanks around it."""
    place = split_held_back_id(text.strip().strip("'"))
    return f"h{place[0]}-{place[1]}" if place else ""


def _exported(name: str) -> str:
    return f"{name}{AS_SENT}" if name in OWN_COLUMNS else name


def _kind(name: str) -> Kind:
    return next(kind for kind in RECORD_KINDS if kind == name)
