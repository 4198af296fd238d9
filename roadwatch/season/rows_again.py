"""Rows held back, read once more: from their kept cells, in the way their whole file was read."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, cast

from roadwatch.records.columns import match_columns
from roadwatch.records.dates import zone_of
from roadwatch.records.file_habits import FileHabits
from roadwatch.records.tables import RawTable
from roadwatch.records.values import with_distinct_names

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from roadwatch.records.dates import Order
    from roadwatch.records.fields import Kind
    from roadwatch.records.tables import RowFault

Cells = dict[str, str]
"""Written column to text, blanks left out."""


@dataclass(frozen=True, eq=False)
class Part:
    """
    Rows of one kind that are read together.

    Parameters
    ----------
    raw
        The rows.
    kind
        Kind of record.
    habits
        How the whole file writes things; None where ``raw`` is the whole table.
    mends
        Line to batch and line of the row held back whose place it takes.
    """

    raw: RawTable
    kind: Kind
    habits: FileHabits | None = None
    mends: Mapping[int, tuple[int, int]] = field(default_factory=dict)


def cells_of(raw: RawTable, lines: Iterable[int]) -> dict[int, Cells]:
    """Line to cells, of some lines of a table; a line that the reader could not cut into cells is left out."""
    wanted = set(lines)
    some = [k for k, line in enumerate(raw.lines.tolist()) if line in wanted]
    rows = with_distinct_names(raw.rows.iloc[some])
    names = [str(name) for name in rows.columns]
    return {
        int(raw.lines[k]): {name: text for name, text in zip(names, row, strict=True) if isinstance(text, str) and text}
        for k, row in zip(some, rows.itertuples(index=False, name=None), strict=True)
    }


def reading_of(raw: RawTable, habits: FileHabits | None, *, tables: int) -> dict[str, object]:
    """How a table was read, as plain values: its columns and habits, and how many tables its file has (0: some)."""
    written = [str(name) for name in with_distinct_names(raw.rows.iloc[:0]).columns]
    told: dict[str, object] = {"columns": written, "tables": tables}
    if habits:
        told["habits"] = {
            "order": habits.order,
            "years": habits.years,
            "decimal_comma": habits.decimal_comma,
            "per_cent": sorted(habits.per_cent),
            "utc": sorted(habits.utc),
        }
    return told


def columns_in(reading: Mapping[str, object]) -> list[str]:
    """The written columns of a table that ``reading_of`` described; empty where nobody did."""
    return [str(name) for name in cast("Sequence[object]", reading.get("columns") or ())]


def habits_in(reading: Mapping[str, object], *, timezone: str) -> FileHabits | None:
    """The habits of a table that ``reading_of`` described; None where nobody did."""
    kept = cast("Mapping[str, object] | None", reading.get("habits"))
    if kept is None:
        return None
    years = cast("Sequence[int] | None", kept.get("years"))
    return FileHabits(
        zone_of(timezone),
        order=cast("Order | None", kept.get("order")),
        years=cast("tuple[int, int] | None", tuple(years) if years else None),
        decimal_comma=bool(kept.get("decimal_comma")),
        per_cent=frozenset(cast("Iterable[str]", kept.get("per_cent") or ())),
        utc=frozenset(cast("Iterable[str]", kept.get("utc") or ())),
    )


def table_from_cells(
    source: str,
    rows: Mapping[int, Mapping[str, str]],
    *,
    columns: Sequence[str],
    originals: Mapping[int, str],
    faults: tuple[RowFault, ...] = (),
) -> RawTable:
    """
    Put kept cells together to a table, as the reader had made it.

    Parameters
    ----------
    source
        How messages call it.
    rows
        Line to cells.
    columns
        The columns of the file in their order; others that hold a cell follow.
    originals
        Line to wording.
    faults
        Rows that cannot be read.
    """
    more = dict.fromkeys(name for cells in rows.values() for name in cells)
    names = list(dict.fromkeys([*columns, *more]))
    return RawTable.of_columns(
        source,
        {name: [cells.get(name) for cells in rows.values()] for name in names},
        lines=list(rows),
        originals=[originals[line] for line in rows],
        faults=faults,
    )


def with_values(cells: Mapping[str, str], values: Mapping[str, str], kind: Kind) -> Cells:
    """
    Put values under canonical names in the place of the written columns that feed the same fields.

    >>> with_values({"lng": "81.9", "lat": "31.7"}, {"longitude": "-81.9"}, "crossings")
    {'lat': '31.7', 'longitude': '-81.9'}
    """
    feeds = match_columns(list(cells), kind)
    return {name: text for name, text in cells.items() if feeds.get(name, name) not in values} | dict(values)
