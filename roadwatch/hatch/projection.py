"""
The hatching day of nests that share a setting: taxon, exposure, depth, season and logger.

The error model, each part independent: weather still to come (a past year), the nest's offset from the air, base and
sum of the parameter set, the clutch's own sum, the straight line's own error, and the day and hour of
laying. Warmth is summed once per row of the design; only the crossings are sought nest by nest.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hatch.crossing import crossing_days, cumulative_warmth, order_statistics, warmth_at
from roadwatch.hatch.design import Design, draw_design, year_by_year
from roadwatch.hatch.development import HatchTables, ParameterSet, draw_parameters
from roadwatch.hatch.ensemble import SeasonWeather, filled_season
from roadwatch.hatch.nest_heat import NestOffset, nest_wave
from roadwatch.hatch.rates import daily_development
from roadwatch.hatch.values import hatch_value
from roadwatch.hatch.widening import widened_draws

if TYPE_CHECKING:
    from roadwatch.hatch.arrays import Floats, Ints
    from roadwatch.hatch.widening import Widenings

MOST_DRAWS_AT_ONCE = 500_000
"""Draws held in memory together; so many still lie in the processor's own memory."""


@dataclass(frozen=True)
class Setting:
    """What nests share; ``own_low_c`` and ``own_high_c`` are a logger's days, nan where it has none, or None."""

    parameters: ParameterSet
    offset: NestOffset
    depth_cm: float
    season: SeasonWeather
    members: Ints
    own_low_c: Floats | None = None
    own_high_c: Floats | None = None

    @property
    def known_until(self) -> int:
        """Days from 1 January up to the first for which past years stand in the end; forecast days are known."""
        known = self.season.is_known
        if self.own_low_c is not None and self.own_high_c is not None:
            known = known | ~np.isnan(self.own_low_c + self.own_high_c)
        seen = np.flatnonzero(known)
        return int(seen[-1]) + 1 if len(seen) else 0


@dataclass(frozen=True)
class Projected:
    """
    Hatching of one nest; days count from the start of 1 January, +inf is 'not by 31 December'.

    ``mean_c`` is the mean temperature in the nest from laying to likely hatching, at the middle offset; ``days`` are
    the draws behind the window, (draws,); ``weather_factor`` is what stretched their weather part, nan for nothing.
    """

    early: float
    likely: float
    late: float
    p_hatched: float
    p_never: float
    progress: float
    mean_c: float
    days: Floats = field(default_factory=lambda: np.zeros(0), compare=False, repr=False)
    weather_factor: float = field(default=float("nan"), compare=False)


@dataclass(frozen=True)
class Scenarios:
    """
    Row by row of a design: warmth before the start of each day, (rows, days + 1), and the sum needed, (rows,).

    ``low_c`` and ``high_c`` are (rows, days) in the nest, ``base_c`` (rows,), degrees C.
    """

    cumulative: Floats
    needed: Floats
    low_c: Floats
    high_c: Floats
    base_c: Floats


def project(
    setting: Setting,
    *,
    laid_from: Floats,
    laid_until: Floats,
    as_of_day: int,
    coverage: float,
    root: int,
    tables: HatchTables,
    widenings: Widenings | None = None,
) -> list[Projected]:
    """
    Draw the hatching day of nests that share a setting.

    Parameters
    ----------
    setting
        What the nests share.
    laid_from, laid_until
        (n,) Start and end of laying, days from the start of 1 January; any moment between is as likely.
    as_of_day
        Index of the day on which the reader stands; ``p_hatched`` and ``progress`` are for its end.
    coverage
        Share of draws between early and late.
    root
        Number behind the draws.
    tables
        As ``hatch_tables`` returns them.
    widenings
        Stretch the weather's part; None leaves it as past years give it.

    Returns
    -------
    (n,) One result a nest; nests laid in the same span have the same.
    """
    design = draw_design(n_members_of(setting), root=root)
    scenarios = scenario_warmth(setting, design, tables=tables)
    spans, of_nest = np.unique(np.stack([laid_from, laid_until], axis=1), axis=0, return_inverse=True)
    stretch = None if widenings is None else Stretch.of(setting, tables=tables)
    step = max(1, MOST_DRAWS_AT_ONCE // len(scenarios.needed))
    results: list[Projected] = []
    for start in range(0, len(spans), step):
        part = spans[start : start + step]
        lay = part[:, :1] + design.laid * (part[:, 1:] - part[:, :1])
        hatch, factor = hatching_draws(scenarios, lay), np.full(len(lay), np.nan)
        if stretch is not None and widenings is not None:
            hatch, factor = stretch.apply(hatch, design.member, laid=part.mean(axis=1), widenings=widenings)
        made = _summarised(scenarios, lay, hatch, as_of_day=as_of_day, coverage=coverage)
        results += [replace(one, weather_factor=float(by)) for one, by in zip(made, factor, strict=True)]
    return [results[one] for one in of_nest.ravel()]


def n_members_of(setting: Setting) -> int:
    """Past years that stand for the days to come, at least 1: a season seen to its end stands for itself."""
    return max(len(setting.members), 1)


def scenario_warmth(setting: Setting, design: Design, *, tables: HatchTables) -> Scenarios:
    """
    Sum warmth for every row of a design.

    Parameters
    ----------
    setting
        What the nests share.
    design
        Its ``member`` counts the setting's past years.
    tables
        Hold the prior of the base.
    """
    low, high = (values[design.member] for values in filled_season(setting.season, setting.members))
    offset = (setting.offset.mean_c + setting.offset.sd_c * design.heat)[:, None]
    low, high = nest_wave(low, high, offset_c=offset, depth_cm=setting.depth_cm, like=setting.offset)
    if setting.own_low_c is not None and setting.own_high_c is not None:
        error = (hatch_value("logger_sd_c") * design.logger)[:, None]
        recorded = ~np.isnan(setting.own_low_c + setting.own_high_c)
        low = np.where(recorded, setting.own_low_c + error, low)
        high = np.where(recorded, setting.own_high_c + error, high)
    base, needed = draw_parameters(setting.parameters, design.base, design.total, tables=tables)
    needed = needed * (1 + hatch_value("clutch_sd") * design.clutch) * (1 + hatch_value("structure_sd") * design.line)
    daily = daily_development(low, high, parameters=setting.parameters, base_c=base[:, None])
    return Scenarios(cumulative_warmth(daily), np.maximum(needed, 1e-6), low, high, base)


def hatching_draws(scenarios: Scenarios, lay: Floats) -> Floats:
    """(n, rows) hatching days of nests laid at ``lay``, (n, rows), row by row of the scenarios."""
    return crossing_days(scenarios.cumulative, lay, np.broadcast_to(scenarios.needed, lay.shape))


@dataclass(frozen=True)
class Stretch:
    """Stretches the weather's part of the draws of nests that share a setting."""

    setting: Setting
    years: Scenarios

    @classmethod
    def of(cls, setting: Setting, *, tables: HatchTables) -> Stretch | None:
        """None where no weather is still to come."""
        if len(setting.members) <= 1:
            return None
        return cls(setting, scenario_warmth(setting, year_by_year(len(setting.members)), tables=tables))

    def apply(self, hatch: Floats, member: Ints, *, laid: Floats, widenings: Widenings) -> tuple[Floats, Floats]:
        """
        Stretch draws by what was learned for the lead and the month of laying of each nest.

        Parameters
        ----------
        hatch
            (n, draws) Hatching days.
        member
            (draws,) Past year of each draw, counted from 0.
        laid
            (n,) Middle of the span of laying.
        widenings
            What the station taught.

        Returns
        -------
        (n, draws) in rising order, and the (n,) factors, nan where nothing could be learned.
        """
        by_member = hatching_draws(self.years, np.repeat(laid[:, None], len(self.setting.members), axis=1))
        until, n_days = self.setting.known_until, self.setting.season.n_days
        lead = np.minimum(np.median(np.minimum(by_member, n_days), axis=1), n_days) - np.maximum(until, laid)
        factor = np.full(len(laid), np.nan)
        for place, (day, ahead) in enumerate(zip(laid, lead, strict=True)):
            known = widenings.of(
                self.setting.parameters,
                offset_c=self.setting.offset.mean_c,
                lay_day=float(day),
                year=self.setting.season.year,
            )
            factor[place] = np.nan if known is None else known.at(ahead)
        by = np.nan_to_num(factor, nan=1.0)
        return widened_draws(
            hatch, member=member, by_member=by_member, factor=by, not_before=float(until), n_days=n_days
        ), factor


def _summarised(
    scenarios: Scenarios, lay: Floats, hatch: Floats, *, as_of_day: int, coverage: float
) -> list[Projected]:
    windows = order_statistics(hatch, coverage=coverage)
    today = np.full(len(lay), as_of_day + 1.0)
    gathered = warmth_at(scenarios.cumulative, today) - warmth_at(scenarios.cumulative, lay)
    progress = np.median(np.clip(gathered / scenarios.needed, 0.0, 1.0), axis=1)
    laid = np.median(lay, axis=1)
    by_day = ((scenarios.low_c + scenarios.high_c) / 2).mean(axis=0)
    return [
        Projected(
            early=float(window[0]),
            likely=float(window[1]),
            late=float(window[2]),
            p_hatched=float(np.mean(days <= as_of_day + 1.0)),
            p_never=float(np.mean(np.isinf(days))),
            progress=float(done),
            mean_c=_mean_between(by_day, float(start), float(window[1])),
            days=days,
        )
        for window, days, done, start in zip(windows, hatch, progress, laid, strict=True)
    ]


def _mean_between(mean_c: Floats, start: float, end: float) -> float:
    first = int(np.clip(start, 0, len(mean_c) - 1))
    last = int(min(end, len(mean_c) - 1)) + 1
    return float(mean_c[first : max(last, first + 1)].mean())
