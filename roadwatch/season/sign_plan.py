"""From a season file to proposed warning signs."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.records.store import Season
from roadwatch.roads.network import build_network
from roadwatch.season.animals import find_animals
from roadwatch.season.mortality import season_hotspots
from roadwatch.siting.signs import SignPlan, plan_signs

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import numpy as np

NO_PLACE = "No place stands out, so no sign is proposed; see 'roadwatch hotspots' for what was tested."

NO_SEARCH = (
    "Where people looked is unknown, as no search is on file: a hotspot here may only show where people look. Record "
    "searches, also those that find nothing, before a sign is asked for."
)


def season_signs(
    path: Path,
    *,
    rng: np.random.Generator,
    taxon: str | None = None,
    years: tuple[int, int] | None = None,
    n_draws: int = 999,
    progress: Callable[[int, int], None] | None = None,
) -> SignPlan:
    """
    Find the season's hotspots and propose signs before each, those of the watch list marked as such.

    Parameters
    ----------
    path
        The season file.
    rng
        Source of chance, for the re-scattering and the bootstrap.
    taxon
        Hotspots of this taxon only; None takes all turtles.
    years
        First and last year, both included.
    n_draws
        Number of re-scatterings.
    progress
        Called with draws done and draws in all.

    Raises
    ------
    UsageError
        The season does not exist, or the taxon is not known.
    NotEnoughDataError
        Too few records for hotspots; the message says what is missing.
    """
    found = season_hotspots(path, rng=rng, taxon=taxon, years=years, n_draws=n_draws, progress=progress)
    places = pd.concat([pd.DataFrame(table.drop(columns="geometry")) for table in (found.hotspots, found.watch_list)])
    season = Season.open(path)
    network = build_network(season.read("roads"))
    crossings = find_animals(season, network).merged_view()
    if years:
        crossings = crossings[crossings["observed_at"].str[:4].astype(int).between(*years)]
    plan = plan_signs(network, places.reset_index(drop=True), crossings[crossings["edge"] >= 0], rng=rng)
    if places.empty:
        return replace(plan, notes=(NO_PLACE, *plan.notes))
    return replace(plan, notes=(NO_SEARCH, *plan.notes)) if (places["basis"] == "unknown").any() else plan
