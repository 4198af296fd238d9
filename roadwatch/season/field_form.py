"""What a volunteer's phone needs of a season: its roads and water, and how to name an animal. No record, no nest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from roadwatch.errors import NotEnoughDataError
from roadwatch.identify.tables import Tables, identify_tables
from roadwatch.records.store import Season
from roadwatch.season.own_tables import tables_folder

if TYPE_CHECKING:
    from pathlib import Path

    import geopandas as gpd


@dataclass(frozen=True)
class FieldSeason:
    """
    A season as the field form wants it.

    Parameters
    ----------
    roads, water
        Layers as they stand in the season.
    region
        Key of the region whose commonness counts, or None.
    tables
        Tables of identification, the county's own where it has them.
    notes
        What the coordinator must know before handing the form out.
    """

    roads: gpd.GeoDataFrame
    water: gpd.GeoDataFrame
    region: str | None
    tables: Tables
    notes: tuple[str, ...]


def field_season(path: Path) -> FieldSeason:
    """
    Gather what the field form holds.

    Parameters
    ----------
    path
        The season file.

    Raises
    ------
    UsageError
        The season does not exist.
    NotEnoughDataError
        The season's region has no priors in the tables: the phone would name animals otherwise than the season.
    """
    season = Season.open(path)
    tables = identify_tables(tables_folder(season))
    region = season.settings.get("region") or None
    if region is not None and region not in tables.priors:
        raise NotEnoughDataError(
            f"not enough data: nothing says how common taxa are in region '{region}'; give tables of your own with a "
            f"priors.csv that names it; known are {', '.join(tables.priors)}"
        )
    notes = [
        "The form holds the county's roads and water and the tables of marks; no record and no nest is in it.",
        "It was tried in Chromium on a computer only: try it on your volunteers' phones before a season rests on it.",
    ]
    if region is None:
        notes.append("The season names no region: the form takes all taxa as equally common.")
    return FieldSeason(season.read("roads"), season.read("water"), region, tables, tuple(notes))
