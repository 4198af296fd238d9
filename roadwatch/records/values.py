"""From text to typed columns: each cell is read, or its row is held back with the reason and the cure."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from itertools import chain, count
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.cell_readers import doubt_about, reader_of
from roadwatch.records.columns import ColumnPlan, plan_columns
from roadwatch.records.complaints import Complaint, Misread, held_rows, row_faults
from roadwatch.records.dates import Order, ReadTime, zone_of
from roadwatch.records.fields import Field, Kind, fields_of
from roadwatch.records.file_habits import habits_of
from roadwatch.records.numbers import expected
from roadwatch.records.time_cells import joined_times
from roadwatch.records.waypoints import is_waypoints, with_species
from roadwatch.records.words import is_blank

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roadwatch.records.cell_readers import CellReader
    from roadwatch.records.tables import RawTable, RowFault, Severity

AS_WRITTEN = "_as_written"
"""Ending of the column that keeps a taxon's name as it stands in the file."""


LONGEST_CELL = 300
"""Characters that a cell other than free text can have; a longer one is not looked at."""

_TOO_LONG = Misread(f"is longer than {LONGEST_CELL} characters; write the value alone and the rest in notes")


@dataclass(frozen=True, eq=False)
class ReadTable:
    """
    Every row of a file in typed columns, with what is wrong with it.

    Parameters
    ----------
    table
        (n,) all rows, also those to be held back; a cell that could not be read is blank.
    complaints
        What is wrong, by row.
    notes
        What was found and decided for the file as a whole.
    """

    table: pd.DataFrame
    complaints: list[Complaint]
    notes: tuple[str, ...]


def parse_values(
    raw: RawTable, kind: Kind, *, timezone: str, date_order: Order | None = None
) -> tuple[pd.DataFrame, list[RowFault]]:
    """
    Read every cell of a file into the columns of its kind.

    Parameters
    ----------
    raw
        (n,) rows as a reader hands them on.
    kind
        The kind of record.
    timezone
        IANA name; times without an offset are local to it.
    date_order
        Order of day and month where the file itself does not tell.

    Returns
    -------
    The rows that can be stored, with the canonical columns in their order, ``taxon_as_written``, ``seen_*``, ``other``
    (JSON text of what has no column), ``source``, ``line`` and ``original``; and one fault for each row that has any,
    held back or only noted. ``attrs["notes"]`` of the table says what was decided for the file. Rows of the table and
    faults of severity "hold back" add up to n.

    Raises
    ------
    UsageError
        The timezone is not known.
    """
    read = read_values(raw, kind, timezone=timezone, date_order=date_order)
    held = held_rows(read.complaints)
    accepted = read.table[~read.table.index.isin(held)].reset_index(drop=True)
    accepted.attrs["notes"] = read.notes
    return accepted, faults_of(read.table, read.complaints)


def faults_of(table: pd.DataFrame, complaints: list[Complaint]) -> list[RowFault]:
    """Join the complaints about a table that has the columns ``source``, ``line`` and ``original``."""
    return row_faults(
        complaints,
        sources=table["source"].tolist(),
        lines=table["line"].tolist(),
        originals=table["original"].tolist(),
    )


def read_values(raw: RawTable, kind: Kind, *, timezone: str, date_order: Order | None = None) -> ReadTable:
    """
    Read every cell of a file, keeping all rows, so that other checks can add their complaints; see ``parse_values``.

    Raises
    ------
    UsageError
        The timezone is not known.
    """
    if kind == "crossings" and is_waypoints(raw):
        raw = with_species(raw)
    raw = replace(raw, rows=_with_distinct_names(raw.rows))
    plan = plan_columns(list(raw.rows.columns), kind)
    cells = _cells(raw, plan, kind)
    habits = habits_of(
        cells, plan, kind, zone=zone_of(timezone), decimal_comma=raw.decimal_comma, date_order=date_order
    )
    columns: dict[str, pd.Series] = {}
    complaints: list[Complaint] = []
    for one in fields_of(kind).values():
        reader = reader_of(one, habits=habits, unit=plan.units.get(one.name, ""))
        columns[one.name], found = _read_column(cells[one.name], one, reader)
        complaints += found
        if one.type == "taxon":
            columns[one.name + AS_WRITTEN] = cells[one.name]
    if "taxon" in cells:
        complaints += _doubts(cells["taxon"].mask(cells["id_confidence"].notna(), None))
    columns |= {seen: _stripped(raw.rows[written]) for seen, written in plan.seen.items()}
    table = pd.DataFrame(columns | _provenance(raw, plan))
    return ReadTable(table, complaints, (*raw.notes, *plan.notes, *habits.notes))


def _with_distinct_names(rows: pd.DataFrame) -> pd.DataFrame:
    """Name the second of two columns of one name 'name (2)', so that both are kept."""
    names: list[str] = []
    for name in map(str, rows.columns):
        fresh = chain([name], (f"{name} ({n})" for n in count(2)))
        names.append(next(one for one in fresh if one not in names))
    return rows.set_axis(names, axis="columns")


def _cells(raw: RawTable, plan: ColumnPlan, kind: Kind) -> dict[str, pd.Series]:
    """The text of each field, stripped; None where blank, and where no column gives it."""
    nothing = pd.Series([None] * len(raw.rows), dtype=object)
    cells = {}
    for name, one in fields_of(kind).items():
        written = plan.of_field.get(name)
        text = nothing if written is None else _stripped(raw.rows[written])
        if name in plan.times:
            times = plan.times[name]
            text = joined_times(
                text,
                clock=None if times.clock is None else _stripped(raw.rows[times.clock]),
                day=None if times.day is None else _stripped(raw.rows[times.day]),
            )
        cells[name] = text if one.type == "text" else _without_blanks(text)
    return cells


def _without_blanks(texts: pd.Series) -> pd.Series:
    blank = [text for text in texts.dropna().unique() if is_blank(text)]
    return texts.mask(texts.isin(blank), None)


def _stripped(column: pd.Series) -> pd.Series:
    texts = [cell.strip() if isinstance(cell, str) else None for cell in column]
    return pd.Series([text or None for text in texts], dtype=object)


def _read_column(cells: pd.Series, one: Field, reader: CellReader) -> tuple[pd.Series, list[Complaint]]:
    """Read each distinct text once; a blank that is required is a complaint of its own."""
    codes, distinct = pd.factorize(cells)
    results = [reader(text) if len(text) <= LONGEST_CELL or one.type == "text" else _TOO_LONG for text in distinct]
    readable = [None if isinstance(result, Misread) else result for result in results] + [None]
    plain = [result.iso if isinstance(result, ReadTime) else result for result in readable]
    dtype = "float64" if one.type in ("number", "integer", "probability") else object
    values = pd.Series(pd.Series(plain, dtype=object).to_numpy()[codes], dtype=dtype)
    complaints = _misreadings(codes, distinct, results, one)
    if one.required:
        missing = f"{one.name} is missing; write {_wanted(one)}"
        complaints += [Complaint(int(row), one.name, "", missing) for row in np.flatnonzero(codes == -1)]
    return values, complaints


def _misreadings(codes: np.ndarray, distinct: pd.Index, results: Sequence[object], one: Field) -> list[Complaint]:
    said: dict[int, tuple[str, Severity]] = {}
    for code, result in enumerate(results):
        if isinstance(result, Misread):
            said[code] = (result.reason, "hold back")
        elif isinstance(result, ReadTime) and result.remark:
            said[code] = (result.remark, "note")
    rows = np.flatnonzero(np.isin(codes, list(said)))
    return [_complaint(int(row), one.name, distinct[codes[row]], *said[codes[row]]) for row in rows]


def _complaint(row: int, column: str, text: str, reason: str, severity: Severity) -> Complaint:
    shown = text if len(text) <= 60 else f"{text[:57]}..."
    return Complaint(row, column, shown, f"{column} '{shown}' {reason}", severity)


def _wanted(one: Field) -> str:
    """What to write in a required field that is blank."""
    if one.type == "taxon":
        return "the animal's name, or 'turtle' where no more is known"
    if one.type in ("date", "datetime"):
        return "the day, such as 2025-05-12"
    if one.type == "choice":
        return f"one of {', '.join(one.choices)}"
    return expected(one) if one.type in ("number", "integer") else f"it as explained: {one.meaning}"


def _doubts(written: pd.Series) -> list[Complaint]:
    said = {text: doubt_about(text) for text in written.dropna().unique()}
    marked = written[written.isin([text for text, doubt in said.items() if doubt])]
    return [Complaint(int(row), "taxon", text, said[text], "note") for row, text in marked.items()]  # type: ignore[call-overload]


def _provenance(raw: RawTable, plan: ColumnPlan) -> dict[str, pd.Series]:
    """Where each row came from, and the cells that feed no field, as JSON text."""
    kept = [_stripped(raw.rows[name]) for name in plan.other]
    other = [
        json.dumps({name: cell for name, cell in zip(plan.other, row, strict=True) if cell}, ensure_ascii=False)
        for row in zip(*kept, strict=True)
    ]
    return {
        "other": pd.Series([None if text == "{}" else text for text in other] or [None] * len(raw.rows), dtype=object),
        "source": pd.Series([raw.source] * len(raw.rows), dtype=object),
        "line": pd.Series(np.asarray(raw.lines, dtype=np.int64)),
        "original": pd.Series(list(raw.originals), dtype=object),
    }
