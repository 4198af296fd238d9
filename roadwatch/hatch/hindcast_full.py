"""
Full windows against simulated nests: every error of the model drawn, in the summers that came.

This tests the arithmetic and the weather together. It cannot test the model's own values, as nests and windows share
them; only real nests can.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError
from roadwatch.hatch.design import Design, draw_design
from roadwatch.hatch.ensemble import complete_years, days_to_fill, season_weather
from roadwatch.hatch.hindcast import (
    COVERAGES,
    FEWEST_PAST_YEARS,
    YEAR_D,
    FixedNest,
    earlier_years,
    median_width,
    on_one_calendar,
    share_held,
)
from roadwatch.hatch.projection import Setting, Stretch, hatching_draws, n_members_of, scenario_warmth
from roadwatch.hatch.scores import central_interval, ranked_probability
from roadwatch.hatch.widening import Widenings

if TYPE_CHECKING:
    from collections.abc import Callable

    from roadwatch.hatch.arrays import Bools, Ints
    from roadwatch.hatch.development import HatchTables
    from roadwatch.hatch.temperatures import Weather

SPAN_D = 7.0
"""Laying of the simulated nests is known to within a week."""

AS_OF_D = (7, 40)
"""Days after the start of the laying span on which their windows are made."""


def full_scores(
    weather: Weather,
    nest: FixedNest,
    *,
    tables: HatchTables,
    rng: np.random.Generator,
    n_nest_years: int = 2_000,
    drawn_as: FixedNest | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> pd.DataFrame:
    """
    Score full windows on nests drawn with every error of the model, in the summers that came.

    Parameters
    ----------
    weather
        The station's whole record.
    nest
        What the nests share; parameters, heat, clutch, straight line and day of laying are drawn for each.
    tables
        Hold the prior of the base.
    rng
        Source of the nests.
    n_nest_years
        Nests in all, spread over the years.
    drawn_as
        What the nests are truly like, to see what a wrong belief costs; None is as ``nest`` says.
    progress
        Called with years done and years in all.

    Returns
    -------
    A row for each day on which windows are made, and ``all``, as ``Hindcast.full``.

    Raises
    ------
    NotEnoughDataError
        No year has nine complete earlier ones.
    """
    years = _years_to_score(weather, nest)
    widenings = [Widenings(weather, tables, coverage, int(weather.last_day.year)) for coverage in COVERAGES]
    each = -(-n_nest_years // max(len(years), 1))
    rows: list[pd.DataFrame] = []
    for done, year in enumerate(years, 1):
        rows.append(_full_year(weather, nest, drawn_as or nest, int(year), each, widenings=widenings, rng=rng))
        if progress is not None:
            progress(done, len(years))
    if not rows:
        raise NotEnoughDataError(f"not enough data: no summer has {FEWEST_PAST_YEARS} complete earlier years")
    table = pd.concat(rows)
    groups = [(str(day), table[table["as_of_days"] == day]) for day in AS_OF_D]
    return pd.DataFrame([_full_row(name, group, rng) for name, group in [*groups, ("all", table)]])


def _years_to_score(weather: Weather, nest: FixedNest) -> Ints:
    low, high, years = on_one_calendar(weather)
    whole: Bools = ~np.any(np.isnan(low + high)[:, int(nest.lay_day) :], axis=1)
    enough: Ints = years[whole & (earlier_years(whole).sum(axis=1) >= FEWEST_PAST_YEARS)]
    return enough


def _full_year(
    weather: Weather,
    nest: FixedNest,
    true: FixedNest,
    year: int,
    count: int,
    *,
    widenings: list[Widenings],
    rng: np.random.Generator,
) -> pd.DataFrame:
    tables = widenings[0].tables
    start = date(year, 1, 1)
    seen = season_weather(weather, year=year, as_of=date(year, 12, 31))
    none = np.zeros(0, np.int64)
    setting = Setting(nest.parameters, nest.offset, nest.depth_cm, seen, none)
    came = Setting(true.parameters, true.offset, true.depth_cm, seen, none)
    drawn = Design(np.zeros(count, np.int64), rng.random(count), *rng.standard_normal((6, count)))
    scenarios = scenario_warmth(came, drawn, tables=tables)
    first = np.round(nest.lay_day + rng.uniform(-10, 10, count))
    truth = hatching_draws(scenarios, (first + SPAN_D * drawn.laid)[None, :])[0]
    parts = []
    for days in AS_OF_D:
        as_of = int(nest.lay_day) + days
        season = season_weather(weather, year=year, as_of=start + pd.Timedelta(days=as_of))
        members = complete_years(season, to_fill=days_to_fill(season, from_day=int(nest.lay_day) - 10))
        seen_so_far = replace(setting, season=season, members=members)
        design = draw_design(n_members_of(seen_so_far), root=int(rng.integers(2**32)))
        lay = first[:, None] + SPAN_D * design.laid
        ensemble = hatching_draws(scenario_warmth(seen_so_far, design, tables=tables), lay)
        stretch = Stretch.of(seen_so_far, tables=tables)
        part: dict[str, object] = {"year": year, "as_of_days": days}
        for taught in widenings:
            ahead = ensemble
            if stretch is not None:
                ahead, _ = stretch.apply(ensemble, design.member, laid=first + SPAN_D / 2, widenings=taught)
            early, late = central_interval(ahead, coverage=taught.coverage)
            of = f"{taught.coverage * 100:.0f}"
            part[f"held_{of}"] = (early <= truth) & (truth <= late)
            part[f"width_{of}"] = np.where(np.isfinite(late), late, np.inf) - np.minimum(early, YEAR_D)
        part["crps"] = ranked_probability(np.minimum(ensemble, YEAR_D), np.minimum(truth, YEAR_D))
        parts.append(pd.DataFrame(part))
    return pd.concat(parts)


def _full_row(name: str, group: pd.DataFrame, rng: np.random.Generator) -> dict[str, object]:
    row: dict[str, object] = {"as_of_days": name, "n": len(group), "years": group["year"].nunique()}
    for coverage in COVERAGES:
        of = f"{coverage * 100:.0f}"
        share = share_held(group, f"held_{of}", rng)
        row |= {f"coverage_{of}": share.share, f"coverage_{of}_se": share.se}
        row[f"width_{of}"] = median_width(group[f"width_{of}"])
    return row | {"crps": float(group["crps"].mean())}
