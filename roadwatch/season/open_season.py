"""A season as everybody has it: what is found from it can tell no more than what was made public."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import geopandas as gpd
import pandas as pd

from roadwatch.errors import RoadwatchError
from roadwatch.records.store import Season
from roadwatch.records.store_reading import points
from roadwatch.share.open_rows import open_records

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from roadwatch.share.masking import ShownPlaces
    from roadwatch.share.releases import Release

FOR_THE_TEAM = ("nests", "checks", "people")
"""Kinds of which the public has no row."""

AT_NESTS = ("nest", "soil")
"""Temperatures of loggers that stand in or beside nests: their places and names would tell of these."""


class OpenSeason(Season):
    """
    A season in which only the crossings stand that a release shows where they lie, as it shows them.

    Whatever is computed from it, with whatever options, in whichever year, depends on nothing that was masked: the
    difference of two such results is a difference of what is already public. Roads, layers and searches stay as they
    are, temperatures without those at nests; nests, checks and people are empty.

    Parameters
    ----------
    path
        The season file; it is only read.
    release
        The release. None of its open crossings is to be masked, also where its name has become another since it was
        first shown: what is public cannot be taken back.

    Source
    ------
    dwork2014
    """

    def __init__(self, path: Path, release: Release) -> None:
        super().__init__(path)
        self._release = release

    @cached_property
    def _crossings(self) -> gpd.GeoDataFrame:
        return _as_stored(open_records(self._release), super().read("crossings", keys=[]))

    def read(
        self, kind: str, *, columns: Sequence[str] | None = None, keys: Sequence[str] | None = None
    ) -> pd.DataFrame | gpd.GeoDataFrame:
        """
        Read one kind, as :meth:`roadwatch.records.store.Season.read`; crossings with ``is_public``, which is True.

        Raises
        ------
        UsageError
            The kind or a column does not exist.
        """
        if kind in FOR_THE_TEAM:
            return super().read(kind, columns=columns, keys=[])
        if kind == "temperatures":
            readings = super().read(kind, keys=keys)
            readings = readings[~readings["kind"].isin(AT_NESTS)].reset_index(drop=True)
            return readings if columns is None else readings[list(columns)]
        if kind != "crossings":
            return super().read(kind, columns=columns, keys=keys)
        rows = self._crossings if keys is None else self._crossings[self._crossings["record_key"].isin(list(keys))]
        return rows.assign(is_public=True) if columns is None else rows[[*columns, "geometry"]].copy()


def open_season(path: Path, places: ShownPlaces) -> OpenSeason:
    """
    A season reduced to what a release shows where it lies.

    Parameters
    ----------
    path
        The season file.
    places
        Places for the public, whose release is noted in the season.

    Raises
    ------
    UsageError
        The season does not exist.
    RoadwatchError
        The places were made for the team.
    """
    if places.release is None:
        raise RoadwatchError("an open season is made from places for the public; these were made for the team")
    return OpenSeason(Season.open(path).path, places.release)


def _as_stored(rows: pd.DataFrame, like: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Rows in the columns and types of the season's own; what a release does not keep is blank."""
    rows = rows.assign(record_id=rows["record_key"])
    cells = {}
    for name in like.columns.drop("geometry"):
        values = rows[name].astype(object) if name in rows else pd.Series([None] * len(rows), dtype=object)
        is_number = like[name].dtype == float
        cells[name] = pd.to_numeric(values).astype(float) if is_number else values.where(values.notna(), None)
    table = pd.DataFrame(cells)
    place = points(table["longitude"].to_numpy(dtype=float), table["latitude"].to_numpy(dtype=float))
    return gpd.GeoDataFrame(table, geometry=place, crs="EPSG:4326")
