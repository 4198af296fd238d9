"""Windows for every nest: when its eggs hatch, and when hatchlings may leave it in autumn or in the next spring."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from roadwatch.errors import UsageError
from roadwatch.hatch.cases import Case, case_draws, case_window, plan_case, taxon_cause
from roadwatch.hatch.causes import CAUSE_COLUMNS, CAUSE_LAWS, best_remedies, explain_widths
from roadwatch.hatch.ground import Ground, Plan, ground_for
from roadwatch.hatch.projection import Projected, project
from roadwatch.hatch.remarks import widening_notes, window_notes
from roadwatch.hatch.rows import COLUMNS, window_row
from roadwatch.hatch.widening import Widenings

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from roadwatch.hatch.chances import HatchDraws
    from roadwatch.hatch.development import HatchTables
    from roadwatch.hatch.temperatures import Weather


@dataclass(frozen=True)
class Windows:
    """
    One row a nest in the order given, and what holds for all of them.

    ``causes`` says where each width comes from, with ``CAUSE_COLUMNS``; None where nobody asked. ``draws`` are the
    hatching days behind each row, None where it has no window.
    """

    table: pd.DataFrame
    notes: tuple[str, ...]
    causes: pd.DataFrame | None = None
    draws: tuple[HatchDraws | None, ...] = ()


def project_windows(
    nests: pd.DataFrame,
    weather: Weather,
    *,
    region: str | None,
    as_of: date,
    rng: np.random.Generator,
    coverage: float = 0.8,
    checks: pd.DataFrame | None = None,
    loggers: Mapping[str, Weather] | None = None,
    forecast: Weather | None = None,
    candidates: Mapping[str, Mapping[str, float]] | None = None,
    explain: bool = False,
    found_by_then: bool = False,
    tables: HatchTables | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Windows:
    """
    Project every nest from laying to hatching, as known on a day.

    Parameters
    ----------
    nests
        Table of kind ``nests``; the result depends on no other nest, nor on the order.
    weather
        Daily lows and highs of the station, degrees C, with earlier years.
    region
        Key of the region whose eggs were measured.
    as_of
        The day on which the reader stands; later temperatures and visits are not used.
    rng
        Source of chance; one number from it orders the draws, which all nests share.
    coverage
        Share of nests that should hatch between early and late.
    checks
        Table of kind ``checks``, or None: outcomes that end a window.
    loggers
        Daily temperatures inside nests, by ``logger_id``.
    forecast
        Stands for days after the station's last reading, as far as it reaches.
    candidates
        For each nest whose taxon is in doubt, its taxa with their probabilities; the window is then over all of them.
        A nest not named here is taken as written.
    explain
        Whether to work out where the widths come from.
    found_by_then
        Whether nests found after ``as_of`` are left without a window; a hindcast projects them all the same.
    tables
        None is the shipped tables.
    progress
        Called with nests done and nests in all.

    Returns
    -------
    Table with ``nest_id taxon laid_from laid_to progress hatch_early hatch_likely hatch_late p_hatched p_never
    autumn_early autumn_late spring_early spring_late basis sureness weather_factor note``. Days are ISO 8601 text,
    blank (None) where they cannot be given or lie beyond 31 December; shares are 0 to 1, nan where nothing was
    projected; ``weather_factor`` is by how much the weather's part was stretched, nan where it was not.

    Raises
    ------
    NotEnoughDataError
        The region is None, or has no parameters in the tables.
    UsageError
        ``coverage`` is not between 0 and 1.

    Source
    ------
    folkertscaldwell2026, gibbons2013
    """
    if not 0.0 < coverage < 1.0:
        raise UsageError(f"a coverage of {coverage:g} is not between 0 and 1; write 0.8 for 80 %")
    rows = [{str(name): value for name, value in row.items()} for row in nests.to_dict("records")]
    ground = ground_for(
        rows,
        weather,
        region=region,
        as_of=as_of,
        checks=checks,
        loggers=loggers,
        forecast=forecast,
        found_by_then=found_by_then,
        tables=tables,
    )
    cases = [plan_case(row, ground=ground, candidates=(candidates or {}).get(str(row["nest_id"]))) for row in rows]
    widenings = Widenings(weather, ground.tables, coverage, as_of.year)
    call = _Call(ground, coverage, int(rng.integers(2**63)), widenings)
    found = _project_all(cases, call, progress)
    results = [case_window(case, found, as_of=as_of, coverage=coverage) for case in cases]
    table = pd.DataFrame(
        [window_row(case.plan, result, ground) for case, result in zip(cases, results, strict=True)], columns=COLUMNS
    )
    for name in ("progress", "p_hatched", "p_never", "weather_factor"):
        table[name] = table[name].astype(float)
    causes = _explain(cases, found, call) if explain else None
    plans = [case.plan for case in cases]
    stretched = widening_notes(plans, table["weather_factor"].to_numpy(float), widenings)
    notes = window_notes(plans, ground=ground, coverage=coverage, stretched=stretched)
    if causes is not None:
        notes = (*notes, CAUSE_LAWS, *best_remedies(causes))
    draws = tuple(case_draws(case, found, as_of=as_of) for case in cases)
    return Windows(table, notes, causes, draws)


@dataclass(frozen=True)
class _Call:
    """What every group of a call needs."""

    ground: Ground
    coverage: float
    root: int
    widenings: Widenings

    def arguments(self, plans: list[Plan]) -> dict[str, Any]:
        """Spans of laying of nests that share a setting, and what all share."""
        assert plans[0].setting is not None
        start = date(plans[0].setting.season.year, 1, 1)
        layings = [plan.laying for plan in plans if plan.laying is not None]
        return {
            "laid_from": np.array([float((laying.first - start).days) for laying in layings]),
            "laid_until": np.array([float((laying.last - start).days + 1) for laying in layings]),
            "coverage": self.coverage,
            "root": self.root,
            "tables": self.ground.tables,
            "widenings": self.widenings,
        }


def _grouped(plans: list[Plan]) -> list[list[Plan]]:
    """Nests that share a setting share its sums of warmth."""
    groups: dict[tuple[object, ...], list[Plan]] = {}
    for plan in plans:
        if plan.setting is not None and plan.reason is None:
            groups.setdefault(plan.key, []).append(plan)
    return list(groups.values())


def _project_all(cases: list[Case], call: _Call, progress: Callable[[int, int], None] | None) -> dict[int, Projected]:
    """Project group by group; results by the ``id`` of their plan."""
    plans = [plan for case in cases for plan, _ in case.parts]
    groups = _grouped(plans)
    found: dict[int, Projected] = {}
    done = len(plans) - sum(len(group) for group in groups)
    for group in groups:
        assert group[0].setting is not None
        start = date(group[0].setting.season.year, 1, 1)
        as_of_day = (call.ground.as_of - start).days
        results = project(group[0].setting, as_of_day=as_of_day, **call.arguments(group))
        found |= {id(plan): result for plan, result in zip(group, results, strict=True)}
        done += len(group)
        if progress is not None:
            progress(done, len(plans))
    return found


def _explain(cases: list[Case], found: dict[int, Projected], call: _Call) -> pd.DataFrame:
    """Causes nest by nest in the order given; a nest of several taxa by its most probable one, and by the doubt."""
    plans = [case.plan for case in cases]
    groups = [
        explain_widths(group[0].setting, nest_ids=[plan.nest_id for plan in group], **call.arguments(group))
        for group in _grouped(plans)
        if group[0].setting is not None
    ]
    doubts = [taxon_cause(case, found, as_of=call.ground.as_of, coverage=call.coverage) for case in cases]
    parts = [*groups, pd.DataFrame([one for one in doubts if one], columns=CAUSE_COLUMNS)]
    table = pd.concat([part for part in parts if len(part)] or parts[-1:])
    order = {plan.nest_id: index for index, plan in enumerate(plans)}
    table = table.assign(order=table["nest_id"].map(order))
    return table.sort_values("order", kind="stable")[CAUSE_COLUMNS].reset_index(drop=True)
