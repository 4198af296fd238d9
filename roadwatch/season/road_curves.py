"""Density along the roads of a season's hotspots."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.hotspots.road_curve import RoadCurve, road_curves

if TYPE_CHECKING:
    import numpy as np

    from roadwatch.season.mortality import SeasonHotspots


def curves_of(
    found: SeasonHotspots,
    *,
    rng: np.random.Generator,
    half_width_m: float = 300.0,
    beyond: str = "search",
    n_draws: int = 199,
) -> tuple[RoadCurve, ...]:
    """
    Follow the density along the road of each hotspot of a season; see ``road_curves``.

    Parameters
    ----------
    found
        What ``season_hotspots`` found.
    rng
        Source of chance for the scatterings.
    half_width_m, beyond
        As they were given to ``season_hotspots``.
    n_draws
        Number of scatterings.

    Returns
    -------
    One curve a row of ``found.hotspots``, in the same order.

    Raises
    ------
    UsageError
        There are fewer than 39 scatterings.
    """
    ready = found.mortality
    return road_curves(
        found,
        ready.network,
        ready.stretches,
        ready.records,
        effort_km=ready.effort_km,
        beyond=beyond,
        half_width_m=half_width_m,
        n_draws=n_draws,
        rng=rng,
    )
