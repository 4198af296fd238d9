"""The season file: one GeoPackage that holds every record, layer and correction of a season."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from roadwatch.errors import NotEnoughDataError
from roadwatch.records import store_changes, store_decisions, store_discards
from roadwatch.records.season_file import check_season_file, reading, reserve, writing
from roadwatch.records.store_batches import Batch, BatchReport, store_batch, store_held_rows
from roadwatch.records.store_layers import replace_features
from roadwatch.records.store_listings import Listings
from roadwatch.records.store_reading import read_table
from roadwatch.records.store_schema import SCHEMA_VERSION, create_tables, stated_bounds
from roadwatch.records.store_undo import Undone, undo_batch

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import geopandas as gpd
    import pandas as pd

    from roadwatch.records.store_held_back import HeldRow, Settled

__all__ = ["Batch", "BatchReport", "Season"]


class Season(Listings):
    """
    One season file, opened anew for every read and write, so that no lock is held in between.

    Parameters
    ----------
    path
        An existing season file; use ``Season.create`` or ``Season.open``.

    Source
    ------
    ogc12128r
    """

    @classmethod
    def create(cls, path: Path | str, *, timezone: str, region: str | None, settings: Mapping[str, str]) -> Season:
        """
        Make an empty season.

        Parameters
        ----------
        path
            The file to make.
        timezone
            Timezone of times written without an offset.
        region
            Key of the region whose tables apply.
        settings
            What else holds for the whole season.

        Raises
        ------
        UsageError
            The file exists, or its folder does not.
        UnfitFileError
            The file cannot be written.
        """
        path = Path(path)
        stated = {**settings, "timezone": timezone, "schema_version": str(SCHEMA_VERSION)}
        if region is not None:
            stated["region"] = region
        reserve(path)
        try:
            with writing(path) as connection:
                create_tables(connection)
                connection.executemany("INSERT INTO settings (name, value) VALUES (?, ?)", list(stated.items()))
        except BaseException:
            path.unlink(missing_ok=True)
            raise
        return cls(path)

    @classmethod
    def open(cls, path: Path | str) -> Season:
        """
        Open a season, after a look at whether it is one.

        Raises
        ------
        UsageError
            The file does not exist.
        UnfitFileError
            The file is not a season, is damaged, or was made by a newer version.
        """
        check_season_file(Path(path))
        return cls(Path(path))

    @property
    def settings(self) -> dict[str, str]:
        """What holds for the whole season: timezone, region, schema_version, and source and CRS of each layer."""
        with reading(self.path) as connection:
            return dict(connection.execute("SELECT name, value FROM settings ORDER BY id").fetchall())

    def read(
        self, kind: str, *, columns: Sequence[str] | None = None, keys: Sequence[str] | None = None
    ) -> pd.DataFrame | gpd.GeoDataFrame:
        """
        Read one kind of record or layer, with the latest correction of each field.

        Parameters
        ----------
        kind
            ``crossings nests checks searches temperatures people measures roads water protected passages no_fence``.
        columns
            Columns wanted; None reads all. A geometry comes with every kind that has one.
        keys
            Names of the records wanted; None reads all.

        Returns
        -------
        One row a record: ``record_key``, the canonical columns, ``seen_*`` and ``other``; numbers float64, text and
        booleans objects with None for blank. A GeoDataFrame in EPSG:4326 where the kind has a place.

        Raises
        ------
        UsageError
            The kind or a column does not exist.
        """
        with reading(self.path) as connection:
            return read_table(connection, kind, columns=columns, keys=keys)

    def known(self, kind: str) -> set[str]:
        """The names of all records of a kind."""
        return set(self.read(kind, columns=["record_key"])["record_key"])

    def write_batch(self, batch: Batch) -> BatchReport:
        """
        Store what was read from one table of a file, whole or not at all.

        A record already stored is kept once and noted as seen in both files. A row that bears a stored record's name
        but contradicts it is held back. The same rows of the same file add nothing, except rows held back the first
        time that are good now.

        Raises
        ------
        UsageError
            The kind is not one of records.
        UnfitFileError
            A column name cannot be kept, or the file cannot be written.
        """
        with writing(self.path) as connection:
            return store_batch(connection, batch)

    def store_held_rows(self, number: int, batch: Batch, *, how: Settled) -> BatchReport:
        """
        Store rows of an earlier batch that were held back and are good now, whole or not at all.

        Raises
        ------
        UnfitFileError
            The file cannot be written.
        """
        with writing(self.path) as connection:
            return store_held_rows(connection, number, batch, how=how)

    def undo(self, number: int, *, who: str, when: str, why: str) -> Undone:
        """
        Take a batch back; what only it told leaves the season, with its trace.

        Raises
        ------
        UsageError
            There is no such batch, or it was undone before.
        """
        with writing(self.path) as connection:
            return undo_batch(connection, number, who=who, when=when, why=why)

    def replace_layer(self, kind: str, layer: gpd.GeoDataFrame, *, source: str) -> int:
        """
        Put a map layer, in any reference system, in the place of the one of its kind; returns the features stored.

        Raises
        ------
        UsageError
            The kind is not a layer.
        UnfitFileError
            The layer has no reference system or no geometry, or the file cannot be written.
        """
        with writing(self.path) as connection:
            return replace_features(connection, kind, layer, source=source)

    def extent(self) -> tuple[float, float, float, float]:
        """
        West, south, east and north end of the roads, degrees on WGS 84.

        Raises
        ------
        NotEnoughDataError
            The season has no roads.
        """
        with reading(self.path) as connection:
            bounds = stated_bounds(connection, "roads")
        if bounds is None:
            raise NotEnoughDataError(f"{self.path} has no roads; start a season with 'roadwatch new' and a roads layer")
        return bounds

    def add_changes(
        self, kind: str, record_key: str, values: Mapping[str, str | None], *, who: str, when: str, why: str
    ) -> dict[str, str | None]:
        """
        Correct fields of one record, all or none, and keep their trace; returns the values before, as text.

        Raises
        ------
        UsageError
            No such record or field, no reason given, or a new value does not fit its field.
        """
        told = {"who": who, "when": when, "why": why}
        with writing(self.path) as connection:
            return {
                field: store_changes.add_change(connection, kind, record_key, field, new, **told)
                for field, new in values.items()
            }

    def decide(
        self, pairs: Sequence[tuple[str, str]], word: store_decisions.Word, *, who: str, when: str, why: str
    ) -> None:
        """
        Keep what a person decided about pairs of crossings, all or none.

        Parameters
        ----------
        pairs
            Names of two records each.
        word
            Whether each pair is one animal: ``yes``, ``no``, or ``undecided``, which takes a decision back.
        who, when, why
            Who decides, at what ISO 8601 time, and for what reason.

        Raises
        ------
        UsageError
            A record is not in the season, or no reason is given.
        """
        with writing(self.path) as connection:
            store_decisions.add_decisions(connection, pairs, word, who=who, when=when, why=why)

    def discard(self, held_back_ids: Sequence[str], *, who: str, when: str, why: str) -> list[HeldRow]:
        """
        Close rows held back of which nothing can be made, all or none; returns them.

        Raises
        ------
        UsageError
            There is no such row, it was settled before, or no reason is given.
        """
        with writing(self.path) as connection:
            return store_discards.discard_rows(connection, held_back_ids, who=who, when=when, why=why)

    def reopen(self, held_back_ids: Sequence[str], *, who: str, when: str, why: str) -> list[HeldRow]:
        """
        Let discarded rows wait for a cure again, all or none; returns them as they stood.

        Raises
        ------
        UsageError
            There is no such row, it was not discarded, or no reason is given.
        """
        with writing(self.path) as connection:
            return store_discards.reopen_rows(connection, held_back_ids, who=who, when=when, why=why)
