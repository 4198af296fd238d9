"""Windows for every nest: when its eggs hatch, and when hatchlings may leave it in autumn or in the next spring."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import UsageError
from roadwatch.hatch.development import HatchTables, emergence_of, find_region, hatch_tables
from roadwatch.hatch.ensemble import SeasonWeather, season_weather
from roadwatch.hatch.laying import laying_of
from roadwatch.hatch.planning import Ground, Plan, plan_nest
from roadwatch.hatch.projection import Projected, project
from roadwatch.hatch.remarks import window_notes
from roadwatch.hatch.sureness import sureness_of
from roadwatch.hatch.values import hatch_value
from roadwatch.hatch.visits import HATCHED_WAITING, last_outcomes

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from roadwatch.hatch.temperatures import Weather

COLUMNS = [
    *("nest_id", "taxon", "laid_from", "laid_to", "progress", "hatch_early", "hatch_likely", "hatch_late"),
    *("p_hatched", "p_never", "autumn_early", "autumn_late", "spring_early", "spring_late"),
    *("basis", "sureness", "note"),
]


@dataclass(frozen=True)
class Windows:
    """One row a nest in the order given, and what holds for all of them."""

    table: pd.DataFrame
    notes: tuple[str, ...]


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
        Source of chance; each nest draws from its own stream, named by one number from here and its ``nest_id``.
    coverage
        Share of nests that should hatch between early and late.
    checks
        Table of kind ``checks``, or None: outcomes that end a window.
    loggers
        Daily temperatures inside nests, by ``logger_id``.
    tables
        None is the shipped tables.
    progress
        Called with nests done and nests in all.

    Returns
    -------
    Table with ``nest_id taxon laid_from laid_to progress hatch_early hatch_likely hatch_late p_hatched p_never
    autumn_early autumn_late spring_early spring_late basis sureness note``. Days are ISO 8601 text, blank (None) where
    they cannot be given or lie beyond 31 December; shares are 0 to 1, nan where nothing was projected.

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
    known = tables or hatch_tables()
    rows = nests.to_dict("records")
    ground = Ground(
        tables=known,
        region=find_region(region, tables=known),
        station=weather,
        seasons=_seasons(rows, weather, as_of),
        loggers=loggers or {},
        as_of=as_of,
        visits=last_outcomes(checks, as_of=as_of),
    )
    plans = [plan_nest({str(name): value for name, value in row.items()}, ground=ground) for row in rows]
    results = _project_all(plans, ground, coverage, int(rng.integers(2**63)), progress)
    table = pd.DataFrame(
        [_row(plan, result, ground) for plan, result in zip(plans, results, strict=True)], columns=COLUMNS
    )
    for name in ("progress", "p_hatched", "p_never"):
        table[name] = table[name].astype(float)
    return Windows(table, window_notes(plans, ground=ground, coverage=coverage))


def _seasons(rows: list[dict[object, object]], weather: Weather, as_of: date) -> dict[int, SeasonWeather]:
    names = ("laid_on", "laid_from", "laid_to", "found_at")
    layings = [laying_of(**{name: row.get(name) for name in names}) for row in rows]
    years = sorted({laying.last.year for laying in layings if not isinstance(laying, str)})
    return {year: season_weather(weather, year=year, as_of=as_of) for year in years}


def _project_all(
    plans: list[Plan], ground: Ground, coverage: float, root: int, progress: Callable[[int, int], None] | None
) -> list[Projected | None]:
    """Project the nests group by group; nests that share a setting share its sums of warmth."""
    results: list[Projected | None] = [None] * len(plans)
    groups: dict[tuple[object, ...], list[int]] = {}
    for index, plan in enumerate(plans):
        if plan.setting is not None:
            groups.setdefault(plan.key, []).append(index)
    done = len(plans) - sum(len(members) for members in groups.values())
    for members in groups.values():
        group = _project_group([plans[one] for one in members], ground, coverage, root)
        for index, result in zip(members, group, strict=True):
            results[index] = result
        done += len(members)
        if progress is not None:
            progress(done, len(plans))
    return results


def _project_group(plans: list[Plan], ground: Ground, coverage: float, root: int) -> list[Projected]:
    setting = plans[0].setting
    assert setting is not None
    start = date(setting.season.year, 1, 1)
    layings = [plan.laying for plan in plans if plan.laying is not None]
    return project(
        setting,
        nest_ids=[plan.nest_id for plan in plans],
        laid_from=np.array([float((laying.first - start).days) for laying in layings]),
        laid_until=np.array([float((laying.last - start).days + 1) for laying in layings]),
        as_of_day=(ground.as_of - start).days,
        coverage=coverage,
        root=root,
        tables=ground.tables,
    )


def _row(plan: Plan, projected: Projected | None, ground: Ground) -> dict[str, object]:
    row: dict[str, object] = dict.fromkeys(COLUMNS)
    row |= {"nest_id": plan.nest_id, "taxon": plan.taxon, "basis": "none", "sureness": "none", "note": plan.reason}
    if plan.laying is not None:
        row |= {"laid_from": plan.laying.first.isoformat(), "laid_to": plan.laying.last.isoformat()}
    if plan.reason is not None:
        visited = ground.visits.get(plan.nest_id)
        if visited and visited.outcome == HATCHED_WAITING:
            row |= _spring(plan, ground)
        return row
    assert plan.parameters is not None
    row |= _projected_days(plan, projected) if projected else _field_days(plan)
    row |= _autumn(plan, row, ground) | _spring(plan, ground)
    row["sureness"] = sureness_of(
        plan.parameters.sureness,
        doubts=plan.doubts,
        own_logger=plan.logger is not None,
        seen_laying=plan.laying is not None and plan.laying.n_days == 1,
    )
    row["note"] = "; ".join(plan.remarks)
    return row


def _projected_days(plan: Plan, projected: Projected) -> dict[str, object]:
    assert plan.setting is not None
    start = date(plan.setting.season.year, 1, 1)
    days = (projected.early, projected.likely, projected.late)
    early, likely, late = ((start + timedelta(days=int(day))).isoformat() if np.isfinite(day) else None for day in days)
    measured = plan.setting.parameters
    if projected.mean_c < measured.lowest_c or projected.mean_c > measured.highest_c:
        span = f"{measured.lowest_c:g} to {measured.highest_c:g}"
        if measured.basis == "linear":
            plan.doubt(f"nest near {projected.mean_c:.1f} °C on average, outside the {span} °C that were measured")
    if measured.basis == "one_duration":
        plan.remarks.append(
            f"from one measured duration ({measured.days:g} days at {measured.at_c:g} °C) and a base common to turtles"
        )
    if projected.p_never > 0:
        plan.remarks.append(
            f"{_share(projected.p_never)} not hatched by 31 December; not a failed nest: leave it and look in spring"
        )
    return {
        "hatch_early": early,
        "hatch_likely": likely,
        "hatch_late": late,
        "p_hatched": projected.p_hatched,
        "p_never": projected.p_never,
        "progress": projected.progress,
        "basis": "own_logger" if plan.logger else "station_offset",
    }


def _share(share: float) -> str:
    return "under 1%" if share < 0.01 else f"{share:.0%}"


def _field_days(plan: Plan) -> dict[str, object]:
    """A window from days seen in natural nests; it holds no chance, as nobody published how often it is kept."""
    assert plan.laying is not None
    assert plan.parameters is not None
    low, high = plan.parameters.days_low, plan.parameters.days_high
    middle = plan.parameters.days if np.isfinite(plan.parameters.days) else (low + high) / 2
    half_span = (plan.laying.n_days - 1) / 2
    days = (
        plan.laying.first + timedelta(days=int(low)),
        plan.laying.first + timedelta(days=round(half_span + middle)),
        plan.laying.last + timedelta(days=int(np.ceil(high))),
    )
    year_end = date(plan.laying.last.year, 12, 31)
    if days[2] > year_end:
        plan.remarks.append("days beyond 31 December are left blank; leave the nest and look in spring")
    plan.remarks.append(
        f"window from natural nests ({low:g} to {high:g} days), not from weather; it has no stated coverage"
    )
    early, likely, late = (day.isoformat() if day <= year_end else None for day in days)
    return {"hatch_early": early, "hatch_likely": likely, "hatch_late": late, "basis": "field_range"}


def _autumn(plan: Plan, row: Mapping[str, object], ground: Ground) -> dict[str, object]:
    """Hatching plus 1 to 30 days, no later than 31 December."""
    emergence = _emergence(plan, ground)
    early, late = row["hatch_early"], row["hatch_late"]
    if emergence["autumn"] != "yes" or not isinstance(early, str):
        return {}
    year_end = date(int(early[:4]), 12, 31)
    first = min(date.fromisoformat(early) + timedelta(days=hatch_value("autumn_first_d")), year_end)
    if not isinstance(late, str):
        return {"autumn_early": first.isoformat()}
    last = min(date.fromisoformat(late) + timedelta(days=hatch_value("autumn_last_d")), year_end)
    return {"autumn_early": first.isoformat(), "autumn_late": last.isoformat()}


def _spring(plan: Plan, ground: Ground) -> dict[str, object]:
    """The season in which hatchlings that waited come up, in the year after laying."""
    if plan.laying is None or _emergence(plan, ground)["spring"] != "yes":
        return {}
    year = plan.laying.last.year + 1
    return {"spring_early": f"{year}-{ground.region.spring_from}", "spring_late": f"{year}-{ground.region.spring_to}"}


def _emergence(plan: Plan, ground: Ground) -> dict[str, str]:
    return emergence_of(plan.taxon or "", development_region=ground.region.development_region, tables=ground.tables)
