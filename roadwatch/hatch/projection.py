"""
Draws of the hatching day for nests that share a setting: taxon, exposure, depth, season and logger.

The error model, each part independent: weather still to come (a past year), the nest's offset from the air, base and
sum of the parameter set, the clutch's own sum, the straight line's own error, and the day and hour of
laying. Warmth is summed once per past year, offset and base; only the sums and laying days are drawn nest by nest.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtri

from roadwatch.hatch.crossing import crossing_days, cumulative_warmth, order_statistics, warmth_at
from roadwatch.hatch.degree_days import degree_days
from roadwatch.hatch.development import HatchTables, ParameterSet, draw_parameters
from roadwatch.hatch.ensemble import SeasonWeather, filled_season
from roadwatch.hatch.nest_heat import NestOffset, nest_wave
from roadwatch.hatch.values import hatch_value

if TYPE_CHECKING:
    from roadwatch.hatch.arrays import Floats, Ints

N_OFFSETS, N_BASES = 15, 3
"""Offsets and bases are taken at the middles of equally likely slices, so that few of them carry the whole spread."""

MOST_DRAWS_AT_ONCE = 2_000_000
"""Draws held in memory together."""


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


@dataclass(frozen=True)
class Projected:
    """
    Hatching of one nest; days count from the start of 1 January, +inf is 'not by 31 December'.

    ``mean_c`` is the mean temperature in the nest from laying to likely hatching, at the middle offset.
    """

    early: float
    likely: float
    late: float
    p_hatched: float
    p_never: float
    progress: float
    mean_c: float


@dataclass(frozen=True)
class Scenarios:
    """Warmth by row (a base, an offset and a past year), with the draw of the base that each row belongs to."""

    cumulative: Floats
    z_base: Floats
    mean_c: Floats


def project(
    setting: Setting,
    *,
    nest_ids: list[str],
    laid_from: Floats,
    laid_until: Floats,
    as_of_day: int,
    coverage: float,
    root: int,
    tables: HatchTables,
) -> list[Projected]:
    """
    Draw the hatching day of nests that share a setting.

    Parameters
    ----------
    setting
        What the nests share.
    nest_ids
        (n,) Names; with ``root`` they seed each nest's own stream, so neither order nor company changes a result.
    laid_from, laid_until
        (n,) Start and end of laying, days from the start of 1 January; any moment between is as likely.
    as_of_day
        Index of the day on which the reader stands; ``p_hatched`` and ``progress`` are for its end.
    coverage
        Share of draws between early and late.
    root
        Number behind every nest's stream.
    tables
        As ``hatch_tables`` returns them.

    Returns
    -------
    (n,) One result a nest.
    """
    scenarios = scenario_warmth(setting, tables=tables)
    rows = len(scenarios.cumulative)
    step = max(1, MOST_DRAWS_AT_ONCE // rows)
    results: list[Projected] = []
    for start in range(0, len(nest_ids), step):
        part = slice(start, start + step)
        streams = [np.random.default_rng([root, _stable_number(name)]) for name in nest_ids[part]]
        uniform = np.array([stream.random(rows) for stream in streams])
        z = np.array([stream.standard_normal((3, rows)) for stream in streams])
        lay = laid_from[part, None] + uniform * (laid_until - laid_from)[part, None]
        _, needed = draw_parameters(setting.parameters, scenarios.z_base, z[:, 0], tables=tables)
        needed = np.maximum(
            needed * (1 + hatch_value("clutch_sd") * z[:, 1]) * (1 + hatch_value("structure_sd") * z[:, 2]), 1.0
        )
        results += _summarised(scenarios, lay, needed, as_of_day=as_of_day, coverage=coverage)
    return results


def scenario_warmth(setting: Setting, *, tables: HatchTables) -> Scenarios:
    """Sum warmth for every base, offset and past year of a setting; rows run in that order, years fastest."""
    low, high = filled_season(setting.season, setting.members)
    z_offset, z_base = _slices(N_OFFSETS), _slices(N_BASES)
    offset = setting.offset.mean_c + setting.offset.sd_c * z_offset
    nest_low, nest_high = nest_wave(low, high, offset_c=offset[:, None, None], depth_cm=setting.depth_cm)
    if setting.own_low_c is not None and setting.own_high_c is not None:
        # A full-period step through the slices, so that a logger's error is unrelated to the offset beside it.
        error = (hatch_value("logger_sd_c") * z_offset[np.arange(N_OFFSETS) * 7 % N_OFFSETS])[:, None, None]
        recorded = ~np.isnan(setting.own_low_c + setting.own_high_c)
        nest_low = np.where(recorded, setting.own_low_c + error, nest_low)
        nest_high = np.where(recorded, setting.own_high_c + error, nest_high)
    base, _ = draw_parameters(setting.parameters, z_base, np.zeros(N_BASES), tables=tables)
    n_days, n_rows = low.shape[1], N_OFFSETS * len(low)
    warmth = [
        degree_days(nest_low, nest_high, base_c=float(one), upper_c=hatch_value("upper_c")).reshape(n_rows, n_days)
        for one in base
    ]
    middle = (nest_low + nest_high)[N_OFFSETS // 2] / 2
    return Scenarios(cumulative_warmth(np.concatenate(warmth)), np.repeat(z_base, n_rows), middle.mean(axis=0))


def _slices(count: int) -> Floats:
    """Middles of equally likely slices of a standard normal, widened to a standard deviation of one."""
    z = np.asarray(ndtri((np.arange(count) + 0.5) / count), float)
    widened: Floats = z / z.std()
    return widened


def _stable_number(name: str) -> int:
    return int.from_bytes(hashlib.blake2b(name.encode(), digest_size=8).digest(), "big")


def _summarised(
    scenarios: Scenarios, lay: Floats, needed: Floats, *, as_of_day: int, coverage: float
) -> list[Projected]:
    hatch = crossing_days(scenarios.cumulative, lay, needed)
    windows = order_statistics(hatch, coverage=coverage)
    today = np.full(len(lay), as_of_day + 1.0)
    gathered = warmth_at(scenarios.cumulative, today) - warmth_at(scenarios.cumulative, lay)
    progress = np.median(np.clip(gathered / needed, 0.0, 1.0), axis=1)
    laid = np.median(lay, axis=1)
    return [
        Projected(
            early=float(window[0]),
            likely=float(window[1]),
            late=float(window[2]),
            p_hatched=float(np.mean(days <= as_of_day + 1.0)),
            p_never=float(np.mean(np.isinf(days))),
            progress=float(done),
            mean_c=_mean_between(scenarios.mean_c, float(start), float(window[1])),
        )
        for window, days, done, start in zip(windows, hatch, progress, laid, strict=True)
    ]


def _mean_between(mean_c: Floats, start: float, end: float) -> float:
    first = int(np.clip(start, 0, len(mean_c) - 1))
    last = int(min(end, len(mean_c) - 1)) + 1
    return float(mean_c[first : max(last, first + 1)].mean())
