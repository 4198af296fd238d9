"""The season file: one GeoPackage that holds every record, layer and correction of a season."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.errors import NotEnoughDataError, UsageError
from roadwatch.records import store_changes
from roadwatch.records.season_file import check_season_file, reading, writing
from roadwatch.records.store_batches import Batch, BatchReport, store_batch
from roadwatch.records.store_layers import replace_features
from roadwatch.records.store_reading import read_table
from roadwatch.records.store_schema import SCHEMA_VERSION, create_tables

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import geopandas as gpd

__all__ = ["Batch", "BatchReport", "Season"]


class Season:
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

    def __init__(self, path: Path) -> None:
        self.path = path

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
        _reserve(path)
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

    def read(self, kind: str, *, columns: Sequence[str] | None = None) -> pd.DataFrame | gpd.GeoDataFrame:
        """
        Read one kind of record or layer, with the latest correction of each field.

        Parameters
        ----------
        kind
            ``crossings nests checks searches temperatures people measures roads water protected passages no_fence``.
        columns
            Columns wanted; None reads all. A geometry comes with every kind that has one.

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
            return read_table(connection, kind, columns=columns)

    def known(self, kind: str) -> set[str]:
        """The names of all records of a kind."""
        return set(self.read(kind, columns=["record_key"])["record_key"])

    def batch_of(self, sha256: str) -> int | None:
        """The number of the first batch read from the file with this digest; None when it was never read."""
        with reading(self.path) as connection:
            (number,) = connection.execute("SELECT min(id) FROM batches WHERE sha256 = ?", (sha256,)).fetchone()
        return None if number is None else int(number)

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
            bounds = connection.execute(
                "SELECT min_x, min_y, max_x, max_y FROM gpkg_contents WHERE table_name = 'roads'"
            ).fetchone()
        if bounds is None or bounds[0] is None:
            raise NotEnoughDataError(f"{self.path} has no roads; start a season with 'roadwatch new' and a roads layer")
        west, south, east, north = bounds
        return west, south, east, north

    def add_change(
        self, kind: str, record_key: str, field: str, new: str | None, *, who: str, when: str, why: str
    ) -> str | None:
        """
        Correct one field of one record and keep its trace; returns the value it had before, as text.

        Raises
        ------
        UsageError
            No such record or field, no reason given, or the new value does not fit the field.
        """
        with writing(self.path) as connection:
            return store_changes.add_change(connection, kind, record_key, field, new, who=who, when=when, why=why)

    def batches(self) -> pd.DataFrame:
        """What was read in: ``batch file_name sha256 kind ingested_at rows_in accepted known held_back``."""
        return self._table(
            "SELECT id AS batch, file_name, sha256, kind, ingested_at, rows_in, accepted, known, held_back "
            "FROM batches ORDER BY id"
        )

    def held_back(self) -> pd.DataFrame:
        """Rows not stored: ``batch file_name kind line original reasons``, one reason a line of text."""
        return self._table(
            "SELECT batch, file_name, kind, line, original, reasons FROM held_back JOIN batches ON batch = batches.id "
            "WHERE settled_at IS NULL ORDER BY batch, line"
        )

    def remarks(self) -> pd.DataFrame:
        """What to look at in stored rows: ``batch file_name kind line record_key severity reason``."""
        return self._table(
            "SELECT batch, file_name, kind, line, record_key, severity, reason FROM remarks "
            "JOIN batches ON batch = batches.id ORDER BY batch, line, remarks.id"
        )

    def changes(self) -> pd.DataFrame:
        """Every correction in order: ``who changed_at kind record_key field old new why``."""
        return self._table("SELECT who, changed_at, kind, record_key, field, old, new, why FROM changes ORDER BY id")

    def sources_of(self, kind: str, record_key: str) -> pd.DataFrame:
        """Every row that told of a record: ``batch file_name line original``."""
        return self._table(
            "SELECT batch, file_name, line, original FROM source_rows JOIN batches ON batch = batches.id "
            "WHERE kind = ? AND record_id = ? ORDER BY batch, line",
            (kind, record_key),
        )

    def _table(self, query: str, values: tuple[str, ...] = ()) -> pd.DataFrame:
        with reading(self.path) as connection:
            found = connection.execute(query, values)
            names = [description[0] for description in found.description]
            return pd.DataFrame(found.fetchall(), columns=names, dtype=object)


def _reserve(path: Path) -> None:
    """Make the empty file, so that two makers of one name cannot both succeed."""
    try:
        path.open("xb").close()
    except FileExistsError as error:
        raise UsageError(f"{path} exists; choose another name, or add to this season with 'ingest'") from error
    except OSError as error:
        raise UsageError(f"{path} cannot be made ({error.strerror}); check the folder and your right to it") from error
