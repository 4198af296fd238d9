"""Judging a batch's rows against the season: new, already known, or in conflict with a stored record."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from roadwatch.records.fields import ID_FIELD
from roadwatch.records.store_identity import Difference, differences
from roadwatch.records.store_reading import read_table
from roadwatch.records.tables import RowFault

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Sequence

    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

    from roadwatch.records.store_columns import Column


MUCH_LONGER = 4
"""Looking up one name takes about as long as reading this many."""


@dataclass(frozen=True, eq=False)
class Verdict:
    """(n,) what each row is; a row that is neither new nor known is in conflict and has its fault."""

    is_new: NDArray[np.bool_]
    is_known: NDArray[np.bool_]
    conflicts: tuple[RowFault, ...]


def judge(
    connection: sqlite3.Connection, rows: pd.DataFrame, columns: Sequence[Column], *, kind: str, source: str
) -> Verdict:
    """
    Tell which rows are new, which are known, and which contradict the record of the same name.

    Parameters
    ----------
    connection
        An open season.
    rows
        (n,) typed rows with ``record_key line original is_named``; a name made from the content contradicts nothing.
    columns
        Columns whose content is compared.
    kind
        Kind of record.
    source
        How messages call the file.
    """
    keys = rows["record_key"]
    is_stored = keys.isin(stored_keys(connection, kind, keys.tolist())).to_numpy()
    is_repeated = keys.duplicated().to_numpy() & ~is_stored
    faults: list[RowFault] = []
    if kind in ID_FIELD:
        named = rows[is_stored & rows["is_named"].to_numpy(dtype=bool)]
        faults += _conflicts_with_stored(connection, named, columns, kind=kind, source=source)
        faults += _conflicts_within(rows, is_repeated, columns, kind=kind, source=source)
    in_conflict = rows["line"].isin({fault.line for fault in faults}).to_numpy()
    is_known = (is_stored | is_repeated) & ~in_conflict
    return Verdict(~is_stored & ~is_repeated, is_known, tuple(faults))


def stored_keys(connection: sqlite3.Connection, kind: str, keys: Sequence[str]) -> set[str]:
    """Those of the names asked for that the season already holds; a table that is not much longer is read whole."""
    (n_stored,) = connection.execute(f'SELECT count(*) FROM "{kind}"').fetchone()  # noqa: S608  # one of our own names
    if n_stored < MUCH_LONGER * len(keys):
        every = (key for (key,) in connection.execute(f'SELECT record_key FROM "{kind}"'))  # noqa: S608
        return set(every).intersection(keys)
    query = f'SELECT record_key FROM "{kind}" WHERE record_key IN (SELECT value FROM json_each(?))'  # noqa: S608
    return {key for (key,) in connection.execute(query, (json.dumps(list(keys)),))}


def _conflicts_with_stored(
    connection: sqlite3.Connection, rows: pd.DataFrame, columns: Sequence[Column], *, kind: str, source: str
) -> list[RowFault]:
    if rows.empty:
        return []
    keys = rows["record_key"].tolist()
    is_corrected = connection.execute("SELECT 1 FROM changes WHERE kind = ? LIMIT 1", (kind,)).fetchone() is not None
    versions = [
        read_table(connection, kind, keys=keys, is_amended=is_amended).set_index("record_key").loc[keys].reset_index()
        for is_amended in ((True, False) if is_corrected else (False,))
    ]
    found = differences(rows.reset_index(drop=True), versions, columns)
    return [_fault(rows.iloc[one.row], one, kind=kind, source=source, where="stored") for one in found]


def _conflicts_within(
    rows: pd.DataFrame, is_repeated: NDArray[np.bool_], columns: Sequence[Column], *, kind: str, source: str
) -> list[RowFault]:
    if not is_repeated.any():
        return []
    again = rows[is_repeated]
    first = rows[~is_repeated].drop_duplicates("record_key").set_index("record_key")
    first = first.loc[again["record_key"]].reset_index()
    found = differences(again.reset_index(drop=True), [first], columns)
    return [
        _fault(again.iloc[one.row], one, kind=kind, source=source, where=f"in line {first['line'].iloc[one.row]}")
        for one in found
    ]


def _fault(row: pd.Series, difference: Difference, *, kind: str, source: str, where: str) -> RowFault:
    name = ID_FIELD[kind]
    return RowFault(
        source=source,
        line=int(row["line"]),
        original=str(row["original"]),
        column=difference.column,
        found=difference.found,
        reason=(
            f"{name} {row['record_key']} is already {where} with another {difference.column} ({difference.stored}, "
            f"here {difference.found}); use amend to correct that record, or give this one its own {name}"
        ),
    )
