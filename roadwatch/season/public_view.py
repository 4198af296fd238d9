"""What one audience may see of a season: masked places, hotspots, and the layers around them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import pandas as pd

from roadwatch.records.store import Season
from roadwatch.records.taxa import all_taxa, lineage
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
    if windows is not None:  # those that hatch first stand first; nests without a window follow
        first = windows.sort_values("hatch_likely", kind="stable")["nest_id"]
        nests = nests.set_index("nest_id", drop=False).loc[first].reset_index(drop=True)
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
