"""From a season's deaths, roads and searches to a proven fence plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.assembly import assemble
from roadwatch.hotspots.density import kernel_matrix
from roadwatch.records.store import Season
from roadwatch.roads.distances import network_distances
from roadwatch.roads.near import stretches_near
from roadwatch.roads.snap import snap
from roadwatch.season.mortality import mortality_of
from roadwatch.siting.benefit import DeathRates, death_rates
from roadwatch.siting.efficacy import Efficacy, fence_efficacy
from roadwatch.siting.fence_cells import FenceCells, cut_cells
from roadwatch.siting.fence_problem import FenceProblem, make_problem
from roadwatch.siting.fence_runs import Outlook, describe_runs, interval
from roadwatch.siting.fence_words import cell_words, efficacy_words, passage_words, plan_words, price_words
from roadwatch.siting.fences import Curve, FencePlan, chosen_shares, curve_of, plan_fences

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import geopandas as gpd

    from roadwatch.hotspots.study import Study
    from roadwatch.roads.arrays import BoolArray, FloatArray
    from roadwatch.roads.network import Network
    from roadwatch.season.fence_wishes import Wishes

NO_FENCE_WITHIN_M = 15.0
"""A stretch this near to a shape of the layer no_fence is closed (a convention: roads and layers lie metres apart)."""

PASSAGE_REACH_M = 250.0
"""A passage is counted for stretches this near along the roads where the user states no reach (a convention)."""

DEFAULT_ERROR_M = 10.0
"""Position error taken for a passage drawn on a map (a convention)."""

MOST_WORK = 3e9
"""Entries of tables that are filled for the plans of the draws; a longer fence gets fewer plans, never under 20."""


@dataclass(frozen=True)
class SeasonFences:
    """
    The plan and everything it was made from.

    Parameters
    ----------
    runs
        One row a run, WGS 84, columns ``fence_runs.COLUMNS``.
    curve
        ``length_m averted_per_year low high``; the interval is that of the best plan of each length.
    plan, tried
        The plan in cells, and the curve in cells.
    notes
        Plain sentences.
    network, study, rates, cells, outlook, efficacy, wishes
        What it was made from.
    drawn_per_m
        (draws, n) Drawn deaths per metre and year of each stretch, 0 where nothing is known.
    """

    runs: gpd.GeoDataFrame
    curve: pd.DataFrame
    plan: FencePlan
    tried: Curve
    notes: tuple[str, ...]
    network: Network
    study: Study
    rates: DeathRates
    cells: FenceCells
    outlook: Outlook
    efficacy: Efficacy
    wishes: Wishes
    drawn_per_m: FloatArray


def plan_season_fences(
    path: Path,
    wishes: Wishes,
    *,
    rng: np.random.Generator,
    taxon: str | None = None,
    years: tuple[int, int] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> SeasonFences:
    """
    Plan fences for a season.

    Parameters
    ----------
    path
        The season file.
    wishes
        What is asked of the plan.
    rng
        Source of chance for the draws.
    taxon, years
        Count this taxon and these years only.
    progress
        Called with the draws planned for and those in all.

    Raises
    ------
    UsageError
        The season or taxon does not exist, or the wishes leave nothing to plan.
    UnfitFileError
        The table of efficacies does not fit.
    NotEnoughDataError
        Under five records, no searched road, or no road on which a fence could stand.
    """
    efficacy = fence_efficacy(wishes.efficacy, path=wishes.efficacy_file)
    most_m = wishes.most_m()
    season = Season.open(path)
    dead = mortality_of(season, taxon=taxon, years=years)
    made = assemble(
        dead.network, dead.stretches, dead.records, effort_km=dead.effort_km, exposure=None, beyond="search"
    )
    rates = death_rates(made.study, kernel_matrix(dead.network, dead.stretches))
    cells = cut_cells(made.study.table, dead.network, closed=_closed(season, made.study, rates))
    if not len(cells.road):
        raise NotEnoughDataError(
            "not enough data: no searched road is left on which a fence could stand; add searches, or look at the "
            "layer no_fence"
        )
    passage, counted = _passages(season, dead.network, cells, wishes)
    per_m = np.where(rates.is_known, rates.mean(), 0.0)
    limits = {
        "efficacy": efficacy,
        "cell_m": cells.cell_m,
        "most_m": most_m,
        "least_m": wishes.least_run_m,
        "most_runs": wishes.most_runs,
        "prices": wishes.prices,
        "passage": passage,
    }
    problem = make_problem(cells.line, cells.metres @ per_m, **limits)  # type: ignore[arg-type]
    plan = plan_fences(problem)
    drawn_per_m = np.nan_to_num(rates.draw(rng, n_draws=wishes.n_draws))
    drawn_deaths = np.asarray(cells.metres @ drawn_per_m.T).T
    drawn = make_problem(
        cells.line,
        drawn_deaths,
        drawn=efficacy.draw(rng, n_draws=wishes.n_draws),
        **limits,  # type: ignore[arg-type]
    )
    n_plans = _affordable_plans(drawn)
    share = chosen_shares(drawn.only(slice(0, n_plans)), progress=progress)
    outlook = Outlook(problem, drawn, share, counted)
    tried = curve_of(problem)
    notes = (
        *dead.notes,
        *made.left_out,
        *made.notes,
        *cell_words(cells, basis=made.study.baseline.basis),
        *efficacy_words(efficacy),
        *plan_words(plan, tried),
        _draw_words(wishes.n_draws, n_plans),
        price_words(wishes.prices),
        *passage_words(plan, counted, wishes.prices),
    )
    return SeasonFences(
        describe_runs(plan.runs, cells, dead.network, outlook),
        _curve_table(tried, drawn, cells.cell_m),
        plan,
        tried,
        notes,
        dead.network,
        made.study,
        rates,
        cells,
        outlook,
        efficacy,
        wishes,
        drawn_per_m,
    )


def _closed(season: Season, study: Study, rates: DeathRates) -> dict[str, BoolArray]:
    """Why stretches are closed to fences."""
    layer = season.read("no_fence")
    none = np.zeros(len(rates.is_known), dtype=bool)
    marked = stretches_near(study.network, study.stretches, layer, within_m=NO_FENCE_WITHIN_M) if len(layer) else none
    bridge = (study.table["bridge"] == True).to_numpy(dtype=bool)  # noqa: E712  # a blank is not a bridge
    return {"never searched": ~rates.is_known, "on a bridge": bridge, "closed by the layer no_fence": marked}


def _passages(
    season: Season, network: Network, cells: FenceCells, wishes: Wishes
) -> tuple[BoolArray | None, FloatArray]:
    """(p, c) Which cells lie within reach of which passage, None where passages are not asked for; and their number."""
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


def _affordable_plans(drawn: FenceProblem) -> int:
    """How many draws get a plan of their own."""
    work = len(drawn.line) * (drawn.most_cells + 1.0) * ((drawn.most_runs or 0) + 1.0)
    return int(np.clip(MOST_WORK / work, min(20, len(drawn.deaths)), len(drawn.deaths)))


def _curve_table(tried: Curve, drawn: FenceProblem, cell_m: float) -> pd.DataFrame:
    bounds = [interval(drawn.value_of(runs).sum(axis=1)) for runs in tried.plans]
    return pd.DataFrame(
        {
            "length_m": tried.cells * cell_m,
            "averted_per_year": tried.averted,
            "low": [low for low, _ in bounds],
            "high": [high for _, high in bounds],
        }
    )


def _draw_words(n_draws: int, n_plans: int) -> str:
    fewer = "" if n_plans == n_draws else f" ({n_plans} of them, because the fence is long)"
    return (
        f"Intervals hold 95 % of {n_draws} draws of the death rates and of the efficacy; each draw also got its own "
        f"best plan{fewer}, and chosen_share tells how much of the run was in those plans."
    )
