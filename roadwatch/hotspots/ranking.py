"""The ranked table: each run with its records, what was expected, and how sure the ratio is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely.ops import substring

from roadwatch.hotspots.shrinkage import RatePrior, count_interval, fit_prior, posterior_ratio
from roadwatch.roads.reference import find_on_road, milepost, points_on_edges

if TYPE_CHECKING:
    from roadwatch.hotspots.baseline import Baseline
    from roadwatch.hotspots.clusters import Run
    from roadwatch.roads.arrays import FloatArray, IntArray
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches

SECTION_M = 500.0
"""Length of road on which the spread of rates over the network is measured."""

ENOUGH_ANIMALS, ENOUGH_DATES, ENOUGH_OBSERVERS, ENOUGH_YEARS = 3, 2, 2, 2
"""A hotspot of fewer animals or dates, or of one observer in one year, is provisional (a convention)."""

COLUMNS = [
    "rank",
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
    "share_of_deaths",
    "cluster",
    "route_id",
    "milepost_from",
    "milepost_to",
    "milepost_unit",
    "why_no_milepost",
    "agency",
    "geometry",
]


@dataclass(frozen=True)
class Study:
    """
    What a ranking needs to know beside the runs.

    Parameters
    ----------
    network, stretches, table
        The roads, their n stretches, and the stretches' table.
    records
        Records used: ``edge offset_m weight year date observer count record_id stretch stratum road_m``.
    baseline
        Where records were to be expected.
    expected
        (n,) Weighted records expected on each stretch.
    """

    network: Network
    stretches: Stretches
    table: gpd.GeoDataFrame
    records: pd.DataFrame
    baseline: Baseline
    expected: FloatArray

    def deaths(self) -> FloatArray:
        """(n,) Weighted records on each stretch."""
        found = np.bincount(self.records["stretch"], self.records["weight"], len(self.expected))
        return found.astype(np.float64)

    def n_events(self) -> int:
        """Records used; one that may lie on either of two roads counts once."""
        return int(self.records["record_id"].nunique())

    def n_animals(self, rows: IntArray | None = None) -> int:
        """Animals of some or all records; of a record on two roads once."""
        records = self.records if rows is None else self.records.iloc[rows]
        return int(records.drop_duplicates("record_id")["count"].sum())

    def n_years(self) -> int:
        """Years of the study: those searched, or those with records where that is not known."""
        return len(self.baseline.years) or max(self.records["year"].nunique(), 1)


def rank_hotspots(runs: list[Run], study: Study, *, status: str = "") -> gpd.GeoDataFrame:
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
    status
        Status of all rows; without it each is ``confirmed`` or ``provisional``.

    Returns
    -------
    One row a run in WGS 84, columns ``COLUMNS``. ``deaths`` are weighted records, ``events`` records, ``animals`` the
    sum of their counts. ``milepost_from`` is the milepost at ``from_m``, so it may be the larger one.

    Source
    ------
    dumouchel1999
    """
    prior = fit_prior(*_sections(study))
    rows = [_row(run, study, status or _status(run, runs, study), prior) for run in runs]
    table = pd.DataFrame(rows, columns=COLUMNS[1:])
    beyond = (table["ratio"] - 1.0) * table["expected"]
    order = np.lexsort((table["p_value"], -beyond, table["status"] != "confirmed"))
    table = table.iloc[order].reset_index(drop=True)
    table.insert(0, "rank", np.arange(1, len(rows) + 1))
    table["years_searched"] = table["years_searched"].astype("Int64")
    located = gpd.GeoDataFrame(table, geometry="geometry", crs=study.network.crs)
    return located.to_crs("EPSG:4326")


def _sections(study: Study) -> tuple[FloatArray, FloatArray]:
    """Weighted records and expectation of each section of about 500 m, cut within each part of each road."""
    middle_m = (study.table["from_m"] + study.table["to_m"]) / 2.0
    section = study.table.groupby(["road", "road_part", (middle_m // SECTION_M)]).ngroup().to_numpy()
    deaths = np.bincount(section, study.deaths()).astype(np.float64)
    return deaths, np.bincount(section, study.expected).astype(np.float64)


def _status(run: Run, runs: list[Run], study: Study) -> str:
    """Confirmed, or provisional where the whole cluster rests on too few animals, days, people or years."""
    record = np.concatenate([other.record for other in runs if other.cluster == run.cluster])
    held = study.records.iloc[record]
    enough = (
        study.n_animals(record) >= ENOUGH_ANIMALS
        and held["date"].nunique() >= ENOUGH_DATES
        and (held["observer"].nunique() >= ENOUGH_OBSERVERS or held["year"].nunique() >= ENOUGH_YEARS)
    )
    return "confirmed" if enough else "provisional"


def _row(run: Run, study: Study, status: str, prior: RatePrior) -> dict[str, object]:
    held = study.records.iloc[run.record]
    deaths = float(held["weight"].sum())
    expected = float((study.expected[run.stretch] * _share_inside(run, study.table)).sum())
    ratio = posterior_ratio(deaths, expected, prior=prior)
    km_years = (run.to_m - run.from_m) / 1000.0 * study.n_years()
    least, most = count_interval(deaths)
    return {
        "road": run.road,
        "road_part": run.road_part,
        "from_m": run.from_m,
        "to_m": run.to_m,
        "length_m": run.to_m - run.from_m,
        "status": status,
        "deaths": deaths,
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
        **_where(run, study),
    }


def _years_searched(run: Run, baseline: Baseline) -> int | None:
    """Years in which any of the run was searched; None where effort is not known by year."""
    if baseline.effort_by_year is None:
        return None
    return int((baseline.effort_by_year[:, run.stretch] > 0.0).any(axis=1).sum())


def _share_inside(run: Run, table: gpd.GeoDataFrame) -> FloatArray:
    """(k,) Share of each touched stretch that lies within the run."""
    from_m, to_m = table["from_m"].to_numpy()[run.stretch], table["to_m"].to_numpy()[run.stretch]
    return np.asarray((np.minimum(to_m, run.to_m) - np.maximum(from_m, run.from_m)) / (to_m - from_m))


def _where(run: Run, study: Study) -> dict[str, object]:
    """Ends in degrees, mileposts and their unit, who keeps the road, and the line."""
    ends = np.array([run.from_m, run.to_m])
    edge, offset_m = find_on_road(study.network, run.road, ends, road_part=run.road_part)
    points = gpd.GeoSeries(points_on_edges(study.network, edge, offset_m), crs=study.network.crs).to_crs("EPSG:4326")
    posts = milepost(study.network, edge, offset_m)
    reasons = [reason for reason in posts.reason if reason]
    first = study.table.iloc[run.stretch[0]]
    return {
        "longitude_from": points.x.iloc[0],
        "latitude_from": points.y.iloc[0],
        "longitude_to": points.x.iloc[1],
        "latitude_to": points.y.iloc[1],
        "route_id": first["route_id"],
        "milepost_from": float(posts.value[0]),
        "milepost_to": float(posts.value[1]),
        "milepost_unit": posts.unit[0],
        "why_no_milepost": reasons[0] if reasons else "",
        "agency": first["agency"],
        "geometry": _line(run, study),
    }


def _line(run: Run, study: Study) -> shapely.Geometry:
    """The run's line, joined where its pieces meet end to end."""
    table = study.table.iloc[run.stretch]
    reverse = study.network.edges["road_reversed"].to_numpy(dtype=bool)[study.stretches.edge[run.stretch]]
    pieces = []
    for shape, from_m, to_m, backwards in zip(table.geometry, table["from_m"], table["to_m"], reverse, strict=True):
        along = shapely.reverse(shape) if backwards else shape
        low, high = (np.clip([run.from_m, run.to_m], from_m, to_m) - from_m) / (to_m - from_m)
        pieces.append(substring(along, low, high, normalized=True))
    return shapely.line_merge(shapely.union_all(pieces)) if len(pieces) > 1 else pieces[0]
