"""What one audience may see of a season: masked places, hotspots, and the layers around them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from roadwatch.identify.confidence import asked_taxon, probability_sensitive
from roadwatch.identify.tables import identify_tables
from roadwatch.records.season_file import writing
from roadwatch.records.store import Season
from roadwatch.records.store_releases import keep_release, standing_records
from roadwatch.records.taxa import Taxonomy, taxonomy_of
from roadwatch.season.open_season import open_season
from roadwatch.season.own_tables import tables_folder
from roadwatch.share.grid import CELL_KM, EQUAL_AREA_GRID
from roadwatch.share.hotspot_view import ShownHotspots, show_hotspots
from roadwatch.share.masking import Audience, ShownPlaces, show_places
from roadwatch.share.releases import KEYS

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

FindHotspots = Callable[[Season], "gpd.GeoDataFrame | None"]
"""Finds ranked hotspots in a season; None where it holds too few records."""

NO_HOTSPOTS = gpd.GeoDataFrame(
    {name: pd.Series(dtype=object) for name in ("rank", "road", "deaths", "expected", "ratio", "p_value")},
    geometry=gpd.GeoSeries([], crs="EPSG:4326"),
)


@dataclass(frozen=True)
class SeasonView:
    """
    A season as one audience may see it.

    ``opened`` is the season from which further results for this audience may be found: for the public it holds open
    crossings alone.
    """

    audience: Audience
    places: ShownPlaces
    hotspots: ShownHotspots
    opened: Season
    roads: gpd.GeoDataFrame
    water: gpd.GeoDataFrame
    protected: gpd.GeoDataFrame
    measures: gpd.GeoDataFrame
    years: tuple[str, str]


def sensitive_names(taxonomy: Taxonomy | None = None) -> set[str]:
    """
    Names of taxa whose places are kept from the public, and of every group, family or order that holds one.

    Parameters
    ----------
    taxonomy
        The season's own taxa; None is the shipped tree.
    """
    taxonomy = taxonomy or taxonomy_of()
    touchy = {name for name, taxon in taxonomy.taxa.items() if taxon.sensitive}
    return touchy | {step for name in touchy for step in taxonomy.lineage(name)}


def is_sensitive(path: Path, taxon: str) -> bool:
    """
    Whether the places of a taxon, or of one that it may hold, are kept from the public.

    Raises
    ------
    UsageError
        The season does not exist, or the taxon is not known.
    """
    tables = identify_tables(tables_folder(Season.open(path)))
    return asked_taxon(taxon, tables=tables) in sensitive_names(tables.tree.taxonomy)


def season_view(
    path: Path,
    *,
    audience: Audience,
    today: date,
    hotspots: gpd.GeoDataFrame | FindHotspots | None = None,
    windows: pd.DataFrame | None = None,
    what: str = "map",
    file_name: str = "",
    released_at: str | None = None,
) -> SeasonView:
    """
    Gather a season for one audience; masking decides every place in it.

    What the public gets is noted in the season as a release before anybody sees it, and later releases keep to it.

    Parameters
    ----------
    path
        The season file.
    audience
        ``public`` or ``team``.
    today
        The day for which a window is called open or over.
    hotspots
        Ranked hotspots, or what finds them in the season as this audience has it; the public gets only hotspots found
        so. None where none were computed.
    windows
        Hatch windows by ``nest_id``, or None.
    what, file_name, released_at
        What is made, for which file, and at what ISO 8601 time; ``today`` where that is None.

    Raises
    ------
    UsageError
        The season does not exist.
    UnfitFileError
        The season cannot be written, so that a release cannot be noted.
    RoadwatchError
        Hotspots for the public were found from all records.
    """
    season = Season.open(path)
    crossings, nests = _with_p_sensitive(season, season.read("crossings")), season.read("nests")
    if windows is not None:
        nests = nests.set_index("nest_id", drop=False).loc[_next_first(windows, today)].reset_index(drop=True)
    taxonomy = taxonomy_of(tables_folder(season))
    touchy, known = sensitive_names(taxonomy), set(taxonomy.taxa)
    days = sorted(day[:4] for day in [*crossings["observed_at"].dropna(), *nests["found_at"].dropna()])
    show = partial(
        show_places, crossings, nests, windows, audience=audience, today=today, sensitive=touchy, known=known
    )
    if audience == "public":
        told = {"released_at": released_at or today.isoformat(), "what": what, "file_name": file_name}
        places = _released(season, show, **told)
        opened: Season = open_season(path, places)
    else:
        places, opened = show(), season
    found, from_crossings = _found(opened, hotspots, crossings)
    return SeasonView(
        audience=audience,
        places=places,
        hotspots=show_hotspots(found, from_crossings, audience=audience, sensitive=touchy, known=known),
        opened=opened,
        roads=season.read("roads"),
        water=season.read("water"),
        protected=season.read("protected"),
        measures=season.read("measures"),
        years=(days[0], days[-1]) if days else ("", ""),
    )


def _with_p_sensitive(season: Season, crossings: pd.DataFrame) -> pd.DataFrame:
    region = season.settings.get("region")
    if region is None or crossings.empty:
        return crossings
    tables = identify_tables(tables_folder(season))
    return crossings.assign(p_sensitive=probability_sensitive(crossings, region=region, tables=tables))


def _released(
    season: Season, show: Callable[..., ShownPlaces], *, released_at: str, what: str, file_name: str
) -> ShownPlaces:
    """Decide what a release shows and note it, as one step: two releases at once cannot miss each other."""
    with writing(season.path) as connection:
        places = show(standing=standing_records(connection))
        if places.release is not None:
            keep_release(
                connection,
                released_at=released_at,
                what=what,
                grid=f"{EQUAL_AREA_GRID}, squares of {CELL_KM} km",
                file_name=file_name,
                came=places.release.came[[*KEYS, "content"]].itertuples(index=False, name=None),
                changed=places.release.changed,
                left=places.release.left,
            )
            places = places.as_noted(standing_records(connection))
    return places


def _found(
    opened: Season, hotspots: gpd.GeoDataFrame | FindHotspots | None, crossings: pd.DataFrame
) -> tuple[gpd.GeoDataFrame, pd.DataFrame]:
    """Hotspots, and the records they were found from."""
    if not callable(hotspots):
        return (NO_HOTSPOTS, crossings.iloc[:0]) if hotspots is None else (hotspots, crossings)
    found = hotspots(opened)
    return (NO_HOTSPOTS if found is None else found), opened.read("crossings")


def _next_first(windows: pd.DataFrame, today: date) -> pd.Series:
    """Nests as a coordinator needs them: windows not yet over by their likely day, then past ones, then none."""
    late = windows["hatch_late"].fillna(windows["hatch_likely"])
    order = windows.assign(group=np.select([late.isna(), late < today.isoformat()], [2, 1], default=0))
    return order.sort_values(["group", "hatch_likely"], kind="stable")["nest_id"]
