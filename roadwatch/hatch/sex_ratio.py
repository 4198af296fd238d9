"""
Shares of females from the warmth in the middle third of development.

Sex is set while the second third of the sum is gathered. What decides is not the mean but the constant-temperature
equivalent: the temperature above and below which half of that development happens (Georges 1989). The share at it is
read from the taxon's curve, with every error of the projection; a single nest's sexes are never a fact.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import UsageError
from roadwatch.hatch.crossing import crossing_days
from roadwatch.hatch.design import Design, draw_design
from roadwatch.hatch.ground import Ground, Plan, ground_for
from roadwatch.hatch.planning import plan_nest
from roadwatch.hatch.projection import Scenarios, n_members_of, scenario_warmth
from roadwatch.hatch.sex_tables import SexRow, bracket_of_females, sex_row, share_of_females

if TYPE_CHECKING:
    from collections.abc import Mapping

    from roadwatch.hatch.arrays import Floats
    from roadwatch.hatch.development import HatchTables
    from roadwatch.hatch.temperatures import Weather

COLUMNS = [
    *("nest_id", "taxon", "period_from", "period_to", "cte_low_c", "cte_likely_c", "cte_high_c"),
    *("females_low", "females_likely", "females_high", "basis", "sureness", "note"),
]

HALF_WAVE_STEPS = 24
"""Equal steps of time from the low to the high of a day; the other half of the sine mirrors them."""

NOT_A_FACT = (
    "A share of females is what temperature makes likely, not the sexes of a nest: never report them as counted, and "
    "never open or move a nest to change them."
)


@dataclass(frozen=True)
class SexRatios:
    """One row a nest in the order given, the share over all nests that have one, and what holds for all of them."""

    table: pd.DataFrame
    notes: tuple[str, ...]


def constant_temperature_equivalent(
    low_c: Floats, high_c: Floats, *, base_c: Floats, share_of_day: Floats, steps: int = HALF_WAVE_STEPS
) -> Floats:
    """
    Temperature above which half of the development of a span of days happens.

    Parameters
    ----------
    low_c, high_c
        (rows, days) In the nest, degrees C; a sine runs between them.
    base_c
        (rows,) Temperature below which nothing develops.
    share_of_day
        (rows, days) How much of each day lies in the span, 0 to 1.
    steps
        Points of the half wave.

    Returns
    -------
    (rows,) Degrees C: the median of temperature weighted by (T - base); nan where nothing develops.

    Source
    ------
    georges1989
    """
    phase = np.pi * ((np.arange(steps) + 0.5) / steps - 0.5)
    middle, half = (low_c + high_c) / 2, (high_c - low_c) / 2
    temp = (middle[:, :, None] + half[:, :, None] * np.sin(phase)).reshape(len(low_c), -1)
    weight = np.nan_to_num(np.maximum(temp - base_c[:, None], 0.0)) * np.repeat(share_of_day, steps, axis=1)
    order = np.argsort(temp, axis=1)
    temp, weight = np.take_along_axis(temp, order, 1), np.take_along_axis(weight, order, 1)
    # Each point stands for the middle of its own weight.
    reached = np.cumsum(weight, axis=1) - weight / 2
    total = weight.sum(axis=1)
    rows = [
        np.interp(all_ / 2, here[mass > 0], at[mass > 0]) if all_ > 0 else np.nan
        for at, mass, here, all_ in zip(temp, weight, reached, total, strict=True)
    ]
    return np.array(rows, float)


def project_sexes(
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
    tables: HatchTables | None = None,
    found_by_then: bool = False,
) -> SexRatios:
    """
    Project the share of females of every nest.

    Parameters
    ----------
    nests, weather, region, as_of, checks, loggers, forecast, tables, found_by_then
        As for ``project_windows``.
    rng
        Source of chance.
    coverage
        Share of draws between low and high.

    Returns
    -------
    Table with ``nest_id taxon period_from period_to cte_low_c cte_likely_c cte_high_c females_low females_likely
    females_high basis sureness note``. The period is the likely middle third; basis is ``curve``, ``bracket`` (no
    likely share, only bounds) or ``none`` with the reason.

    Raises
    ------
    NotEnoughDataError
        The region is None or has no parameters.
    UsageError
        ``coverage`` is not between 0 and 1.

    Source
    ------
    georges1989, ewert2005
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
    call = _Call(ground, coverage, int(rng.integers(2**63)), {})
    found = [_one_nest(row, call) for row in rows]
    table = pd.DataFrame([row for row, _ in found], columns=COLUMNS)
    numbers = [name for name in COLUMNS if name.endswith("_c") or name.startswith("females")]
    table[numbers] = table[numbers].astype(float)
    return SexRatios(table, _notes(table, [draws for _, draws in found if draws is not None], coverage))


@dataclass(frozen=True)
class _Call:
    ground: Ground
    coverage: float
    root: int
    scenarios: dict[tuple[object, ...], tuple[Design, Scenarios]]


def _one_nest(nest: dict[str, object], call: _Call) -> tuple[dict[str, object], Floats | None]:
    plan = _plan(nest, call.ground)
    row: dict[str, object] = dict.fromkeys(COLUMNS)
    row |= {"nest_id": plan.nest_id, "taxon": plan.taxon, "basis": "none", "sureness": "none", "note": plan.reason}
    known = sex_row(plan.taxon, region=call.ground.region.key) if plan.taxon else None
    if known is not None and known.basis == "genes":
        row["note"] = f"sex of {plan.taxon} is set by genes, not by temperature"
        return row, None
    if plan.reason is not None:
        return row, None
    if known is None:
        row["note"] = f"no share of females: nothing is published on temperature and sex of {plan.taxon}"
        return row, None
    if plan.setting is None:
        row["note"] = "no share of females: without a degree-day sum the middle third of development is not known"
        return row, None
    return _with_shares(row, plan, known, call)


def _plan(nest: dict[str, object], ground: Ground) -> Plan:
    """A nest that hatched is still projected, looking back; one that was lost is not."""
    visited = ground.visits.get(str(nest["nest_id"]))
    hatched = visited is not None and (visited.hatched or visited.outcome == "emerged")
    return plan_nest(nest, ground=replace(ground, visits={}) if hatched else ground)


def _with_shares(
    row: dict[str, object], plan: Plan, known: SexRow, call: _Call
) -> tuple[dict[str, object], Floats | None]:
    cte, period = _equivalents(plan, call)
    start, ends = date(plan.laying.last.year, 1, 1) if plan.laying else date.min, _ends(call.coverage)
    days = [(start + timedelta(days=int(one))).isoformat() if np.isfinite(one) else None for one in period]
    row |= {"period_from": days[0], "period_to": days[1], "basis": known.basis, "sureness": known.sureness}
    remarks = [f"{known.remark} ({known.source})", *plan.doubts]
    if not np.isfinite(cte).any():
        return row | {"basis": "none", "sureness": "none", "note": "development ends before its middle third"}, None
    row |= dict(zip(("cte_low_c", "cte_likely_c", "cte_high_c"), np.nanquantile(cte, ends), strict=True))
    names = ("females_low", "females_likely", "females_high")
    draws: Floats | None = None
    if known.basis == "curve":
        rng = np.random.default_rng([call.root, 1])
        draws = share_of_females(
            known, cte, z=rng.standard_normal(len(cte)), z_cool=rng.standard_normal(len(cte)), u=rng.random(len(cte))
        )
        row |= dict(zip(names, np.nanquantile(draws, ends), strict=True))
    else:
        least, most = bracket_of_females(known, cte[np.isfinite(cte)])
        row |= {names[0]: float(np.quantile(least, ends[0])), names[2]: float(np.quantile(most, ends[2]))}
        remarks.append("bounds, not a likely share: only temperatures on both sides of the pivot were measured")
    return row | {"note": "; ".join(remarks)}, draws


def _ends(coverage: float) -> tuple[float, float, float]:
    return (1 - coverage) / 2, 0.5, (1 + coverage) / 2


def _equivalents(plan: Plan, call: _Call) -> tuple[Floats, tuple[float, float]]:
    """Equivalents of every draw, (rows,), and the likely first and last day of the middle third."""
    assert plan.setting is not None
    assert plan.laying is not None
    if plan.key not in call.scenarios:
        design = draw_design(n_members_of(plan.setting), root=call.root)
        call.scenarios[plan.key] = design, scenario_warmth(plan.setting, design, tables=call.ground.tables)
    design, made = call.scenarios[plan.key]
    first = (plan.laying.first - date(plan.setting.season.year, 1, 1)).days
    lay = (first + design.laid * plan.laying.n_days)[None, :]
    begin, end = (crossing_days(made.cumulative, lay, (made.needed * part / 3)[None, :])[0] for part in (1, 2))
    last = made.low_c.shape[1]
    from_day = int(max(np.floor(np.min(begin)), 0)) if np.isfinite(begin).any() else last - 1
    until = int(min(np.ceil(np.max(np.where(np.isfinite(end), end, last))), last))
    until = max(until, from_day + 1)
    day = np.arange(from_day, until)[None, :]
    share = np.clip(np.minimum(day + 1, end[:, None]) - np.maximum(day, begin[:, None]), 0.0, 1.0)
    share[~np.isfinite(end)] = 0.0
    span = slice(from_day, until)
    base = made.base_c if not plan.setting.parameters.curve else np.zeros_like(made.base_c)
    cte = constant_temperature_equivalent(made.low_c[:, span], made.high_c[:, span], base_c=base, share_of_day=share)
    return cte, (float(np.median(begin)), float(np.median(end)))


def _notes(table: pd.DataFrame, draws: list[Floats], coverage: float) -> tuple[str, ...]:
    notes = []
    if draws:
        fewest = min(len(one) for one in draws)
        shares = np.stack([one[:fewest] for one in draws])
        mean = np.nanmean(shares[:, ~np.isnan(shares).all(axis=0)], axis=0)
        low, likely, high = np.nanquantile(mean, _ends(coverage))
        notes.append(
            f"Over the {len(draws)} nests with a curve, each counted alike, {likely:.0%} of hatchlings would be female "
            f"({low:.0%} to {high:.0%}, {coverage:.0%} of draws; a wrong pivot is wrong for all nests at once)."
        )
    none = int((table["basis"] == "none").sum())
    if none:
        notes.append(f"{none} of {len(table)} nests have no share; each says why in its note.")
    return (*notes, NOT_A_FACT)
