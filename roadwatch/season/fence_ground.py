"""Where a season's fences may not stand, and which passages they can lead to."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from roadwatch.errors import NotEnoughDataError
from roadwatch.roads.distances import network_distances
from roadwatch.roads.near import stretches_near
from roadwatch.roads.snap import snap

if TYPE_CHECKING:
    import geopandas as gpd

    from roadwatch.hotspots.study import Study
    from roadwatch.records.store import Season
    from roadwatch.roads.arrays import BoolArray, FloatArray
    from roadwatch.roads.network import Network
    from roadwatch.season.fence_wishes import Wishes
    from roadwatch.siting.benefit import DeathRates
    from roadwatch.siting.fence_cells import FenceCells

NO_FENCE_WITHIN_M = 15.0
"""A stretch this near to a shape of the layer no_fence is closed (a convention: roads and layers lie metres apart)."""

PASSAGE_REACH_M = 250.0
"""A passage is counted for stretches this near along the roads where the user states no reach (a convention)."""

DEFAULT_ERROR_M = 10.0
"""Position error taken for a passage drawn on a map (a convention)."""


def closed_stretches(season: Season, study: Study, rates: DeathRates) -> dict[str, BoolArray]:
    """
    Why stretches are closed to fences.

    Parameters
    ----------
    season
        An open season.
    study, rates
        Its roads, and what is known of the deaths on them.

    Returns
    -------
    For each reason, (n,) True for the stretches that it closes.
    """
    layer = season.read("no_fence")
    none = np.zeros(len(rates.is_known), dtype=bool)
    marked = stretches_near(study.network, study.stretches, layer, within_m=NO_FENCE_WITHIN_M) if len(layer) else none
    bridge = (study.table["bridge"] == True).to_numpy(dtype=bool)  # noqa: E712  # a blank is not a bridge
    return {"never searched": ~rates.is_known, "on a bridge": bridge, "closed by the layer no_fence": marked}


def passages_within(
    season: Season, network: Network, cells: FenceCells, wishes: Wishes
) -> tuple[BoolArray | None, FloatArray]:
    """
    Which cells lie within reach of which passage of the layer.

    Parameters
    ----------
    season
        An open season.
    network, cells
        Its roads, and the cells on them.
    wishes
        What is asked of the plan.

    Returns
    -------
    (p, c) True within reach, None where passages are not asked for; and (c,) passages within reach of each cell.

    Raises
    ------
    NotEnoughDataError
        Passages are asked for, and the layer holds none.
    """
    layer: gpd.GeoDataFrame = season.read("passages")
    needed = wishes.passage_reach_m is not None or wishes.prices.per_passage > 0.0
    if layer.empty:
        if needed:
            raise NotEnoughDataError(
                "not enough data: a plan around passages needs the layer of passages; add it with "
                "'roadwatch layer SEASON FILE --as passages'"
            )
        return None, np.zeros(len(cells.road))
    points = shapely.centroid(layer.geometry.to_crs(network.crs).to_numpy())
    placed = snap(network, shapely.get_x(points), shapely.get_y(points), position_error_m=DEFAULT_ERROR_M)
    on = placed.edge >= 0
    edge, offset_m = cells.centres(network)
    reach_m = wishes.passage_reach_m or PASSAGE_REACH_M
    apart_m = network_distances(network, placed.edge[on], placed.offset_m[on], edge, offset_m, limit_m=reach_m)
    within = np.asarray(apart_m <= reach_m)
    return (within if needed else None), within.sum(axis=0).astype(np.float64)
