"""For each nest: which kind of window it can have, from what, and with which doubts; or why it has none."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hatch.basis import choose_offset, own_days
from roadwatch.hatch.ensemble import FEWEST_YEARS, SeasonWeather
from roadwatch.hatch.ground import Ground, Plan, number_in, text_in
from roadwatch.hatch.laying import Laying, day_in, laying_of
from roadwatch.hatch.nest_heat import default_soil
from roadwatch.hatch.projection import Setting
from roadwatch.hatch.sureness import CERTAIN_ENOUGH, FEW_YEARS, LONG_SPAN_DAYS, STALE_DAYS
from roadwatch.hatch.values import hatch_value
from roadwatch.hatch.visits import HATCHED_WAITING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from roadwatch.hatch.arrays import Bools
    from roadwatch.hatch.development import ParameterSet


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
    plan = Plan(nest_id=str(nest["nest_id"]), taxon=text_in(nest.get("taxon")))
    laying = laying_of(**{name: nest.get(name) for name in ("laid_on", "laid_from", "laid_to", "found_at")})
    known = ground.parameters_of(plan.taxon)
    plan.laying = None if isinstance(laying, str) else laying
    plan.parameters = None if isinstance(known, str) else known
    visited = ground.visits.get(plan.nest_id)
    found = day_in(nest.get("found_at"))
    plan.reason = _seen_reason(plan, ground) or _first_reason(plan, laying, known)
    if ground.found_by_then and found and found > ground.as_of:
        plan.reason = f"no window: found after the day asked for, on {found}"
    if visited and visited.remark:
        (plan.doubt if visited.outcome == "flooded" else plan.remarks.append)(visited.remark)
    if plan.reason is None:
        _doubt_name(plan, nest)
        _doubt_laying(plan)
        if plan.parameters and plan.parameters.by_weather:
            _set_up(plan, nest, ground)
    return plan


def _seen_reason(plan: Plan, ground: Ground) -> str | None:
    """What visits have settled."""
    visited = ground.visits.get(plan.nest_id)
    if visited is None or not visited.hatched:
        return visited.ended if visited else None
    if visited.outcome != HATCHED_WAITING:
        return f"hatched by {visited.day}: hatchlings were emerging on that day; others may still be in the nest"
    spring = ground.coming_spring(plan.laying)
    until = f": leave it and its cage until {spring}" if spring else ""
    return f"hatched by {visited.day}; hatchlings {'wait' if spring else 'waited'} in the nest{until}"


def _first_reason(plan: Plan, laying: Laying | str, known: ParameterSet | str) -> str | None:
    if isinstance(known, str):
        return known
    if known.basis == "diapause":
        return f"no projection: eggs of this taxon pause ({plan.taxon}), so warmth since laying does not tell the day"
    if known.basis == "none":
        return f"no projection: {plan.taxon}, {known.remark}"
    return laying if isinstance(laying, str) else None


def _doubt_name(plan: Plan, nest: Mapping[str, object]) -> None:
    confidence = number_in(nest.get("id_confidence"))
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
    own = own_days(plan, nest, ground)
    covered = None if own is None else ~np.isnan(own[0] + own[1])
    ahead = ground.future_of(season.year, from_day=first_day, covered=covered)
    n_years = len(ahead.members)
    if ahead.is_needed and n_years < FEWEST_YEARS:
        plan.reason = _too_short(plan.laying, season, n_years, ground)
        return
    if ahead.is_needed and n_years < FEW_YEARS:
        plan.doubt(f"only {n_years} past years stand for the weather to come")
    _doubt_stale(plan, season, covered, ground.as_of)
    exposure, depth_cm = _place(plan, nest)
    offset = choose_offset(plan, nest, ground, exposure=exposure, air_ahead_c=ahead.air_c)
    plan.setting = Setting(
        parameters=plan.parameters,
        offset=offset,
        depth_cm=depth_cm,
        season=season,
        members=ahead.members,
        own_low_c=None if own is None else own[0],
        own_high_c=None if own is None else own[1],
    )
    plan.key = (plan.parameters.taxon, offset, depth_cm, season.year, ahead.members.tobytes(), plan.logger)


def _too_short(laying: Laying, season: SeasonWeather, n_years: int, ground: Ground) -> str:
    """Why the station's series gives no window: it begins too late, lacks the season, or has too few earlier years."""
    source, first = ground.station.source, ground.station.first_day
    if first > laying.last:
        when = str(season.year) if first.year > season.year else str(laying.last)
        return f"no projection: {source} has no temperatures of {when}, it begins on {first}; ingest a longer series"
    years = f"{n_years} complete earlier years for the days still to come, {FEWEST_YEARS} are needed"
    lacks = "" if season.is_known.any() else f"no temperatures of {season.year} by {ground.as_of}, and "
    return f"no projection: {source} has {lacks}{years}; ingest a longer series"


def _doubt_stale(plan: Plan, season: SeasonWeather, covered: Bools | None, as_of: date) -> None:
    assert plan.laying is not None
    known = season.is_known if covered is None else season.is_known | covered
    seen = np.flatnonzero(known)
    last = date(season.year, 1, 1) + timedelta(days=int(seen[-1]) if len(seen) else -1)
    until = min(as_of, date(season.year, 12, 31))
    blind = (until - max(last, plan.laying.first)).days
    if blind > STALE_DAYS:
        plan.doubt(f"no temperature in the {blind} days before {until}; past years stand in")


def _place(plan: Plan, nest: Mapping[str, object]) -> tuple[str | None, float]:
    exposure, depth = text_in(nest.get("exposure")), number_in(nest.get("depth_cm"))
    if exposure is None and plan.logger is None:  # a logger already holds what exposure would tell
        plan.doubt("exposure not noted: taken as partly shaded, with a wider spread")
    if depth is None:
        depth = default_soil().blank_depth_cm
        plan.remarks.append(f"depth not noted: taken as {depth:g} cm")
    return exposure, round(depth * 2) / 2
