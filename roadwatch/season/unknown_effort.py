"""Chance finds, looked at on their own: nobody knows where people looked for them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import pandas as pd

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.baseline import LEAST_RECORDS
from roadwatch.hotspots.ranking import COLUMNS
from roadwatch.hotspots.search import find_hotspots

if TYPE_CHECKING:
    import numpy as np

    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches

EFFORT_UNKNOWN = "effort unknown"
"""Status of a place that stands out among chance finds."""

MOST_DRAWS = 199
"""Scatterings of the chance finds: enough for a p that is exact at 5 %."""


def stand_out_unsearched(
    network: Network,
    stretches: Stretches,
    chance_finds: pd.DataFrame,
    *,
    half_width_m: float,
    n_draws: int,
    rng: np.random.Generator,
) -> tuple[gpd.GeoDataFrame, tuple[str, ...]]:
    """
    Tell where chance finds stand out from road length alone; never in one null with records made on searches.

    Parameters
    ----------
    network, stretches
        The roads.
    chance_finds
        Records made outside any search, as ``find_hotspots`` takes them.
    half_width_m
        Half-width of the kernel, metres.
    n_draws
        Most scatterings; no more than 199 are made.
    rng
        Source of chance.

    Returns
    -------
    (places, notes) Places with status ``effort unknown``, ranked, and how many chance finds there were.
    """
    none = gpd.GeoDataFrame({name: pd.Series(dtype=object) for name in COLUMNS}, geometry="geometry", crs="EPSG:4326")
    if chance_finds.empty:
        return none, ()
    n_finds = chance_finds["record_id"].nunique()
    if n_finds < LEAST_RECORDS:
        return none, (f"{n_finds} chance finds are too few to be looked at on their own.",)
    try:
        found = find_hotspots(
            network,
            stretches,
            chance_finds,
            effort_km=None,
            half_width_m=half_width_m,
            n_draws=min(n_draws, MOST_DRAWS),
            rng=rng,
        )
    except NotEnoughDataError as error:
        return none, (f"Chance finds were not looked at on their own: {error}.",)
    tables = [table for table in (found.hotspots, found.watch_list) if len(table)]
    note = (
        f"{n_finds} chance finds were looked at on their own, with their effort unknown: {sum(map(len, tables))} "
        "places stand out from road length alone. Such a place may only show where people pass and look; none is "
        "confirmed."
    )
    if not tables:
        return none, (note,)
    places = gpd.GeoDataFrame(pd.concat(tables, ignore_index=True), geometry="geometry", crs="EPSG:4326")
    places = places.assign(status=EFFORT_UNKNOWN, rank=range(1, len(places) + 1), rank_low=pd.NA, rank_high=pd.NA)
    return places, (note,)
