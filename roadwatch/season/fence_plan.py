"""From a season's deaths, roads and searches to a proven fence plan."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.assembly import assemble
from roadwatch.hotspots.carcasses import draw_recorded_share
from roadwatch.hotspots.density import kernel_matrix
from roadwatch.records.store import Season
from roadwatch.season.carcass_trials import central_share, season_carcass_trial, trial_words
from roadwatch.season.fence_ground import closed_stretches, passages_within
from roadwatch.season.mortality import Mortality, mortality_of
from roadwatch.siting.benefit import DeathRates, death_rates
from roadwatch.siting.efficacy import Efficacy, fence_efficacy
from roadwatch.siting.fence_cells import FenceCells, cut_cells
from roadwatch.siting.fence_curve import Curve, curve_of
from roadwatch.siting.fence_passages import fewest_passages
from roadwatch.siting.fence_problem import FenceProblem, make_problem
from roadwatch.siting.fence_runs import Outlook, describe_runs, interval
from roadwatch.siting.fence_words import cell_words, efficacy_words, passage_words, plan_words, price_words
from roadwatch.siting.fences import FencePlan, chosen_shares, is_coupled, plan_fences
from roadwatch.siting.measure_comparison import MeasureComparison, compare_measures
from roadwatch.siting.measure_options import measure_options

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import geopandas as gpd

    from roadwatch.hotspots.carcasses import CarcassTrial
    from roadwatch.hotspots.study import Study
    from roadwatch.roads.arrays import BoolArray, FloatArray
    from roadwatch.roads.network import Network
    from roadwatch.season.fence_wishes import Wishes

MOST_WORK = 3e9
"""Entries of tables that are filled for the plans of the draws; a longer fence gets fewer plans, never under 20."""

COUPLED_PLANS = 40
"""Draws that get a plan of their own where runs share the price of passages, each a programme of some seconds."""


@dataclass(frozen=True)
class SeasonFences:
    """
    The plan and everything it was made from.

    Parameters
    ----------
    runs
        One row a run, WGS 84, columns ``fence_runs.COLUMNS``.
    curve
        ``length_m averted_per_year low high cost``; the interval is that of the best plan of each length, and the
        cost that of its fence, its ends and the passages it needs, nan without prices.
    plan, tried
        The plan in cells, and the curve in cells.
    notes
        Plain sentences.
    compared
        Fences beside other measures at the same places.
    trial
        The carcass trial by which deaths are those of animals killed; None where they are those of carcasses found.
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
    compared: MeasureComparison
    trial: CarcassTrial | None
    wishes: Wishes
    drawn_per_m: FloatArray


def plan_season_fences(
    season: Path | Season,
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
    season
        The season file, or an open season: for the public one that holds only what is public.
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
        The table of efficacies or of the carcass trial does not fit.
    NotEnoughDataError
        Under five records, no searched road, or no road on which a fence could stand.
    """
    wishes.most_m()
    opened = season if isinstance(season, Season) else Season.open(season)
    ground = _ground(opened, wishes, taxon=taxon, years=years)
    efficacy, cells = fence_efficacy(wishes.efficacy, path=wishes.efficacy_file), ground.cells
    passage, counted = passages_within(opened, ground.dead.network, cells, wishes)
    asked = partial(_asked, cells, efficacy=efficacy, passage=passage, wishes=wishes)
    problem = asked(np.where(ground.rates.is_known, ground.rates.mean(), 0.0))
    plan = plan_fences(problem)
    other_rng, trial_rng = rng.spawn(2)
    drawn_per_m = ground.drawn(rng, trial_rng, n_draws=wishes.n_draws)
    drawn = asked(drawn_per_m, drawn=efficacy.draw(rng, n_draws=wishes.n_draws))
    n_plans = _affordable_plans(drawn)
    share = chosen_shares(drawn.only(slice(0, n_plans)), progress=progress)
    outlook, tried = Outlook(problem, drawn, share, counted), curve_of(problem)
    runs = describe_runs(plan.runs, cells, ground.dead.network, outlook)
    compared = compare_measures(
        runs,
        [plan.runs[k] for k in np.argsort(-plan.averted, kind="stable")],
        problem=problem,
        drawn=drawn,
        fence=efficacy,
        options=measure_options(wishes.efficacy, path=wishes.efficacy_file),
        rng=other_rng,
    )
    notes = (
        *ground.notes,
        trial_words(ground.trial, rng=trial_rng),
        *efficacy_words(efficacy),
        *plan_words(plan, tried),
        _draw_words(wishes.n_draws, n_plans),
        price_words(wishes.prices),
        *passage_words(plan, counted, wishes.prices),
        *compared.notes,
    )
    return SeasonFences(
        runs=runs,
        curve=_curve_table(tried, outlook),
        plan=plan,
        tried=tried,
        notes=notes,
        network=ground.dead.network,
        study=ground.study,
        rates=ground.rates,
        cells=cells,
        outlook=outlook,
        efficacy=efficacy,
        compared=compared,
        trial=ground.trial,
        wishes=wishes,
        drawn_per_m=drawn_per_m,
    )


def _asked(
    cells: FenceCells,
    per_m: FloatArray,
    *,
    efficacy: Efficacy,
    passage: BoolArray | None,
    wishes: Wishes,
    drawn: tuple[FloatArray, FloatArray] | None = None,
) -> FenceProblem:
    """The question for deaths per metre and year of each stretch, (n,) or (d, n)."""
    return make_problem(
        cells.line,
        np.asarray(cells.metres @ per_m.T).T,
        efficacy=efficacy,
        drawn=drawn,
        cell_m=cells.cell_m,
        most_m=wishes.most_m(),
        least_m=wishes.least_run_m,
        most_runs=wishes.most_runs,
        prices=wishes.prices,
        passage=passage,
    )


@dataclass(frozen=True)
class _Ground:
    """What is known before anything is planned: deaths, roads, and where a fence can stand."""

    dead: Mortality
    study: Study
    rates: DeathRates
    cells: FenceCells
    trial: CarcassTrial | None
    notes: tuple[str, ...]

    def drawn(self, rng: np.random.Generator, trial_rng: np.random.Generator, *, n_draws: int) -> FloatArray:
        """(draws, n) Deaths per metre and year as they may be, 0 where nothing is known; of the killed by a trial."""
        per_m = np.nan_to_num(self.rates.draw(rng, n_draws=n_draws))
        if self.trial is None:
            return per_m
        share = draw_recorded_share(self.trial, trial_rng, n_draws=n_draws)
        return np.asarray(per_m * (central_share(self.trial) / share)[:, None])


def _ground(season: Season, wishes: Wishes, *, taxon: str | None, years: tuple[int, int] | None) -> _Ground:
    dead = mortality_of(season, taxon=taxon, years=years)
    made = assemble(
        dead.network, dead.stretches, dead.records, effort_km=dead.effort_km, exposure=None, beyond="search"
    )
    trial = None
    if wishes.carcass_trial is not None:
        trial = season_carcass_trial(wishes.carcass_trial, season, dead.network, dead.stretches)
    rates = death_rates(made.study, kernel_matrix(dead.network, dead.stretches)).scaled(1.0 / central_share(trial))
    cells = cut_cells(made.study.table, dead.network, closed=closed_stretches(season, made.study, rates))
    if not len(cells.road):
        raise NotEnoughDataError(
            "not enough data: no searched road is left on which a fence could stand; add searches, or look at the "
            "layer no_fence"
        )
    words = cell_words(cells, basis=made.study.baseline.basis)
    return _Ground(dead, made.study, rates, cells, trial, (*dead.notes, *made.left_out, *made.notes, *words))


def _affordable_plans(drawn: FenceProblem) -> int:
    """How many draws get a plan of their own."""
    if is_coupled(drawn):
        return min(COUPLED_PLANS, len(drawn.deaths))
    work = len(drawn.line) * (drawn.most_cells + 1.0) * ((drawn.most_runs or 0) + 1.0)
    return int(np.clip(MOST_WORK / work, min(20, len(drawn.deaths)), len(drawn.deaths)))


def _curve_table(tried: Curve, outlook: Outlook) -> pd.DataFrame:
    problem = outlook.problem
    bounds = [interval(outlook.drawn.value_of(runs).sum(axis=1)) for runs in tried.plans]
    fenced_m = [sum(stop - start for start, stop in runs) * problem.cell_m for runs in tried.plans]
    bought = [len(fewest_passages(problem, runs)) for runs in tried.plans]
    cost = [
        float(problem.prices.of(length_m, len(runs), n))
        for length_m, runs, n in zip(fenced_m, tried.plans, bought, strict=True)
    ]
    return pd.DataFrame(
        {
            "length_m": tried.cells * problem.cell_m,
            "averted_per_year": tried.averted,
            "low": [low for low, _ in bounds],
            "high": [high for _, high in bounds],
            "cost": cost,
        }
    )


def _draw_words(n_draws: int, n_plans: int) -> str:
    fewer = "" if n_plans == n_draws else f" ({n_plans} of them, because planning takes long here)"
    return (
        f"Intervals hold 95 % of {n_draws} draws of the death rates and of the efficacy; each draw also got its own "
        f"best plan{fewer}, and chosen_share tells how much of the run was in those plans."
    )
