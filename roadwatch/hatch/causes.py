"""
Where the width of a window comes from: days for each cause, and what would narrow the window most.

Two figures a cause, by two stated laws. ``days_alone``: the window if only this cause were unknown, every other at its
middle. ``days_narrower``: by how much the window would shrink if this cause were known, all others drawn as before.
Neither adds up to the whole, as causes combine like sides of a right angle, not like lengths on a line.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.hatch.design import CAUSES, Cause, Design, draw_design, middle_design, with_causes, year_by_year
from roadwatch.hatch.projection import Setting, Stretch, hatching_draws, n_members_of, scenario_warmth
from roadwatch.hatch.values import hatch_value

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roadwatch.hatch.arrays import Floats
    from roadwatch.hatch.development import HatchTables
    from roadwatch.hatch.widening import Widenings

TAXON = "taxon"

REMEDIES: dict[str, str] = {
    "weather": "nothing but time: ask again later, or ingest a forecast",
    "nest heat": "a temperature logger in the nest, or 14 days of one elsewhere on the site",
    "laying day": "an earlier visit: a nest seen laid, or found within a day",
    "parameters": "durations of local eggs, fitted",
    "clutch": "nothing known",
    "straight line": "nothing known",
    "logger": "a logger of better accuracy",
    TAXON: "a better identification: a photograph, a second person",
}
"""What would take a cause away."""

CAUSE_LAWS = (
    "Where widths come from, by two laws: days alone, the window if only this cause were unknown and all others stood "
    "at their middle; days narrower, by how much the window would shrink were this cause known (nest heat: as well as "
    "a logger knows it). They do not add up: causes combine like sides of a right angle."
)

CAUSE_COLUMNS = ["nest_id", "cause", "days_alone", "days_narrower", "stretched_by", "remedy"]


def explain_widths(
    setting: Setting,
    *,
    nest_ids: Sequence[str],
    laid_from: Floats,
    laid_until: Floats,
    coverage: float,
    root: int,
    tables: HatchTables,
    widenings: Widenings | None = None,
) -> pd.DataFrame:
    """
    Say what the windows of nests that share a setting are wide from.

    Parameters
    ----------
    setting, laid_from, laid_until, coverage, root, tables, widenings
        As for ``project``.
    nest_ids
        (n,) Names.

    Returns
    -------
    A row for each nest and cause that applies, the widest first: ``CAUSE_COLUMNS``. Days are nan where an end of the
    window lies beyond 31 December; ``stretched_by`` stands for weather alone, nan where nothing could be learned.
    """
    stretch = None if widenings is None else Stretch.of(setting, tables=tables)
    factor = np.full(len(laid_from), np.nan)

    def hatch(design: Design, *, weather: bool = True) -> Floats:
        nonlocal factor
        scenarios = scenario_warmth(setting, design, tables=tables)
        days = hatching_draws(scenarios, laid_from[:, None] + design.laid * (laid_until - laid_from)[:, None])
        if weather and stretch is not None and widenings is not None:
            laid = (laid_from + laid_until) / 2
            days, factor = stretch.apply(days, design.member, laid=laid, widenings=widenings)
        return days

    n_members = n_members_of(setting)
    whole, years = draw_design(n_members, root=root), year_by_year(n_members)
    width = _width(hatch(whole), coverage)
    middle = int(np.argsort(hatch(years).mean(axis=0), kind="stable")[n_members // 2])
    still = middle_design(len(whole.laid), member=middle)
    rows = []
    for cause in _applying(setting):
        by_weather = cause == "weather"
        alone = _width(hatch(years if by_weather else with_causes(still, whole, [cause]), weather=by_weather), coverage)
        known = _width(hatch(_without(whole, still, cause, setting), weather=not by_weather), coverage)
        by = factor if by_weather else np.full(len(factor), np.nan)
        for index, name in enumerate(nest_ids):
            rows.append((name, cause, alone[index], width[index] - known[index], by[index], REMEDIES[cause]))
    table = pd.DataFrame(rows, columns=CAUSE_COLUMNS)
    order = {name: index for index, name in enumerate(nest_ids)}
    table = table.assign(order=table["nest_id"].map(order), shrink=-table["days_alone"])
    return (
        table.sort_values(["order", "shrink"], kind="stable").drop(columns=["order", "shrink"]).reset_index(drop=True)
    )


def _applying(setting: Setting) -> list[Cause]:
    causes = [cause for cause in CAUSES if cause != "logger" or setting.own_low_c is not None]
    return [cause for cause in causes if cause != "weather" or len(setting.members) > 1]


def _width(hatch: Floats, coverage: float) -> Floats:
    """Central interval, (n,); its ends stand at (n + 1) p of the draws, so that 30 past years hold what they should."""
    ends = [(1 - coverage) / 2, (1 + coverage) / 2]
    with np.errstate(invalid="ignore"):
        early, late = np.quantile(hatch, ends, axis=1, method="weibull")
        days = late - early
    return np.where(np.isfinite(days), days, np.nan)


def _without(whole: Design, still: Design, cause: Cause, setting: Setting) -> Design:
    """The whole design with one cause known: heat as well as a logger knows it, all others exactly."""
    pinned = with_causes(whole, still, [cause])
    if cause != "nest heat":
        return pinned
    left = min(hatch_value("logger_sd_c") / setting.offset.sd_c, 1.0) if setting.offset.sd_c else 0.0
    return replace(pinned, heat=whole.heat * left)


def best_remedies(causes: pd.DataFrame) -> list[str]:
    """
    Say in a sentence each what would narrow most windows most.

    Parameters
    ----------
    causes
        As ``explain_widths`` returns it, for any number of nests.

    Returns
    -------
    One sentence for each cause that a person can do something about and that leads for some nest.
    """
    can = causes[~causes["cause"].isin(["weather", "clutch", "straight line"]) & (causes["days_narrower"] >= 1.0)]
    if can.empty:
        return []
    best = can.loc[can.groupby("nest_id", sort=False)["days_narrower"].idxmax()]
    told = best.groupby("cause")["days_narrower"].agg(["size", "median"]).sort_values("size", ascending=False)
    n_nests = causes["nest_id"].nunique()
    return [
        f"For {int(row['size'])} of {n_nests} windows {REMEDIES[str(cause)]} would narrow most, by "
        f"{row['median']:.0f} days in the middle case."
        for cause, row in told.iterrows()
    ]
