"""The whole question: where do more records lie than the baseline explains?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import UsageError
from roadwatch.hotspots.assembly import assemble
from roadwatch.hotspots.ceilings import Ceiling
from roadwatch.hotspots.clusters import Run, connected_stretches, find_clusters, stretch_links
from roadwatch.hotspots.density import kernel_matrices, lost_mass, wave_notes
from roadwatch.hotspots.evidence import Evidence
from roadwatch.hotspots.named_draws import NamedDraws, search_drawn_names
from roadwatch.hotspots.notes import WATCH_P, Question, has_enough, write_notes
from roadwatch.hotspots.ranking import Doubts, rank_hotspots
from roadwatch.hotspots.stepdown import combined, step_down

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    import geopandas as gpd
    import pandas as pd
    from scipy import sparse

    from roadwatch.hotspots.carcasses import CarcassTrial
    from roadwatch.hotspots.null import NullResult, Scatter
    from roadwatch.hotspots.paths import Split
    from roadwatch.hotspots.stepdown import Round
    from roadwatch.hotspots.study import Study
    from roadwatch.roads.arrays import BoolArray, FloatArray
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
        surprise p_value p_local support``; densities are weighted records per kilometre, p is blank where it was not
        tested, support is the share of sets of drawn names in which it stands out, blank where none were drawn.
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
    beside_m: Sequence[float] | None = None,
    kernel: str = "epanechnikov",
    split: Split = "continuous",
    n_draws: int = 999,
    trial: CarcassTrial | None = None,
    is_of: BoolArray | None = None,
    kernels: Sequence[sparse.csr_array] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> HotspotResult:
    """
    Find where more records lie than the baseline explains, and say how sure that is.

    Parameters
    ----------
    network, stretches
        The roads and the stretches they are cut into.
    records
        One row a record: ``edge offset_m weight year date observer``, and ``record_id count observed_at sex life_stage
        identity`` where known. A record that may lie at several places is several rows of one ``record_id`` whose
        weights add up to its own; the scatterings move it whole. With searches give only the records made on a search;
        a chance find has no effort to compare with.
    effort_km
        (s,) Kilometres searched on each stretch, nan where unknown; or such an array for each year; or None.
    rng
        Source of chance.
    exposure
        (s,) What else the baseline shall explain; nan where unknown.
    beyond
        Name of what the baseline explains, for the notes. ``traffic`` fits a curve of the layer's ``traffic_per_day``
        and lets it explain what it can, its uncertainty included.
    half_width_m, kernel, split
        Reach and form of the kernel whose density is told, and how nodes share it out.
    beside_m
        Other half-widths that are tested with it; the error is held over all. None takes half and twice the first.
    n_draws
        Number of scatterings; 19, 99, 199 or 999 make p exact at 5 %.
    trial
        Persistence and finding of carcasses, for rates of animals killed; it does not enter the test.
    is_of
        (sets, r) True where a row's record is of the taxon asked for, in sets of drawn names; the records then have
        ``identity``. What stands out in fewer than half of the sets is provisional.
    kernels
        The matrices of the half-width and of those beside it, where ``kernel_matrices`` made them before; None makes
        them.
    progress
        Called with the scatterings done and those in all.

    Raises
    ------
    NotEnoughDataError
        There are fewer than five usable records, no roads, no searched road, or traffic on too little of it.
    UsageError
        A column is missing, the kernel or split is not known, or there are fewer than 19 scatterings.

    Source
    ------
    okabe2009, kulldorff1997, besag_diggle1977
    """
    if n_draws < 19:
        raise UsageError(f"{n_draws} draws cannot show 5 %; ask for at least 19, better 999")
    widths = (half_width_m, *((half_width_m / 2, half_width_m * 2) if beside_m is None else beside_m))
    records = records.assign(row=np.arange(len(records)))
    made = assemble(network, stretches, records, effort_km=effort_km, exposure=exposure, beyond=beyond)
    if kernels is None:
        kernels = kernel_matrices(network, stretches, half_widths_m=widths, kernel=kernel, split=split)
    links = stretch_links(network, stretches)
    enough = has_enough(made.study)

    def mark(null: NullResult) -> BoolArray:
        return _marked(null.p_by_kernel <= (CONFIRMED_P if enough else 0.0), widths, links)

    roofs = [Ceiling.of(one) for one in kernels]
    rounds = step_down(
        made.scatter, kernels=kernels, mark=mark, n_draws=n_draws, rng=rng, progress=progress, ceilings=roofs
    )
    null = combined(rounds)
    named = None
    if is_of is not None and rounds[0].marked.any():
        sets = is_of[:, made.study.records["row"].to_numpy()]
        named = search_drawn_names(
            made.study, made.scatter, sets, kernels=kernels, mark=mark, n_draws=n_draws, rng=rng, ceilings=roofs
        )
    doubts = Doubts(Evidence(made.study.records, null, tuple(rounds), widths, CONFIRMED_P), trial, named)
    runs, watched = _runs(made.study, null, np.any([one.marked for one in rounds], axis=0), widths)
    hotspots = rank_hotspots(runs, made.study, rng=rng, doubts=doubts)
    watch_list = rank_hotspots(watched, made.study, rng=rng, doubts=Doubts(None, trial), status=WATCH_LIST)
    waved = wave_notes(network, stretches, half_widths_m=widths)
    lost = None if split == "continuous" else _lost_share(made.scatter, kernels[0], stretches.length_m)
    asked = Question(beyond, widths, kernel, n_draws, lost, _standing_m(made.study, null, rounds))
    question, *told = write_notes(asked, made.study, hotspots=hotspots, watch_list=watch_list)
    return HotspotResult(
        hotspots=hotspots,
        stretches=_stretch_results(made.study, null, named),
        watch_list=watch_list,
        notes=(*made.left_out, question, *made.notes, *told, *waved),
        null=null,
    )


def _lost_share(scatter: Scatter, kernel: sparse.csr_array, length_m: FloatArray) -> float:
    """Share of the records' weight that falls off the network."""
    seen = scatter.observed()
    return float(seen @ lost_mass(kernel, length_m) / seen.sum())


def _runs(
    study: Study, null: NullResult, is_confirmed: BoolArray, widths: tuple[float, ...]
) -> tuple[list[Run], list[Run]]:
    """Runs that hold over the whole map, and runs apart from them that stand out on their own."""
    stands = null.p_by_kernel <= CONFIRMED_P
    reach_m = np.where(stands, np.array(widths)[:, None], np.inf).min(axis=0)
    confirmed = _clusters(is_confirmed, study, null, reach_m)
    taken = {record for run in confirmed for record in run.record}
    told_m = np.full(len(is_confirmed), widths[0])
    alone = _clusters((null.p_local <= WATCH_P) & ~is_confirmed, study, null, told_m)
    watched = []
    for cluster in {run.cluster for run in alone}:
        runs = [run for run in alone if run.cluster == cluster]
        records = np.unique(np.concatenate([run.record for run in runs]))
        is_apart = not taken.intersection(records) and not any(_meet(run, other) for run in runs for other in confirmed)
        if len(records) >= LEAST_ON_WATCH and is_apart:
            watched += runs
    return confirmed, watched


def _meet(run: Run, other: Run) -> bool:
    """Whether two runs share a metre of road: what is a hotspot is not on the watch list too."""
    is_same = (run.road, run.road_part) == (other.road, other.road_part)
    return is_same and run.from_m <= other.to_m and other.from_m <= run.to_m


def _marked(stands: BoolArray, widths: tuple[float, ...], links: sparse.csr_array) -> BoolArray:
    """
    Stretches that make a hotspot, of those that stand out at each width.

    A wider kernel than the first carries a hotspot's records far along the road: it adds only places that hang together
    with no other.
    """
    marked = np.asarray(stands[[width <= widths[0] for width in widths]].any(axis=0))
    for number in sorted(range(len(widths)), key=lambda number: widths[number]):
        if widths[number] > widths[0]:
            label = connected_stretches(stands[number] | marked, links)
            marked = marked | (stands[number] & ~np.isin(label, label[marked]))
    return marked


def _clusters(marked: BoolArray, study: Study, null: NullResult, reach_m: FloatArray) -> list[Run]:
    """Runs of marked stretches, trimmed to the likeliest places of the records."""
    main = np.flatnonzero(study.records["is_main"])
    runs = find_clusters(
        marked,
        network=study.network,
        stretches=study.stretches,
        table=study.table,
        record_stretch=study.records["stretch"].to_numpy()[main],
        record_m=study.records["road_m"].to_numpy()[main],
        null=null,
        reach_m=reach_m,
    )
    return [replace(run, record=main[run.record]) for run in runs]


def _standing_m(study: Study, null: NullResult, rounds: Sequence[Round]) -> float:
    """Metres of road outside hotspots whose own p is small."""
    found = np.any([one.marked for one in rounds], axis=0)
    return float(study.stretches.length_m[(null.p_local <= WATCH_P) & ~found].sum())


def _stretch_results(study: Study, null: NullResult, named: NamedDraws | None) -> gpd.GeoDataFrame:
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
        support=np.nan if named is None else named.support_by_stretch(),
    )
    located: gpd.GeoDataFrame = found.to_crs("EPSG:4326")
    return located
