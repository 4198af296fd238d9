"""From text to typed columns: each cell is read, or its row is held back with the reason and the cure."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from itertools import chain, count
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.cell_readers import doubt_about, reader_at_once, reader_of
from roadwatch.records.column_values import place_column, read_column
from roadwatch.records.columns import ColumnPlan, plan_columns
from roadwatch.records.complaints import Complaint, held_rows, row_faults
from roadwatch.records.coordinates import read_places, without_blanks
from roadwatch.records.coordinates_repair import NO_AREA, Area
from roadwatch.records.dates import Order, zone_of
from roadwatch.records.fields import Kind, fields_of
from roadwatch.records.file_habits import habits_of
from roadwatch.records.shapes import SHAPE_COLUMN, named_shapes
from roadwatch.records.taxonomy import Taxonomy, taxonomy_of
from roadwatch.records.time_cells import SECOND_TIME_COLUMN, days_of_parts, joined_times, with_second_times
from roadwatch.records.waypoints import is_waypoints, with_species

if TYPE_CHECKING:
    from roadwatch.records.coordinates_places import Mended, Places
    from roadwatch.records.file_habits import FileHabits
    from roadwatch.records.tables import RawTable, RowFault

AS_WRITTEN = "_as_written"
"""Ending of the column that keeps a taxon's name as it stands in the file."""

QUALIFIER = "identification_qualifier"
PLACE = ("longitude", "latitude")


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
    habits
        How the file writes things.
    repairs
        Values that the season's own extent mended for certain, by row.
    """

    table: pd.DataFrame
    complaints: list[Complaint]
    notes: tuple[str, ...]
    habits: FileHabits
    repairs: tuple[Mended, ...] = ()


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


def read_values(
    raw: RawTable,
    kind: Kind,
    *,
    timezone: str,
    date_order: Order | None = None,
    habits: FileHabits | None = None,
    area: Area = NO_AREA,
    taxonomy: Taxonomy | None = None,
) -> ReadTable:
    """
    Read every cell of a file, keeping all rows, so that other checks can add their complaints; see ``parse_values``.

    Parameters
    ----------
    raw, kind, timezone, date_order
        As for ``parse_values``.
    habits
        Those of the whole file where ``raw`` holds only some of its rows.
    area
        The season's area, by which slips in places are mended where that is certain.
    taxonomy
        The season's tree of taxa, the shipped one where it has none of its own.

    Raises
    ------
    UsageError
        The timezone is not known.
    """
    taxa = taxonomy or taxonomy_of()
    if kind == "crossings" and is_waypoints(raw):
        raw = with_species(raw, taxa)
    raw = replace(raw, rows=with_distinct_names(raw.rows))
    plan = plan_columns(list(raw.rows.columns), kind)
    cells = _cells(raw, plan, kind)
    habits = habits or habits_of(
        cells, plan, kind, zone=zone_of(timezone), decimal_comma=raw.decimal_comma, date_order=date_order
    )
    columns: dict[str, pd.Series] = {}
    complaints: list[Complaint] = []
    places = _places(raw, plan, cells, kind, habits, area)
    for one in fields_of(kind).values():
        if one.name in PLACE and places:
            columns[one.name], found = place_column(places, one)
        else:
            reader = reader_of(one, habits=habits, unit=plan.units.get(one.name, ""), taxonomy=taxa)
            columns[one.name], found = read_column(
                cells[one.name], one, reader, at_once=reader_at_once(one, habits=habits)
            )
        complaints += found
        if one.type == "taxon":
            columns[one.name + AS_WRITTEN] = cells[one.name]
    if SHAPE_COLUMN in raw.rows:
        complaints = named_shapes(complaints, raw.rows[SHAPE_COLUMN])
    if "taxon" in cells:
        complaints += _doubts(cells["taxon"].mask(cells["id_confidence"].notna(), None), taxa)
        columns[QUALIFIER] = columns[QUALIFIER].fillna(_qualifiers(cells["taxon"], taxa))
    columns |= {seen: _stripped(raw.rows[written]) for seen, written in plan.seen.items()}
    table = pd.DataFrame(columns | _provenance(raw, plan))
    notes = (*raw.notes, *plan.notes, *habits.notes, *(places.notes if places else ()))
    if "taxon" in cells:
        notes += _disputes(cells["taxon"], taxa)
    return ReadTable(table, complaints, notes, habits, tuple(places.repairs if places else ()))


def _places(
    raw: RawTable, plan: ColumnPlan, cells: dict[str, pd.Series], kind: Kind, habits: FileHabits, area: Area
) -> Places | None:
    """The places of a kind that has them; what may stand outside the season's area is not mended."""
    if not fields_of(kind).keys() >= set(PLACE):
        return None
    return read_places(
        {axis: cells[axis] for axis in PLACE},
        plan.place,
        lambda name: without_blanks(_stripped(raw.rows[name])),
        area=area if fields_of(kind)["longitude"].required else NO_AREA,
        decimal_comma=habits.decimal_comma,
    )


def _disputes(written: pd.Series, taxonomy: Taxonomy) -> tuple[str, ...]:
    """For each name that authors use for different taxa, what it is taken for."""
    said = {text: taxonomy.disputed(text) for text in written.dropna().unique()}
    return tuple(
        f"'{text}' is read as {taxonomy.read_name(text).taxon}, though authors differ: {note}"
        for text, note in sorted(said.items())
        if note
    )


def _qualifiers(written: pd.Series, taxonomy: Taxonomy) -> pd.Series:
    """What expresses doubt in each name as written; None where nothing does."""
    said = {text: taxonomy.read_name(text, mend=True).qualifier or None for text in written.dropna().unique()}
    return written.map(said).astype(object)


def with_distinct_names(rows: pd.DataFrame) -> pd.DataFrame:
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
            if times.parts:
                days = days_of_parts(*(without_blanks(_stripped(raw.rows[part])) for part in times.parts))
                text = days if times.main in times.parts else text.where(text.notna(), days)
            text = joined_times(
                text,
                clock=None if times.clock is None else _stripped(raw.rows[times.clock]),
                day=None if times.day is None else _stripped(raw.rows[times.day]),
                zone=None if times.zone is None else _stripped(raw.rows[times.zone]),
            )
            if one.required and times.day is not None:
                text = text.where(without_blanks(text).notna(), _stripped(raw.rows[times.day]))
        if name == "at" and SECOND_TIME_COLUMN in raw.rows:
            text = with_second_times(text, _stripped(raw.rows[SECOND_TIME_COLUMN]))
        cells[name] = text if one.type == "text" else without_blanks(text)
    return cells


def _stripped(column: pd.Series) -> pd.Series:
    return pd.Series([cell.strip() or None if isinstance(cell, str) else None for cell in column], dtype=object)


def _doubts(written: pd.Series, taxonomy: Taxonomy) -> list[Complaint]:
    said = {text: doubt_about(text, taxonomy) for text in written.dropna().unique()}
    marked = written[written.isin([text for text, doubt in said.items() if doubt])]
    return [Complaint(int(row), "taxon", text, said[text], "note") for row, text in marked.items()]  # type: ignore[call-overload]


def _provenance(raw: RawTable, plan: ColumnPlan) -> dict[str, pd.Series]:
    """Where each row came from, and the cells that feed no field, as JSON text."""
    kept = [_stripped(raw.rows[name]) for name in plan.other]
    texts: dict[tuple[str | None, ...], str | None] = {}
    for row in zip(*kept, strict=True):
        if row not in texts:
            cells = {name: cell for name, cell in zip(plan.other, row, strict=True) if cell}
            texts[row] = json.dumps(cells, ensure_ascii=False) if cells else None
    other = [texts[row] for row in zip(*kept, strict=True)] or [None] * len(raw.rows)
    return {
        "other": pd.Series(other, dtype=object),
        "source": pd.Series([raw.source] * len(raw.rows), dtype=object),
        "line": pd.Series(np.asarray(raw.lines, dtype=np.int64)),
        "original": pd.Series(list(raw.originals), dtype=object),
    }
