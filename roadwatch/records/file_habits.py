"""How one file writes things: its order of day and month, its per cents and units, told by the file as a whole."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from roadwatch.records.dates import DayOrder, Order, day_order
from roadwatch.records.fields import Kind, fields_of
from roadwatch.records.numbers import is_known_unit, is_per_cent

if TYPE_CHECKING:
    from collections.abc import Iterator
    from zoneinfo import ZoneInfo

    import pandas as pd

    from roadwatch.records.columns import ColumnPlan


@dataclass(frozen=True)
class FileHabits:
    """
    How one file writes things.

    Parameters
    ----------
    zone
        Timezone of times without an offset.
    order
        Order of day and month; None where the file does not tell.
    decimal_comma
        Numbers are written with a comma.
    years
        First and last year that its dates write in full; None where none does.
    per_cent, utc
        Canonical names of the columns in per cent, and of those whose name says UTC.
    notes
        Sentences that say what was decided.
    """

    zone: ZoneInfo
    order: Order | None = None
    years: tuple[int, int] | None = None
    decimal_comma: bool = False
    per_cent: frozenset[str] = frozenset()
    utc: frozenset[str] = frozenset()
    notes: tuple[str, ...] = ()


def habits_of(
    cells: dict[str, pd.Series],
    plan: ColumnPlan,
    kind: Kind,
    *,
    zone: ZoneInfo,
    decimal_comma: bool = False,
    date_order: Order | None = None,
) -> FileHabits:
    """
    Learn the habits of a file from all its cells and the names of its columns.

    Parameters
    ----------
    cells
        Canonical name to the (n,) texts of that column, None where blank.
    plan
        Which written column feeds which field.
    kind
        The kind of record.
    zone
        Timezone of times without an offset.
    decimal_comma
        What the reader found.
    date_order
        Order of day and month where the file itself does not tell.
    """
    told = _order(cells, kind, date_order)
    per_cent = frozenset(_in_per_cent(cells, plan, kind))
    utc = frozenset(name for name, unit in plan.units.items() if unit in ("utc", "gmt"))
    notes = [told.note] if told.note else []
    notes += [f"{name} is read as per cent" for name in sorted(per_cent)]
    notes += _unit_notes(plan, kind)
    return FileHabits(zone, told.order, told.years, decimal_comma, per_cent, utc, tuple(notes))


def _order(cells: dict[str, pd.Series], kind: Kind, date_order: Order | None) -> DayOrder:
    """The order that the dates tell, else the one that is asked for, and the sentence that says so."""
    names = [one.name for one in fields_of(kind).values() if one.type in ("date", "datetime")]
    told = day_order(sorted({text for name in names for text in cells[name].dropna().unique()}))
    if told.order or not date_order:
        return told
    return replace(told, order=date_order, note=f"dates are read {date_order}, as asked")


def _in_per_cent(cells: dict[str, pd.Series], plan: ColumnPlan, kind: Kind) -> Iterator[str]:
    for name, one in fields_of(kind).items():
        written = plan.of_field.get(name, "")
        if one.type == "probability" and is_per_cent(cells[name].dropna().unique(), written_name=written):
            yield name


def _unit_notes(plan: ColumnPlan, kind: Kind) -> Iterator[str]:
    for name, unit in plan.units.items():
        one, written = fields_of(kind)[name], plan.of_field[name]
        if name in ("longitude", "latitude"):
            continue  # what a place is written in is told by its cells
        if one.unit and not is_known_unit(unit, field=one):
            yield f"unit '{unit}' in column '{written}' is not known; its numbers are taken as {one.unit}"
        elif one.unit and not name.endswith(f"_{unit}"):
            yield f"column '{written}' is turned from {unit} to {name} in {one.unit}"
