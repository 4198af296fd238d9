"""The ranked table: each run with its records, what was expected, and how sure the ratio is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from roadwatch.hotspots.carcasses import killed_interval
from roadwatch.hotspots.named_draws import LEAST_SUPPORT, NamedDraws, pooled_interval
from roadwatch.hotspots.run_places import places_of
from roadwatch.hotspots.seasons import counted, is_one_season, timing
from roadwatch.hotspots.shrinkage import (
    RatePrior,
    Ratio,
    count_interval,
    draw_ratios,
    fit_prior,
    posterior,
    posterior_ratio,
)

if TYPE_CHECKING:
    from roadwatch.hotspots.baseline import Baseline
    from roadwatch.hotspots.carcasses import CarcassTrial
    from roadwatch.hotspots.clusters import Run
    from roadwatch.hotspots.evidence import Evidence
    from roadwatch.hotspots.study import Study
    from roadwatch.roads.arrays import FloatArray, IntArray

ENOUGH_ANIMALS, ENOUGH_DATES, ENOUGH_OBSERVERS, ENOUGH_YEARS = 3, 2, 2, 2
"""A hotspot of fewer animals or dates, or of one observer in one year, is provisional (a convention)."""

COLUMNS = [
    "rank",
    "rank_low",
    "rank_high",
    "road",
    "road_part",
    "from_m",
    "to_m",
    "length_m",
    "longitude_from",
    "latitude_from",
    "longitude_to",
    "latitude_to",
    "status",
    "deaths",
    "deaths_low",
    "deaths_high",
    "expected",
    "ratio",
    "ratio_low",
    "ratio_high",
    "p_value",
    "p_local",
    "basis",
    "events",
    "animals",
    "years_present",
    "years_searched",
    "deaths_per_km_year",
    "deaths_per_km_year_low",
    "deaths_per_km_year_high",
    "killed_per_km_year",
    "killed_per_km_year_low",
    "killed_per_km_year_high",
    "share_of_deaths",
    "one_season",
    "support",
    "stands_at_widths",
    "half_width_m",
    "stands_at_all_widths",
    "leaves_without_observer",
    "leaves_without_repeats",
    "window_from",
    "window_to",
    "window_days",
    "hour_from",
    "hour_to",
    "sexes",
    "stages",
    "cluster",
    "route_id",
    "milepost_from",
    "milepost_to",
    "milepost_unit",
    "why_no_milepost",
    "agency",
    "geometry",
]


COUNTED = {"sexes": "sex", "stages": "life_stage"}
"""Columns of the table that count the words of a column of the records."""

ASKED_OF_RECORDS = (
    *("record_id", "stretch", "weight", "count", "year", "date", "observed_at", "observer"),
    *COUNTED.values(),
)
"""Columns of the records that a row of the table is made of; the others are not copied for every run."""

RANK_DRAWS = 2000
"""Draws of all ratios from which the intervals of the ranks are read."""


@dataclass(frozen=True)
class Doubts:
    """
    What is asked of each hotspot beside its counts.

    Parameters
    ----------
    evidence
        Records and scatterings, to ask what would be without some records; None asks nothing of it.
    trial
        Persistence and finding of carcasses; None leaves deaths as recorded.
    named
        The search in sets of drawn names; None where names play no part.
    """

    evidence: Evidence | None = None
    trial: CarcassTrial | None = None
    named: NamedDraws | None = None


def rank_hotspots(
    runs: list[Run], study: Study, *, rng: np.random.Generator, doubts: Doubts | None = None, status: str = ""
) -> gpd.GeoDataFrame:
    """
    Describe runs and put those with most deaths beyond the expected first.

    The ratio is shrunk by a prior learnt from 500 m sections of the whole network, and the rank is by
    what the shrunk ratio leaves beyond the baseline, (ratio - 1) x expected: raw ratios of places that were picked
    because they stand out are too high.

    Parameters
    ----------
    runs
        The runs found.
    study
        Records, roads and baseline.
    rng
        Source of chance for the intervals of the ranks.
    doubts
        What else is asked of each.
    status
        Status of all rows; without it each is ``confirmed`` or ``provisional``.

    Returns
    -------
    One row a run in WGS 84, columns ``COLUMNS``. ``deaths`` are weighted records, ``events`` records, ``animals`` the
    sum of their counts. ``rank_low`` to ``rank_high`` holds the rank with a probability of 95 %. ``milepost_from`` is
    the milepost at ``from_m``, so it may be the larger one.

    Source
    ------
    dumouchel1999
    """
    study = replace(study, records=study.records[[name for name in ASKED_OF_RECORDS if name in study.records]])
    prior = fit_prior(*_sections(study))
    asked = doubts or Doubts()
    rows = [
        _row(run, study, status or _status(run, runs, study, asked), prior, asked, rng) | place
        for run, place in zip(runs, places_of(runs, study), strict=True)
    ]
    table = pd.DataFrame(rows, columns=[name for name in COLUMNS if not name.startswith("rank")])
    beyond = (table["ratio"] - 1.0) * table["expected"]
    order = np.lexsort((table["p_value"], -beyond, table["status"] != "confirmed"))
    table = table.iloc[order].reset_index(drop=True)
    table.insert(0, "rank", np.arange(1, len(rows) + 1))
    table["rank_low"], table["rank_high"] = _rank_interval(table, prior, rng)
    table = table[COLUMNS]
    table["years_searched"] = table["years_searched"].astype("Int64")
    located = gpd.GeoDataFrame(table, geometry="geometry", crs=study.network.crs)
    return located.to_crs("EPSG:4326")


def _sections(study: Study) -> tuple[FloatArray, FloatArray]:
    """Weighted records and expectation of each section of the network."""
    section = study.section()
    deaths = np.bincount(section, study.deaths()).astype(np.float64)
    return deaths, np.bincount(section, study.expected).astype(np.float64)


def _status(run: Run, runs: list[Run], study: Study, asked: Doubts) -> str:
    """Confirmed, or provisional where the whole cluster rests on too few animals, days, people, years or names."""
    record = np.concatenate([other.record for other in runs if other.cluster == run.cluster])
    held = study.records.iloc[record]
    certain = sum(study.deaths_in(other) for other in runs if other.cluster == run.cluster)
    enough = (
        min(study.n_animals(record), round(certain)) >= ENOUGH_ANIMALS
        and held["date"].nunique() >= ENOUGH_DATES
        and (held["observer"].nunique() >= ENOUGH_OBSERVERS or held["year"].nunique() >= ENOUGH_YEARS)
        and (asked.named is None or asked.named.support(run) >= LEAST_SUPPORT)
    )
    return "confirmed" if enough else "provisional"


def _rank_interval(table: pd.DataFrame, prior: RatePrior, rng: np.random.Generator) -> tuple[IntArray, IntArray]:
    """Ranks that hold each row's with a probability of 95 %, by draws of all ratios; within its own status."""
    low, high = np.zeros(len(table), dtype=np.int64), np.zeros(len(table), dtype=np.int64)
    before = 0
    for _, of_status in table.groupby("status", sort=False):
        beyond = np.array(
            [
                e * (draw_ratios(posterior(x, e, prior=prior), rng, n_draws=RANK_DRAWS) - 1.0)
                for x, e in zip(of_status["deaths"], of_status["expected"], strict=True)
            ]
        )
        rank = before + 1 + np.argsort(np.argsort(-beyond, axis=0, kind="stable"), axis=0)
        at = of_status.index.to_numpy()
        low[at], high[at] = np.quantile(rank, [0.025, 0.975], axis=1, method="nearest").astype(np.int64)
        before += len(of_status)
    return low, high


def _row(
    run: Run, study: Study, status: str, prior: RatePrior, asked: Doubts, rng: np.random.Generator
) -> dict[str, object]:
    held = study.records.iloc[run.record]
    deaths = study.deaths_in(run)
    expected = float((study.expected[run.stretch] * _share_inside(run, study.table)).sum())
    ratio, (least, most), support = _with_names(run, deaths, expected, prior, asked.named, rng)
    km_years = (run.to_m - run.from_m) / 1000.0 * study.n_years()
    return {
        "road": run.road,
        "road_part": run.road_part,
        "from_m": run.from_m,
        "to_m": run.to_m,
        "length_m": run.to_m - run.from_m,
        "status": status,
        "deaths": deaths,
        "deaths_low": least,
        "deaths_high": most,
        "expected": expected,
        "ratio": ratio.mean,
        "ratio_low": ratio.low,
        "ratio_high": ratio.high,
        "p_value": run.p_value,
        "p_local": run.p_local,
        "basis": study.baseline.basis,
        "events": int(held["record_id"].nunique()),
        "animals": study.n_animals(run.record),
        "years_present": int(held["year"].nunique()),
        "years_searched": _years_searched(run, study.baseline),
        "deaths_per_km_year": deaths / km_years,
        "deaths_per_km_year_low": least / km_years,
        "deaths_per_km_year_high": most / km_years,
        "share_of_deaths": deaths / float(study.records["weight"].sum()),
        "cluster": run.cluster,
        "support": support,
        "one_season": is_one_season(*study.by_year(run)),
        **{name: counted(held[column]) for name, column in COUNTED.items() if column in held},
        **timing(held),
        **(asked.evidence.of_run(run) if asked.evidence else {}),
        **_killed(deaths, km_years, asked.trial, rng),
    }


def _with_names(
    run: Run, deaths: float, expected: float, prior: RatePrior, named: NamedDraws | None, rng: np.random.Generator
) -> tuple[Ratio, tuple[float, float], float]:
    """Ratio, interval of the deaths, and support; wider where names are uncertain."""
    if named is None:
        return posterior_ratio(deaths, expected, prior=prior), count_interval(deaths), float("nan")
    pooled = named.deaths_in(run)
    interval = pooled_interval(deaths, max(deaths + pooled.total - pooled.within, 1e-9))
    return named.ratio_in(run, expected, prior=prior, rng=rng), interval, named.support(run)


def _killed(deaths: float, km_years: float, trial: CarcassTrial | None, rng: np.random.Generator) -> dict[str, float]:
    """Animals killed per kilometre and year, gone and overlooked carcasses counted, where a trial tells how many."""
    if trial is None:
        return {}
    names = ("killed_per_km_year", "killed_per_km_year_low", "killed_per_km_year_high")
    return {name: value / km_years for name, value in zip(names, killed_interval(deaths, trial, rng), strict=True)}


def _years_searched(run: Run, baseline: Baseline) -> int | None:
    """Years in which any of the run was searched; None where effort is not known by year."""
    if baseline.effort_by_year is None:
        return None
    return int((baseline.effort_by_year[:, run.stretch] > 0.0).any(axis=1).sum())


def _share_inside(run: Run, table: gpd.GeoDataFrame) -> FloatArray:
    """(k,) Share of each touched stretch that lies within the run."""
    from_m, to_m = table["from_m"].to_numpy()[run.stretch], table["to_m"].to_numpy()[run.stretch]
    return np.asarray((np.minimum(to_m, run.to_m) - np.maximum(from_m, run.from_m)) / (to_m - from_m))
