"""Would past windows have held? The season's station and nests, forecast year by year from earlier years alone."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError
from roadwatch.hatch.development import HatchTables, ParameterSet, find_region, hatch_tables, parameters_for
from roadwatch.hatch.hindcast import FEWEST_PAST_YEARS, FixedNest, weather_cases, weather_scores
from roadwatch.hatch.hindcast_full import full_scores
from roadwatch.hatch.hindcast_picture import hindcast_picture
from roadwatch.hatch.laying import laying_of
from roadwatch.hatch.nest_heat import default_soil, nest_offset
from roadwatch.hatch.temperatures import daily_weather, nest_loggers
from roadwatch.hatch.window import project_windows
from roadwatch.records.store import Season
from roadwatch.season.nest_taxa import with_verified_names
from roadwatch.season.nests import logger_names
from roadwatch.season.own_tables import tables_folder

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from roadwatch.hatch.temperatures import Weather

SEEN_LEAVING = ("emerging", "emerged")


@dataclass(frozen=True)
class SeasonHindcast:
    """
    Scores of the weather component and of the full window, never mixed; real nests whose end was seen; a picture.

    ``weather``, ``full`` and ``cases`` are as ``weather_scores`` and ``full_scores`` return them; ``real`` has
    ``nest_id as_of hatch_early hatch_late autumn_early autumn_late not_before by held``.
    """

    weather: pd.DataFrame
    full: pd.DataFrame
    cases: pd.DataFrame
    real: pd.DataFrame
    picture: str
    notes: tuple[str, ...]


def season_hindcast(
    path: Path, *, rng: np.random.Generator, progress: Callable[[int, int], None] | None = None
) -> SeasonHindcast:
    """
    Score past windows on the season's station, for nests like the season's.

    Parameters
    ----------
    path
        The season file.
    rng
        Source of the simulated nests and of the resampled years.
    progress
        Called with years done and years in all.

    Raises
    ------
    NotEnoughDataError
        No nest that weather projects, no temperature, no region, or too few complete years.
    """
    season = Season.open(path)
    nests, temperatures = season.read("nests"), season.read("temperatures")
    if temperatures.empty:
        raise NotEnoughDataError(
            "not enough data: the season holds no temperature; ingest a station's daily file first"
        )
    region = season.settings.get("region")
    weather = daily_weather(temperatures, not_series=logger_names(nests))
    named, tables = with_verified_names(nests), hatch_tables(tables_folder(season))
    fixed = _fixed_nests(named, region, tables=tables)
    cases = weather_cases(weather, fixed, tables=tables)
    scores, table = weather_scores(cases, rng=rng)
    usual = _usual(fixed)
    full = full_scores(weather, usual, tables=tables, rng=rng, progress=progress)
    real = _real_nests(named, season.read("checks"), weather, temperatures, region=region, tables=tables, rng=rng)
    picture = hindcast_picture(table, scores, title=f"Windows of past summers, station {weather.source}")
    notes = _notes(weather, fixed, usual, cases.n_never, scores, full, real)
    return SeasonHindcast(scores, full, table, real, picture, notes)


def _fixed_nests(nests: pd.DataFrame, region: str | None, *, tables: HatchTables) -> list[FixedNest]:
    """The season's nests that weather projects, each at the middle of its laying span."""
    development_region = find_region(region, tables=tables).development_region
    found = []
    for row in nests.to_dict("records"):
        laying = laying_of(**{name: row.get(name) for name in ("laid_on", "laid_from", "laid_to", "found_at")})
        taxon = row.get("taxon")
        known = parameters_for(
            taxon if isinstance(taxon, str) else None, development_region=development_region, tables=tables
        )
        if isinstance(laying, str) or not isinstance(known, ParameterSet) or not known.by_weather:
            continue
        first, last = (min(day.timetuple().tm_yday - 1, 364) for day in (laying.first, laying.last))
        exposure, depth = row.get("exposure"), row.get("depth_cm")
        has_depth = isinstance(depth, float) and np.isfinite(depth)
        found.append(
            FixedNest(
                known,
                nest_offset(exposure if isinstance(exposure, str) else None),
                round(float(depth) * 2) / 2 if has_depth and depth is not None else default_soil().blank_depth_cm,
                float((first + last + 1) / 2 if first <= last else last),
            )
        )
    if not found:
        raise NotEnoughDataError(
            "not enough data: the season holds no nest of a taxon that weather projects; ingest a file of nests first"
        )
    return found


def _usual(fixed: list[FixedNest]) -> FixedNest:
    """A nest of the commonest parameter set, exposure and depth, laid on their middle day."""
    commonest = Counter((nest.parameters, nest.offset, nest.depth_cm) for nest in fixed).most_common(1)[0][0]
    alike = [nest.lay_day for nest in fixed if (nest.parameters, nest.offset, nest.depth_cm) == commonest]
    return FixedNest(*commonest, float(np.round(np.median(alike))))


def _real_nests(
    nests: pd.DataFrame,
    checks: pd.DataFrame,
    weather: Weather,
    temperatures: pd.DataFrame,
    *,
    region: str | None,
    tables: HatchTables,
    rng: np.random.Generator,
) -> pd.DataFrame:
    """
    Nests seen emptied in the year of laying, against the autumn window that was given when they were found.

    The day lies between the last visit without hatchlings and the first with; it is held where the two overlap.
    """
    rows = []
    loggers = nest_loggers(temperatures, logger_ids=logger_names(nests))
    for nest in nests.to_dict("records"):
        seen = checks[checks["nest_id"] == nest["nest_id"]].sort_values("checked_at")
        leaving = seen[seen["outcome"].isin(SEEN_LEAVING)]
        laying = laying_of(**{name: nest.get(name) for name in ("laid_on", "laid_from", "laid_to", "found_at")})
        if leaving.empty or isinstance(laying, str) or str(leaving["checked_at"].iloc[0])[:4] != str(laying.last.year):
            continue
        by = str(leaving["checked_at"].iloc[0])[:10]
        before = seen[(seen["checked_at"].str[:10] < by) & (seen["outcome"] == "intact")]
        not_before = str(before["checked_at"].iloc[-1])[:10] if len(before) else laying.first.isoformat()
        row = project_windows(
            pd.DataFrame([nest]), weather, region=region, as_of=laying.last, rng=rng, loggers=loggers, tables=tables
        ).table.iloc[0]
        early, late = row["autumn_early"], row["autumn_late"]
        if not isinstance(early, str):
            continue
        held = by >= early and (not isinstance(late, str) or not_before <= late)
        ends = (row["hatch_early"], row["hatch_late"], early, late)
        rows.append((nest["nest_id"], laying.last.isoformat(), *ends, not_before, by, held))
    names = ["nest_id", "as_of", "hatch_early", "hatch_late", "autumn_early", "autumn_late", "not_before", "by", "held"]
    return pd.DataFrame(rows, columns=names)


def _notes(
    weather: Weather,
    fixed: list[FixedNest],
    usual: FixedNest,
    n_never: int,
    scores: pd.DataFrame,
    full: pd.DataFrame,
    real: pd.DataFrame,
) -> tuple[str, ...]:
    every, whole = scores.iloc[-1], full.iloc[-1]
    weather_words = (
        f"Weather alone, {len(fixed)} nests, {int(every['years'])} summers of {weather.source} each from earlier years "
        f"only: 50 % windows held {every['coverage_50']:.1%}, 80 % windows {every['coverage_80']:.1%}; stretched by "
        f"what earlier years had needed (never shrunk), {every['widened_50']:.1%} ± {2 * every['widened_50_se']:.1%} "
        f"and {every['widened_80']:.1%} ± {2 * every['widened_80_se']:.1%} (two standard errors, by whole years)."
    )
    full_words = (
        f"Full windows, {int(whole['n'])} simulated nest-years ({usual.parameters.taxon}, {usual.offset.exposure}): "
        f"50 % windows held {whole['coverage_50']:.1%}, 80 % windows {whole['coverage_80']:.1%}. The nests are drawn "
        "from the same error model, so this tests the arithmetic and the weather, not the model's values; their "
        "weather's part is stretched as in hatch."
    )
    notes = [weather_words, full_words, *weather.notes]
    notes.append(f"Years with fewer than {FEWEST_PAST_YEARS} complete earlier ones are not scored.")
    if n_never:
        notes.append(f"{n_never} nest-summers did not reach the sum by 31 December and are left out.")
    if real.empty:
        notes.append("No real nest was seen emptied in the year of laying: nothing real is scored.")
    else:
        notes.append(
            f"Real nests seen emptied: the autumn window given at laying held {int(real['held'].sum())} of "
            f"{len(real)}; an overlap counts as held, as nobody saw the day itself."
        )
    return tuple(notes)
