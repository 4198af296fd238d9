"""What a season can list of itself: its batches, the rows held back, remarks, corrections and decisions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.records import store_decisions, store_held_back
from roadwatch.records.season_file import reading
from roadwatch.records.store_discards import COUNT
from roadwatch.records.store_traces import Trace, kinds_of, trace_of

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.records.store_held_back import HeldRow


class Listings:
    """
    The lists of one season file, each read anew; the base of ``Season``.

    Parameters
    ----------
    path
        An existing season file.
    """

    def __init__(self, path: Path) -> None:
        self.path = path

    def kinds_of(self, record_key: str) -> list[str]:
        """The kinds that have, or had, a record of this name."""
        with reading(self.path) as connection:
            return kinds_of(connection, record_key)

    def trace(self, kind: str, record_key: str) -> Trace:
        """
        Where a record came from and what became of it.

        Raises
        ------
        UsageError
            The season never held such a record.
        """
        with reading(self.path) as connection:
            return trace_of(connection, kind, record_key)

    def batches(self) -> pd.DataFrame:
        """What was read in: ``batch file_name sha256 kind ingested_at rows_in accepted known held_back discarded``."""
        return self._table(
            "SELECT id AS batch, file_name, sha256, kind, ingested_at, rows_in, accepted, known, "  # noqa: S608
            f"held_back - {COUNT} AS held_back, {COUNT} AS discarded, undone_at FROM batches ORDER BY id"
        )

    def standing_batches(self, sha256: str) -> list[dict[str, object]]:
        """The batches that stand and were read from a file: ``batch file_name kind rows_in discarded ... reading``."""
        found = self._table(
            f"SELECT id AS batch, file_name, kind, ingested_at, rows_in, {COUNT} AS discarded, reading FROM batches "  # noqa: S608
            "WHERE sha256 = ? AND undone_at IS NULL ORDER BY id",
            (sha256,),
        )
        return [{str(name): value for name, value in row.items()} for row in found.to_dict("records")]

    def rows_of(self, batch: int) -> pd.DataFrame:
        """Every row of a batch in its order: ``line record_key original``; no name where it is held back."""
        return self._table(
            "SELECT line, record_id AS record_key, original FROM source_rows WHERE batch = ? ORDER BY line", (batch,)
        )

    def held_back(self) -> pd.DataFrame:
        """Rows not stored: ``held_back_id batch file_name kind line original reasons proposal``, one reason a line."""
        names = ("held_back_id", "batch", "file_name", "kind", "line", "original", "reasons", "proposal")
        rows = [[getattr(row, name) for name in names] for row in self.held_rows()]
        return pd.DataFrame(rows, columns=list(names), dtype=object)

    def held_rows(self, *, batch: int | None = None, is_settled: bool | None = False) -> list[HeldRow]:
        """Rows not stored, with their cells: the open ones, the settled ones (True) or both (None)."""
        with reading(self.path) as connection:
            return store_held_back.held_rows(connection, batch=batch, is_settled=is_settled)

    def discarded_rows(self) -> list[HeldRow]:
        """Rows of which nothing could be made, each with the reason."""
        return [row for row in self.held_rows(is_settled=True) if row.settled_how == "discarded"]

    def find_held_row(self, held_back_id: str) -> HeldRow:
        """
        One row that is or was held back.

        Raises
        ------
        UsageError
            There is no such row.
        """
        with reading(self.path) as connection:
            return store_held_back.find_held_row(connection, held_back_id)

    def decisions(self) -> pd.DataFrame:
        """What a person decided of pairs of crossings: ``record_a record_b word who changed_at why``."""
        with reading(self.path) as connection:
            return store_decisions.decisions(connection)

    def remarks(self) -> pd.DataFrame:
        """What to look at in stored rows: ``batch file_name kind line record_key severity reason``."""
        return self._table(
            "SELECT batch, file_name, kind, line, record_key, severity, reason FROM remarks "
            "JOIN batches ON batch = batches.id WHERE undone_at IS NULL ORDER BY batch, line, remarks.id"
        )

    def changes(self) -> pd.DataFrame:
        """Every correction that holds, in order: ``who changed_at kind record_key field old new why``."""
        return self._table(
            "SELECT who, changed_at, kind, record_key, field, old, new, why FROM changes "
            "WHERE undone_at IS NULL ORDER BY id"
        )

    def _table(self, query: str, values: tuple[str | int, ...] = ()) -> pd.DataFrame:
        with reading(self.path) as connection:
            found = connection.execute(query, values)
            names = [description[0] for description in found.description]
            return pd.DataFrame(found.fetchall(), columns=names, dtype=object)
