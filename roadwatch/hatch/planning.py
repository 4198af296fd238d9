"""For each nest: which kind of window it can have, from what, and with which doubts; or why it has none."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hatch.development import HatchTables, ParameterSet, Region, parameters_for
from roadwatch.hatch.ensemble import FEWEST_YEARS, SeasonWeather, complete_years, days_to_fill, own_series
from roadwatch.hatch.laying import Laying, laying_of
from roadwatch.hatch.nest_heat import default_soil, nest_offset
from roadwatch.hatch.projection import Setting
from roadwatch.hatch.sureness import CERTAIN_ENOUGH, FEW_YEARS, LONG_SPAN_DAYS, STALE_DAYS
from roadwatch.hatch.values import hatch_value
from roadwatch.hatch.visits import HATCHED_WAITING, Visited

if TYPE_CHECKING:
    from collections.abc import Mapping

    from roadwatch.hatch.arrays import Bools, Floats, Ints
    from roadwatch.hatch.temperatures import Weather

OWN_LOGGER_SHARE = 0.5
"""A logger that gives at least this share of the days from laying to the day asked for is taken (convention)."""


@dataclass(frozen=True)
class Ground:
    """What the whole call rests on: tables, region, station, loggers, the day, and visits by nest."""

    tables: HatchTables
    region: Region
    station: Weather
    seasons: Mapping[int, SeasonWeather]
    loggers: Mapping[str, Weather]
    as_of: date
    visits: Mapping[str, Visited]


@dataclass
class Plan:
    """
    One nest on its way to a window: filled in step by step, then read by the table.

    ``reason`` says why nothing is projected; ``setting`` is there when weather decides, and ``key`` names those that
    share it; ``logger`` is the nest's own, where its readings are used.
    """

    nest_id: str
    taxon: str | None
    laying: Laying | None = None
    parameters: ParameterSet | None = None
    reason: str | None = None
    setting: Setting | None = None
    key: tuple[object, ...] = ()
    logger: str | None = None
    remarks: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)

    def doubt(self, words: str) -> None:
        """Note something that lowers the sureness by a level."""
        self.doubts.append(words)
        self.remarks.append(words)


def plan_nest(nest: Mapping[str, object], *, ground: Ground) -> Plan:
    """
    Decide how a nest is projected.

    Parameters
    ----------
    nest
        One row of kind ``nests``.
    ground
        What the whole call rests on.

    Returns
    -------
    The plan; with ``reason`` set where there is nothing to project.
    """
    plan = Plan(nest_id=str(nest["nest_id"]), taxon=_text(nest.get("taxon")))
    laying = laying_of(**{name: nest.get(name) for name in ("laid_on", "laid_from", "laid_to", "found_at")})
    known = parameters_for(plan.taxon, development_region=ground.region.development_region, tables=ground.tables)
    plan.laying = None if isinstance(laying, str) else laying
    plan.parameters = None if isinstance(known, str) else known
    visited = ground.visits.get(plan.nest_id)
    plan.reason = _first_reason(plan, visited, laying, known)
    if visited and visited.remark:
        (plan.doubt if visited.outcome == "flooded" else plan.remarks.append)(visited.remark)
    if plan.reason is None:
        _doubt_name(plan, nest)
        _doubt_laying(plan)
        if plan.parameters and plan.parameters.basis in ("linear", "one_duration"):
            _set_up(plan, nest, ground)
    return plan


def _first_reason(plan: Plan, visited: Visited | None, laying: Laying | str, known: ParameterSet | str) -> str | None:
    if visited and visited.ended:
        return visited.ended
    if visited and visited.outcome == HATCHED_WAITING:
        return f"hatched by {visited.day}; hatchlings wait in the nest: leave it and its cage until spring"
    if isinstance(known, str):
        return known
    if known.basis == "diapause":
        return f"no projection: eggs of this taxon pause ({plan.taxon}), so warmth since laying does not tell the day"
    if known.basis == "none":
        return f"no projection: {plan.taxon}, {known.remark}"
    return laying if isinstance(laying, str) else None


def _doubt_name(plan: Plan, nest: Mapping[str, object]) -> None:
    confidence = _number(nest.get("id_confidence"))
    if confidence is None:
        plan.remarks.append("how sure the taxon is was not noted; the window is for the taxon as written")
    elif confidence < CERTAIN_ENOUGH:
        plan.doubt(f"taxon {confidence:.0%} certain; the window is for the taxon as written")
    elif confidence < 1:
        plan.remarks.append(f"taxon {confidence:.0%} certain; the window is for the taxon as written")


def _doubt_laying(plan: Plan) -> None:
    assert plan.laying is not None
    if plan.laying.assumed:
        plan.doubt(
            f"no earliest laying day: taken as laid within {hatch_value('assumed_laying_d'):g} days before finding"
        )
        plan.doubts.append("an assumed span counts twice")
    elif plan.laying.n_days > LONG_SPAN_DAYS:
        plan.doubt(f"laid some time within {plan.laying.n_days} days")


def _set_up(plan: Plan, nest: Mapping[str, object], ground: Ground) -> None:
    """Choose the temperatures: logger, station, and the past years that stand for the days still to come."""
    assert plan.laying is not None
    assert plan.parameters is not None
    season = ground.seasons[plan.laying.last.year]
    first_day = (plan.laying.first - date(season.year, 1, 1)).days
    own = _own_days(plan, nest, ground)
    covered = None if own is None else ~np.isnan(own[0] + own[1])
    to_fill = days_to_fill(season, from_day=first_day, covered=covered)
    members = complete_years(season, to_fill=to_fill)
    if to_fill.any() and len(members) < FEWEST_YEARS:
        plan.reason = (
            f"no projection: {ground.station.source} has {len(members)} complete earlier years for the days still to "
            f"come, {FEWEST_YEARS} are needed; ingest a longer series"
        )
        return
    members = members if to_fill.any() else members[:0]
    if to_fill.any() and len(members) < FEW_YEARS:
        plan.doubt(f"only {len(members)} past years stand for the weather to come")
    _doubt_stale(plan, season, covered, ground.as_of)
    exposure, depth_cm = _place(plan, nest)
    plan.setting = Setting(
        parameters=plan.parameters,
        offset=nest_offset(exposure),
        depth_cm=depth_cm,
        season=season,
        members=members,
        own_low_c=None if own is None else own[0],
        own_high_c=None if own is None else own[1],
    )
    plan.key = (plan.parameters.taxon, exposure, depth_cm, season.year, _years_key(members), plan.logger)


def _own_days(plan: Plan, nest: Mapping[str, object], ground: Ground) -> tuple[Floats, Floats] | None:
    """The logger's days, if it gives at least half of those from laying to the day asked for."""
    name = _text(nest.get("logger_id"))
    if name is None or plan.laying is None:
        return None
    if name not in ground.loggers:
        plan.remarks.append(f"logger {name} has no temperatures here; the station stands in")
        return None
    year = plan.laying.last.year
    low, high = own_series(ground.loggers[name], year=year, as_of=ground.as_of)
    start = (plan.laying.last - date(year, 1, 1)).days
    until = min((ground.as_of - date(year, 1, 1)).days + 1, len(low))
    recorded: Bools = ~np.isnan(low + high)
    recorded[:start] = False
    if until <= start or recorded[:until].sum() < OWN_LOGGER_SHARE * (until - start):
        plan.remarks.append(f"logger {name} covers less than half of the days since laying; the station stands in")
        return None
    last = date(year, 1, 1) + timedelta(days=int(np.flatnonzero(recorded)[-1]))
    plan.logger = name
    plan.remarks.append(f"nest temperatures from logger {name} up to {last}, the station's after that")
    return np.where(recorded, low, np.nan), np.where(recorded, high, np.nan)


def _doubt_stale(plan: Plan, season: SeasonWeather, covered: Bools | None, as_of: date) -> None:
    assert plan.laying is not None
    known = season.is_observed if covered is None else season.is_observed | covered
    seen = np.flatnonzero(known)
    last = date(season.year, 1, 1) + timedelta(days=int(seen[-1]) if len(seen) else -1)
    until = min(as_of, date(season.year, 12, 31))
    blind = (until - max(last, plan.laying.first)).days
    if blind > STALE_DAYS:
        plan.doubt(f"no temperature in the {blind} days before {until}; past years stand in")


def _place(plan: Plan, nest: Mapping[str, object]) -> tuple[str | None, float]:
    exposure, depth = _text(nest.get("exposure")), _number(nest.get("depth_cm"))
    if exposure is None and plan.logger is None:
        plan.doubt("exposure not noted: taken as partly shaded, with a wider spread")
    if depth is None:
        depth = default_soil().blank_depth_cm
        plan.remarks.append(f"depth not noted: taken as {depth:g} cm")
    return exposure, round(depth * 2) / 2


def _years_key(members: Ints) -> tuple[int, ...]:
    return tuple(int(one) for one in members)


def _text(value: object) -> str | None:
    return value.strip() or None if isinstance(value, str) else None


def _number(value: object) -> float | None:
    if value is None or isinstance(value, bool) or not isinstance(value, int | float | np.number):
        return None
    return None if np.isnan(float(value)) else float(value)
