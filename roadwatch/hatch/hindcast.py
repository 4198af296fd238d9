"""
Would past windows have held? Every past summer forecast as if it were to come, from earlier years alone.

Two scores that are never mixed. The weather component: taxon, nest heat and laying are fixed, and only the weather
ahead is unknown; it is scored against the summers that came. The full window: nests are drawn with every error of the
model, and the windows that ``hatch`` would have given are scored against them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError
from roadwatch.hatch.crossing import crossing_days, cumulative_warmth
from roadwatch.hatch.development import HatchTables, ParameterSet, draw_parameters
from roadwatch.hatch.ensemble import MOST_YEARS
from roadwatch.hatch.nest_heat import NestOffset, nest_wave
from roadwatch.hatch.rates import daily_development
from roadwatch.hatch.scores import (
    Share,
    central_interval,
    learned_factors,
    needed_factor,
    probability_integral,
    ranked_probability,
    share_by_years,
)
from roadwatch.hatch.sureness import FEW_YEARS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roadwatch.hatch.arrays import Bools, Floats, Ints
    from roadwatch.hatch.temperatures import Weather

LEADS_D = (60, 45, 30, 15, 5)
"""Days before hatching on which the forecasts are made."""

COVERAGES = (0.5, 0.8)

FEWEST_PAST_YEARS = 9
"""Nine members are the fewest whose outermost two leave a tenth on each side: (9 + 1) x 0.1 = 1."""

FEWEST_WINDOWS = FEW_YEARS - FEWEST_PAST_YEARS
"""Past windows to learn a stretch from: what 15 complete years give, as the first nine have too few before them."""

YEAR_D = 365
CASES_AT_ONCE = 4_000


@dataclass(frozen=True)
class FixedNest:
    """A nest as far as weather knows it: parameters, heat, depth, and laying as days from 1 January."""

    parameters: ParameterSet
    offset: NestOffset
    depth_cm: float
    lay_day: float


@dataclass(frozen=True)
class WeatherCases:
    """
    One row a nest, year and lead.

    ``ensemble`` and ``climatology`` are (n, years) days by earlier years, nan elsewhere: from the day of the forecast
    on, and from laying on. ``truth`` is the day that came.
    """

    year: Ints
    lead_d: Ints
    truth: Floats
    ensemble: Floats
    climatology: Floats
    n_never: int


def weather_cases(weather: Weather, nests: Sequence[FixedNest], *, tables: HatchTables) -> WeatherCases:
    """
    Forecast every past summer from earlier ones, with nothing unknown but the weather.

    Parameters
    ----------
    weather
        The station's whole record.
    nests
        Fixed in all but the weather.
    tables
        Hold the prior of the base.

    Returns
    -------
    A case for each nest, lead, and year with at least nine complete earlier years, of which the latest 30 count; a
    summer in which a nest does not hatch by 31 December is left out and counted.

    Raises
    ------
    NotEnoughDataError
        No year has nine complete earlier ones.
    """
    low, high, years = on_one_calendar(weather)
    parts = []
    for group in _alike(nests):
        lay = np.array([nest.lay_day for nest in group])
        whole: Bools = ~np.any(np.isnan(low + high)[:, int(lay.min()) :], axis=1)
        earlier = earlier_years(whole)
        scored = np.flatnonzero(whole & (earlier.sum(axis=1) >= FEWEST_PAST_YEARS))
        if len(scored):
            warmth, needed = _warmth(low, high, group[0], tables)
            parts.append(_cases(warmth, needed, lay, years, earlier, scored))
    if not parts:
        raise NotEnoughDataError(
            f"not enough data: no summer has {FEWEST_PAST_YEARS} complete earlier years at this station; ingest a "
            "longer series"
        )
    year, lead, truth, ensemble, climatology = (
        np.concatenate([getattr(part, name) for part in parts])
        for name in ("year", "lead_d", "truth", "ensemble", "climatology")
    )
    return WeatherCases(year, lead, truth, ensemble, climatology, sum(part.n_never for part in parts))


def on_one_calendar(weather: Weather) -> tuple[Floats, Floats, Ints]:
    """Lows and highs as (years, 365); 29 February is left out, so that all years share one calendar."""
    days = weather.days()
    years = np.arange(days[0].year, days[-1].year + 1)
    slot = days.day_of_year.to_numpy() - 1 - ((days.month > 2) & days.is_leap_year)
    kept = np.asarray(~((days.month == 2) & (days.day == 29)))
    grids = []
    for values in (weather.low_c, weather.high_c):
        grid = np.full((len(years), YEAR_D), np.nan)
        grid[days.year.to_numpy()[kept] - years[0], slot[kept]] = values[kept]
        grids.append(grid)
    return grids[0], grids[1], years


def _alike(nests: Sequence[FixedNest]) -> list[list[FixedNest]]:
    groups: dict[object, list[FixedNest]] = {}
    for nest in nests:
        groups.setdefault((nest.parameters, nest.offset, nest.depth_cm), []).append(nest)
    return list(groups.values())


def earlier_years(whole: Bools) -> Bools:
    """(years, years) True where the second is one of the latest 30 complete years before the first."""
    before = np.tril(np.ones((len(whole), len(whole)), bool), -1) & whole[None, :]
    latest_first = np.cumsum(before[:, ::-1], axis=1)[:, ::-1]
    return before & (latest_first <= MOST_YEARS)


def _warmth(low: Floats, high: Floats, nest: FixedNest, tables: HatchTables) -> tuple[Floats, float]:
    """Cumulative development of every year at the middle of everything, and the sum needed."""
    zero = np.zeros(1)
    base, needed = draw_parameters(nest.parameters, zero, zero, tables=tables)
    nest_low, nest_high = nest_wave(low, high, offset_c=nest.offset.mean_c, depth_cm=nest.depth_cm, like=nest.offset)
    daily = daily_development(nest_low, nest_high, parameters=nest.parameters, base_c=base[:, None])
    return cumulative_warmth(daily), float(needed[0])


def _cases(warmth: Floats, needed: float, lay: Floats, years: Ints, earlier: Bools, scored: Ints) -> WeatherCases:
    by_year = crossing_days(warmth, lay, np.full(len(lay), needed))
    indices = np.meshgrid(np.arange(len(lay)), scored, np.array(LEADS_D), indexing="ij")
    nest, row, lead = (one.ravel() for one in indices)
    comes = np.isfinite(by_year[nest, row])
    nest, row, lead = nest[comes], row[comes], lead[comes]
    truth = by_year[nest, row]
    origin = np.maximum(np.floor(truth) - lead, lay[nest])
    left = needed - (_at(warmth, row, origin) - _at(warmth, row, lay[nest]))
    ensemble = np.concatenate(
        [
            crossing_days(warmth, origin[start : start + CASES_AT_ONCE], left[start : start + CASES_AT_ONCE])
            for start in range(0, len(origin), CASES_AT_ONCE)
        ]
        or [np.zeros((0, len(years)))]
    )
    return WeatherCases(
        years[row],
        lead,
        truth,
        np.where(earlier[row], ensemble, np.nan),
        np.where(earlier[row], by_year[nest], np.nan),
        int(np.isinf(by_year[:, scored]).sum()),
    )


def _at(warmth: Floats, row: Ints, day: Floats) -> Floats:
    """Warmth gathered before a moment, in one year a case."""
    whole = day.astype(np.int64)
    before = warmth[row, whole]
    after = warmth[row, np.minimum(whole + 1, warmth.shape[1] - 1)]
    inside: Floats = before + (day - whole) * (after - before)
    return inside


def weather_scores(cases: WeatherCases, *, rng: np.random.Generator) -> tuple[pd.DataFrame, pd.DataFrame]:
    """
    Score the weather component.

    Parameters
    ----------
    cases
        As ``weather_cases`` returns them.
    rng
        Draws years again, for the errors.

    Returns
    -------
    A row a lead and ``all`` last, as ``Hindcast.weather``; and the cases one by one with
    ``year lead_days truth middle early_80 late_80 widened_early_80 widened_late_80``.
    """
    table = pd.DataFrame({"year": cases.year, "lead_days": cases.lead_d, "truth": cases.truth})
    middle, _ = central_interval(cases.ensemble, coverage=0.0)
    table["middle"] = middle
    for coverage in COVERAGES:
        name = f"{coverage * 100:.0f}"
        early, late = central_interval(cases.ensemble, coverage=coverage)
        needed, factor = needed_factor(middle, early, late, cases.truth), np.ones(len(table))
        for lead in LEADS_D:
            of_lead = cases.lead_d == lead
            factor[of_lead] = learned_factors(
                needed[of_lead], cases.year[of_lead], coverage=coverage, fewest_years=FEWEST_WINDOWS
            )
        with np.errstate(invalid="ignore"):  # an end beyond 31 December stays there
            wide_early, wide_late = middle - factor * (middle - early), middle + factor * (late - middle)
        wide_early, wide_late = (
            np.where(np.isinf(end), end, wide) for end, wide in ((early, wide_early), (late, wide_late))
        )
        table[f"early_{name}"], table[f"late_{name}"] = early, late
        table[f"widened_early_{name}"], table[f"widened_late_{name}"] = wide_early, wide_late
        table[f"held_{name}"] = (early <= cases.truth) & (cases.truth <= late)
        table[f"widened_held_{name}"] = (wide_early <= cases.truth) & (cases.truth <= wide_late)
        table[f"factor_{name}"] = factor
    table["crps"] = ranked_probability(np.minimum(cases.ensemble, YEAR_D), cases.truth)
    table["crps_climatology"] = ranked_probability(np.minimum(cases.climatology, YEAR_D), cases.truth)
    table["pit"] = probability_integral(cases.ensemble, cases.truth)
    groups = [(str(lead), table[table["lead_days"] == lead]) for lead in LEADS_D]
    rows = [_weather_row(name, group, rng) for name, group in [*groups, ("all", table)] if len(group)]
    return pd.DataFrame(rows), table


def _weather_row(name: str, group: pd.DataFrame, rng: np.random.Generator) -> dict[str, object]:
    row: dict[str, object] = {"lead_days": name, "n": len(group), "years": group["year"].nunique()}
    for coverage in COVERAGES:
        of = f"{coverage * 100:.0f}"
        plain, wide = (share_held(group, f"{kind}held_{of}", rng) for kind in ("", "widened_"))
        row |= {f"coverage_{of}": plain.share, f"coverage_{of}_se": plain.se}
        row |= {f"widened_{of}": wide.share, f"widened_{of}_se": wide.se}
        row[f"factor_{of}"] = float(group[f"factor_{of}"].mean())
        row[f"width_{of}"] = median_width(group[f"late_{of}"] - group[f"early_{of}"])
        row[f"widened_width_{of}"] = median_width(group[f"widened_late_{of}"] - group[f"widened_early_{of}"])
    crps = float(group["crps"].mean())
    skill = 1 - crps / float(group["crps_climatology"].mean())
    return row | {
        "crps": crps,
        "skill": skill,
        "pit_mean": float(group["pit"].mean()),
        "pit_sd": float(group["pit"].std()),
    }


def share_held(group: pd.DataFrame, column: str, rng: np.random.Generator) -> Share:
    """Share of cases that held, by a column of the table, with its error by whole years."""
    return share_by_years(group[column].to_numpy(bool), group["year"].to_numpy(np.int64), rng=rng)


def median_width(days: pd.Series) -> float:
    """Middle width, days; nan where it reaches beyond 31 December."""
    middle = float(np.median(days.to_numpy(float)))
    return middle if np.isfinite(middle) else float("nan")
