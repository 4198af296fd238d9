"""Which temperatures a nest is projected from: its own loggers, a calibrated station, or a station with an offset."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hatch.calibration import Calibration, offset_by
from roadwatch.hatch.development import draw_parameters
from roadwatch.hatch.ensemble import own_series
from roadwatch.hatch.ground import Ground, Plan, text_in
from roadwatch.hatch.nest_heat import NestOffset, nest_offset
from roadwatch.hatch.rates import daily_development
from roadwatch.hatch.values import hatch_value

if TYPE_CHECKING:
    from collections.abc import Mapping

    from roadwatch.hatch.arrays import Bools, Floats

OWN_LOGGER_SHARE = 0.5
"""Least share of the days from laying to hatching, or to the day asked for, that a logger must give (convention)."""


def choose_offset(
    plan: Plan, nest: Mapping[str, object], ground: Ground, *, exposure: str | None, air_ahead_c: float
) -> NestOffset:
    """By a calibrated logger, the nest's own before its site's, where that is the surer; else by exposure."""
    plain = nest_offset(exposure)
    if np.isnan(air_ahead_c):
        return plain
    names = ((_first_logger(nest, ground), True), (text_in(nest.get("site_logger_id")), False))
    for name, own in names:
        if name is None:
            continue
        line = ground.line_of(name) if name in ground.loggers else f"logger {name} has no temperatures here"
        if isinstance(line, str):
            if not own:
                plan.remarks.append(line)
            continue
        found = offset_by(line, air_ahead_c=air_ahead_c, exposure=exposure, own=own)
        if own and found.sd_c >= plain.sd_c:
            plan.remarks.append(f"logger {name} calibrates the nest no better than its exposure does")
            continue
        plan.line = line
        plan.remarks.append(_calibrated(line, own=own))
        return found
    return plain


def _calibrated(line: Calibration, *, own: bool) -> str:
    whose = "its own logger" if own else "a logger elsewhere on its site"
    far = f"; {line.n_far_out} of its days lie far off the line and were kept" if line.n_far_out else ""
    return (
        f"days without a reading: {line.intercept_c:+.1f} °C and {line.slope:.2f} times the station's air, by "
        f"{line.n_days} days of {whose} ({line.logger}){far}"
    )


def _first_logger(nest: Mapping[str, object], ground: Ground) -> str | None:
    return next((name for name in _logger_names(nest) if name in ground.loggers), None)


def _logger_names(nest: Mapping[str, object]) -> list[str]:
    return [part.strip() for part in (text_in(nest.get("logger_id")) or "").split(";") if part.strip()]


def own_days(plan: Plan, nest: Mapping[str, object], ground: Ground) -> tuple[Floats, Floats] | None:
    """The loggers' days, if they give at least half of those from laying to hatching, or to the day asked for."""
    names = _logger_names(nest)
    if not names or plan.laying is None:
        return None
    known = [name for name in names if name in ground.loggers]
    for name in names:
        if name not in known:
            plan.remarks.append(f"logger {name} has no temperatures here; the station stands in")
    if not known:
        return None
    for one in known:
        line = ground.line_of(one)
        if isinstance(line, str) and "does not follow" in line:
            plan.doubt(line)
    year, name = plan.laying.last.year, " and ".join(known)
    low, high = _joined(plan, [own_series(ground.loggers[one], year=year, as_of=ground.as_of) for one in known], name)
    start = (plan.laying.last - date(year, 1, 1)).days
    until = min((ground.as_of - date(year, 1, 1)).days + 1, len(low))
    recorded: Bools = ~np.isnan(low + high)
    recorded[:start] = False
    until = min(until, _likely_end(plan, ground, low, high, recorded))
    if until <= start or recorded[:until].sum() < OWN_LOGGER_SHARE * (until - start):
        plan.remarks.append(f"logger {name} covers less than half of the days since laying; the station stands in")
        return None
    last = date(year, 1, 1) + timedelta(days=int(np.flatnonzero(recorded)[-1]))
    plan.logger = name
    plan.remarks.append(f"nest temperatures from logger {name} up to {last}, the station's after that")
    return np.where(recorded, low, np.nan), np.where(recorded, high, np.nan)


def _likely_end(plan: Plan, ground: Ground, low: Floats, high: Floats, recorded: Bools) -> int:
    """The day after which no reading is needed: eggs as warm on the days without one as on the others have hatched."""
    assert plan.laying is not None
    assert plan.parameters is not None
    if not recorded.any():
        return len(low)
    base, needed = draw_parameters(plan.parameters, np.zeros(1), np.zeros(1), tables=ground.tables)
    daily = daily_development(low, high, parameters=plan.parameters, base_c=base)
    daily = np.where(recorded, daily, daily[recorded].mean())
    daily[: plan.laying.last.timetuple().tm_yday - 1] = 0.0
    return int(np.searchsorted(np.cumsum(daily), needed[0])) + 1


def _joined(plan: Plan, series: list[tuple[Floats, Floats]], name: str) -> tuple[Floats, Floats]:
    """The mean of a nest's loggers; two that disagree are told, lower the sureness, and are both kept."""
    if len(series) == 1:
        return series[0]
    middles = np.stack([(low + high) / 2 for low, high in series])
    together = ~np.isnan(middles).any(axis=0)
    means = middles[:, together].mean(axis=1) if together.any() else np.zeros(1)
    apart = float(means.max() - means.min())
    if apart > hatch_value("loggers_agree_c"):
        plan.doubt(
            f"loggers {name} differ by {apart:.1f} °C on average: their middle was taken; check which one is right"
        )
    lows, highs = (np.stack([one[place] for one in series]) for place in (0, 1))
    seen = ~np.isnan(lows + highs)
    count = np.where(seen.any(axis=0), seen.sum(axis=0), np.nan)
    return np.where(seen, lows, 0).sum(axis=0) / count, np.where(seen, highs, 0).sum(axis=0) / count
