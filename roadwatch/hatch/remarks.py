"""What holds for all windows of a call, in plain sentences: weather used, coverage, limits, and cautions."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hatch.nest_heat import nest_offset
from roadwatch.hatch.quality import shift_note
from roadwatch.hatch.sureness import FEW_YEARS, RULES
from roadwatch.hatch.values import hatch_value

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roadwatch.hatch.arrays import Floats
    from roadwatch.hatch.ensemble import SeasonWeather
    from roadwatch.hatch.ground import Ground, Plan
    from roadwatch.hatch.widening import Widenings

PATIENCE = (
    "A window is a projection from weather, not a promise; eggs may still be alive after it. No nest is called failed: "
    "leave it, and its cage, until after the spring window."
)

PERMISSION = (
    "Never dig to check a nest, and never turn an egg. Touching or caging nests usually needs a permit: ask your state "
    "wildlife agency and the landowner first."
)

DRIFT_LIMIT = (
    "Known limit: past years cover less than they promise where climate or station drifts. At Clemson, South Carolina, "
    "80 % windows made of earlier years alone, from weather alone, held in 75 % of 81 years (clemson_hindcast), and in "
    "80 % once stretched by what earlier years had needed. The command hindcast tells how a season's own station did."
)


def widening_notes(plans: list[Plan], factor: Floats, widenings: Widenings) -> list[str]:
    """
    Say by how much the weather's part of the windows was stretched, by what, and where it was not and why.

    Parameters
    ----------
    plans
        One a nest.
    factor
        (nests,) As in the table, nan where nothing was stretched.
    widenings
        What the station taught.
    """
    notes, coverage, source = [], widenings.coverage, widenings.station.source
    known = factor[~np.isnan(factor)]
    if len(known):
        taught = [one for one in widenings.learned.values() if one]
        low, high = f"{known.min():.2f}", f"{known.max():.2f}"
        fewest, most = min(one.n_years for one in taught), max(one.n_years for one in taught)
        first, last = min(one.first_year for one in taught), max(one.last_year for one in taught)
        notes.append(
            f"The weather's part is stretched {low if low == high else f'{low} to {high}'} times in {len(known)} of "
            f"{len(plans)} windows (weather_factor): what {most if fewest == most else f'{fewest} to {most}'} past "
            f"summers of {source}, {first} to {last}, each forecast from earlier ones alone, would have needed to hold "
            f"{coverage:.0%}. It is never shrunk, and no other part of a window is touched."
        )
    plain = sum(
        plan.reason is None and plan.setting is not None and len(plan.setting.members) > 1 and bool(np.isnan(one))
        for plan, one in zip(plans, factor, strict=True)
    )
    if plain:
        notes.append(
            f"The weather's part is not stretched in {plain} of {len(plans)} windows (weather_factor is blank): "
            f"{source} has fewer than {FEW_YEARS} complete past years to learn from, for nests laid and warmed like "
            "these."
        )
    return notes


def window_notes(
    plans: list[Plan], *, ground: Ground, coverage: float, stretched: Sequence[str] = ()
) -> tuple[str, ...]:
    """
    Say what the windows of a call rest on.

    Parameters
    ----------
    plans
        One a nest.
    ground
        What the call rests on.
    coverage
        Share of nests between early and late.
    stretched
        Sentences of ``widening_notes``.

    Returns
    -------
    Sentences: weather by season with the days filled, what was found in the series, what a window holds, its known
    limits, cautions.
    """
    projected = [plan for plan in plans if plan.setting is not None]
    notes: list[str] = []
    for year in sorted({plan.setting.season.year for plan in projected if plan.setting}):
        notes += _season_notes(
            [plan for plan in projected if plan.setting and plan.setting.season.year == year], ground
        )
    notes += ground.station.notes
    shift = shift_note(ground.station, ground.loggers.values())
    notes += [shift] if shift and projected else []
    used = {one for plan in projected for one in (plan.logger or "").split(" and ") if one}
    used |= {plan.line.logger for plan in projected if plan.line}
    for name in sorted(used):
        notes += ground.loggers[name].notes
    notes += _logger_doubts(projected)
    if projected:
        notes += [f"Early and late hold {coverage:.0%} of what is drawn from {_drawn_from()}.", *stretched, DRIFT_LIMIT]
    notes += _sources(plans)
    none = sum(plan.reason is not None for plan in plans)
    if none:
        notes.append(f"{none} of {len(plans)} nests have no window; each says why in its note.")
    return (*notes, RULES, PATIENCE, PERMISSION)


def _logger_doubts(plans: list[Plan]) -> list[str]:
    """Loggers that do not fit the air or each other, with the nests that they are in."""
    nests: dict[str, list[str]] = {}
    for plan in plans:
        for doubt in plan.doubts:
            if doubt.startswith("logger"):
                nests.setdefault(doubt, []).append(plan.nest_id)
    return [f"{', '.join(names)}: {doubt}" for doubt, names in nests.items()]


def _drawn_from() -> str:
    known, blank = nest_offset("partial").sd_c, nest_offset(None).sd_c
    return (
        f"past weather, the nest's offset from the air ({known:g} °C, {blank:g} where exposure is blank), the "
        f"parameters' errors, clutches ({hatch_value('clutch_sd'):.1%}), the straight line "
        f"({hatch_value('structure_sd'):.0%}) and the laying day; above {hatch_value('upper_c'):g} °C development no "
        "longer speeds up"
    )


def _sources(plans: list[Plan]) -> list[str]:
    """What is known of each taxon that has a window, and from where."""
    sets = {(one.taxon, one.remark, one.source) for plan in plans if plan.reason is None and (one := plan.parameters)}
    return [f"{taxon}: {remark} ({source})." for taxon, remark, source in sorted(sets)]


def _season_notes(plans: list[Plan], ground: Ground) -> list[str]:
    settings = [plan.setting for plan in plans if plan.setting is not None]
    season = settings[0].season
    notes = [_observed(season, ground)]
    used = sorted({int(season.years[one]) for setting in settings for one in setting.members})
    if not used:
        return notes
    fewest, most = min(len(one.members) for one in settings), max(len(one.members) for one in settings)
    count = f"{most}" if fewest == most else f"{fewest} to {most}"
    notes.append(f"{count} past years of the same station, {used[0]} to {used[-1]}, stand for the weather to come.")
    if fewest < FEW_YEARS:
        notes.append(
            f"Fewer than {FEW_YEARS} past years: the stated interval promises more than so few years can hold; read it "
            "as narrower than the truth."
        )
    left_out = [int(year) for year in season.years if used[0] <= year <= used[-1] and int(year) not in used]
    if left_out:
        years = ", ".join(str(year) for year in left_out)
        notes.append(f"Left out of them for a gap of more than 3 days in a needed span: {years}.")
    return notes


def _observed(season: SeasonWeather, ground: Ground) -> str:
    """How far readings reach, and what fills the days from the last of them to the day asked for, counted."""
    start = date(season.year, 1, 1)
    until = min(ground.as_of, date(season.year, 12, 31))
    today = (until - start).days
    foretold = np.zeros(season.n_days, bool) if season.is_forecast is None else season.is_forecast
    gap = np.zeros(season.n_days, bool)
    gap[season.last_observed + 1 : today + 1] = True
    words = f"{season.year}: {ground.station.source} has no temperature by {until}"
    if season.last_observed >= 0:
        last = start + timedelta(days=season.last_observed)
        words = f"{season.year}: temperatures of {ground.station.source} are observed up to {last}"
        words += _filled(int(gap.sum()), int((gap & foretold).sum()), season, until)
        inside = int((~season.is_observed[: season.last_observed + 1]).sum())
        words += f"; {inside} days missing before are filled likewise" if inside else ""
    elif not foretold.any():
        words += "; windows rest on past years alone"
    ahead = int(foretold[today + 1 :].sum())
    words += f"; {ahead} days after it come from {season.forecast_source}" if ahead else ""
    return words + "."


def _filled(n_days: int, n_foretold: int, season: SeasonWeather, until: date) -> str:
    if not n_days:
        return ""
    if not n_foretold:
        return f"; the {n_days} days from then to {until} are filled from past years"
    rest = f", {n_days - n_foretold} from past years" if n_days > n_foretold else ""
    return f"; of the {n_days} days from then to {until}, {n_foretold} are filled from {season.forecast_source}{rest}"
