"""The whole question: where do more records lie than the baseline explains?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import UsageError
from roadwatch.hotspots.baseline import check_columns, make_baseline, usable_records
from roadwatch.hotspots.clusters import Run, find_clusters
from roadwatch.hotspots.density import kernel_matrix
from roadwatch.hotspots.notes import ENOUGH_RECORDS, WATCH_P, Question, write_notes
from roadwatch.hotspots.null import NullResult, Scatter, compare_with_scatterings
from roadwatch.hotspots.ranking import Study, rank_hotspots
from roadwatch.roads.reference import road_measure
from roadwatch.roads.stretches import stretch_table

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    import geopandas as gpd
    import pandas as pd

    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches

CONFIRMED_P = 0.05
"""Largest p over the whole map at which a hotspot is confirmed."""

WATCH_LIST = "watch list"

LEAST_ON_WATCH = 2
"""A place goes on the watch list for no fewer records: one record alone always stands out where it lies."""


@dataclass(frozen=True)
class HotspotResult:
    """
    What was found, and how.

    Parameters
    ----------
    hotspots
        Confirmed and provisional hotspots, ranked, WGS 84; columns ``ranking.COLUMNS``.
    stretches
        One row a stretch, WGS 84: ``stretch_id road road_part from_m to_m deaths effort_km density expected_density
        surprise p_value p_local``; densities are weighted records per kilometre, p is blank where it was not tested.
    watch_list
        Places that stand out on their own only, same columns, status ``watch list``.
    notes
        Plain sentences: the question, the records, the method, and what to doubt.
    null
        The observed surprise and that of every scattering.
    """

    hotspots: gpd.GeoDataFrame
    stretches: gpd.GeoDataFrame
    watch_list: gpd.GeoDataFrame
    notes: tuple[str, ...]
    null: NullResult


def find_hotspots(
    network: Network,
    stretches: Stretches,
    records: pd.DataFrame,
    *,
    effort_km: FloatArray | Mapping[int, FloatArray] | None,
    rng: np.random.Generator,
    exposure: FloatArray | None = None,
    beyond: str = "search",
    half_width_m: float = 300.0,
    kernel: str = "epanechnikov",
    n_draws: int = 999,
    progress: Callable[[int, int], None] | None = None,
) -> HotspotResult:
    """
    Find where more records lie than the baseline explains, and say how sure that is.

    Parameters
    ----------
    network, stretches
        The roads and the stretches they are cut into.
    records
        One row a record: ``edge offset_m weight year date observer``, and ``record_id count`` where known. A record
        that may lie on either of two roads is two rows of one ``record_id`` whose weights add up to its own. With
        searches give only the records made on a search; a chance find has no effort to compare with.
    effort_km
        (s,) Kilometres searched on each stretch, nan where unknown; or such an array for each year; or None.
    rng
        Source of chance.
    exposure
        (s,) What else the baseline shall explain, such as traffic; nan where unknown.
    beyond
        Name of what the baseline explains, for the notes.
    half_width_m, kernel
        Reach and form of the kernel.
    n_draws
        Number of scatterings; 19, 99, 199 or 999 make p exact at 5 %.
    progress
        Called with the scatterings done and those in all.

    Raises
    ------
    NotEnoughDataError
        There are fewer than five usable records, no roads, or no searched road.
    UsageError
        A column is missing, the kernel is not known, or there are fewer than 19 scatterings.

    Source
    ------
    okabe2009, kulldorff1997, besag_diggle1977
    """
    if n_draws < 19:
        raise UsageError(f"{n_draws} draws cannot show 5 %; ask for at least 19, better 999")
    baseline = make_baseline(stretches.length_m, effort_km, exposure)
    used, left_out = usable_records(records, baseline, stretches.of_place(*_places(records)))
    used = _completed(used, network)
    scatter = Scatter(
        used["stretch"].to_numpy(), used["weight"].to_numpy(), used["stratum"].to_numpy(), baseline.chance
    )
    spread = kernel_matrix(network, stretches, half_width_m=half_width_m, kernel=kernel)
    null = compare_with_scatterings(scatter, kernel=spread, n_draws=n_draws, rng=rng, progress=progress)
    study = Study(network, stretches, stretch_table(network, stretches), used, baseline, scatter.expected())
    runs, watched = _runs(study, null, half_width_m)
    hotspots = rank_hotspots(runs, study)
    watch_list = rank_hotspots(watched, study, status=WATCH_LIST)
    asked = Question(beyond=beyond, half_width_m=half_width_m, kernel=kernel, n_draws=n_draws)
    return HotspotResult(
        hotspots=hotspots,
        stretches=_stretch_results(study, null),
        watch_list=watch_list,
        notes=(*left_out, *write_notes(asked, study, hotspots=hotspots, watch_list=watch_list)),
        null=null,
    )


def _places(records: pd.DataFrame) -> tuple[IntArray, FloatArray]:
    check_columns(records)
    return records["edge"].to_numpy(dtype=np.int64), records["offset_m"].to_numpy(dtype=np.float64)


def _completed(used: pd.DataFrame, network: Network) -> pd.DataFrame:
    """Records with their metre along the road, one animal each where no count is given, and a name each."""
    _, _, road_m = road_measure(network, used["edge"].to_numpy(dtype=np.int64), used["offset_m"].to_numpy())
    count = used["count"].fillna(1) if "count" in used else 1
    name = used["record_id"] if "record_id" in used else np.arange(len(used))
    return used.assign(road_m=road_m, count=count, record_id=name)


def _runs(study: Study, null: NullResult, half_width_m: float) -> tuple[list[Run], list[Run]]:
    """Runs that hold over the whole map, and runs apart from them that stand out on their own."""
    is_confirmed = (null.p_value <= CONFIRMED_P) & (study.n_events() >= ENOUGH_RECORDS)
    confirmed = _clusters(is_confirmed, study, null, half_width_m)
    taken = {record for run in confirmed for record in run.record}
    alone = _clusters((null.p_local <= WATCH_P) & ~is_confirmed, study, null, half_width_m)
    watched = []
    for cluster in {run.cluster for run in alone}:
        runs = [run for run in alone if run.cluster == cluster]
        records = np.unique(np.concatenate([run.record for run in runs]))
        n_events = study.records["record_id"].iloc[records].nunique()
        if n_events >= LEAST_ON_WATCH and not taken.intersection(records):
            watched += runs
    return confirmed, watched


def _clusters(marked: BoolArray, study: Study, null: NullResult, half_width_m: float) -> list[Run]:
    return find_clusters(
        marked,
        network=study.network,
        stretches=study.stretches,
        table=study.table,
        record_stretch=study.records["stretch"].to_numpy(),
        record_m=study.records["road_m"].to_numpy(),
        null=null,
        half_width_m=half_width_m,
    )


def _stretch_results(study: Study, null: NullResult) -> gpd.GeoDataFrame:
    """One row a stretch, with what was seen, expected and tested there."""
    effort_km = study.baseline.effort_km
    columns = ["stretch_id", "road", "road_part", "from_m", "to_m"]
    found = study.table[[*columns, "geometry"]].assign(
        deaths=study.deaths(),
        effort_km=np.nan if effort_km is None else effort_km,
        density=1000.0 * null.density,
        expected_density=1000.0 * null.expected_density,
        surprise=null.surprise,
        p_value=null.p_value,
        p_local=null.p_local,
    )
    located: gpd.GeoDataFrame = found.to_crs("EPSG:4326")
    return located
