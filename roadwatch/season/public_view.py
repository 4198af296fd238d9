"""What one audience may see of a season: masked places, hotspots, and the layers around them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from roadwatch.identify.confidence import asked_taxon, probability_sensitive
from roadwatch.identify.tables import identify_tables
from roadwatch.records.store import Season
from roadwatch.records.taxa import all_taxa, lineage
from roadwatch.season.own_tables import tables_folder
from roadwatch.share.hotspot_view import ShownHotspots, show_hotspots
from roadwatch.share.masking import Audience, ShownPlaces, show_places

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

NO_HOTSPOTS = gpd.GeoDataFrame(
    {name: pd.Series(dtype=object) for name in ("rank", "road", "deaths", "expected", "ratio", "p_value")},
    geometry=gpd.GeoSeries([], crs="EPSG:4326"),
)


@dataclass(frozen=True)
class SeasonView:
    """A season as one audience may see it."""

    audience: Audience
    places: ShownPlaces
    hotspots: ShownHotspots
    roads: gpd.GeoDataFrame
    water: gpd.GeoDataFrame
    protected: gpd.GeoDataFrame
    measures: gpd.GeoDataFrame
    years: tuple[str, str]


def sensitive_names() -> set[str]:
    """Names of taxa whose places are kept from the public, and of every group, family or order that holds one."""
    touchy = {name for name, taxon in all_taxa().items() if taxon.sensitive}
    return touchy | {step for name in touchy for step in lineage(name)}


def is_sensitive(path: Path, taxon: str) -> bool:
    """
    Whether the places of a taxon, or of one that it may hold, are kept from the public.

    Raises
    ------
    UsageError
        The season does not exist, or the taxon is not known.
    """
    tables = identify_tables(tables_folder(Season.open(path)))
    return asked_taxon(taxon, tables=tables) in sensitive_names()


def season_view(
    path: Path,
    *,
    audience: Audience,
    today: date,
    hotspots: gpd.GeoDataFrame | None = None,
    windows: pd.DataFrame | None = None,
) -> SeasonView:
    """
    Gather a season for one audience; masking decides every place in it.

    Parameters
    ----------
    path
        The season file.
    audience
        ``public`` or ``team``.
    today
        The day for which a window is called open or over.
    hotspots
        Ranked hotspots, or None where none were computed.
    windows
        Hatch windows by ``nest_id``, or None.

    Raises
    ------
    UsageError
        The season does not exist.
    """
    season = Season.open(path)
    crossings, nests = season.read("crossings"), season.read("nests")
    region = season.settings.get("region")
    if region is not None and len(crossings):
        tables = identify_tables(tables_folder(season))
        crossings = crossings.assign(p_sensitive=probability_sensitive(crossings, region=region, tables=tables))
    if windows is not None:
        nests = nests.set_index("nest_id", drop=False).loc[_next_first(windows, today)].reset_index(drop=True)
    sensitive, known = sensitive_names(), set(all_taxa())
    days = sorted(day[:4] for day in [*crossings["observed_at"].dropna(), *nests["found_at"].dropna()])
    return SeasonView(
        audience=audience,
        places=show_places(crossings, nests, windows, audience=audience, today=today, sensitive=sensitive, known=known),
        hotspots=show_hotspots(
            NO_HOTSPOTS if hotspots is None else hotspots,
            crossings,
            audience=audience,
            sensitive=sensitive,
            known=known,
        ),
        roads=season.read("roads"),
        water=season.read("water"),
        protected=season.read("protected"),
        measures=season.read("measures"),
        years=(days[0], days[-1]) if days else ("", ""),
    )


def _next_first(windows: pd.DataFrame, today: date) -> pd.Series:
    """Nests as a coordinator needs them: windows not yet over by their likely day, then past ones, then none."""
    late = windows["hatch_late"].fillna(windows["hatch_likely"])
    order = windows.assign(group=np.select([late.isna(), late < today.isoformat()], [2, 1], default=0))
    return order.sort_values(["group", "hatch_likely"], kind="stable")["nest_id"]
