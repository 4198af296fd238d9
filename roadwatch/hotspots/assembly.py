"""Roads, records, search and traffic put together into one study."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from roadwatch.hotspots.baseline import check_columns, make_baseline, usable_records
from roadwatch.hotspots.null import Scatter
from roadwatch.hotspots.study import Study
from roadwatch.hotspots.traffic import TrafficBaseline, road_classes, traffic_baseline
from roadwatch.roads.carriageways import Carriageways, find_carriageways
from roadwatch.roads.reference import points_on_edges, road_measure
from roadwatch.roads.stretches import stretch_table

if TYPE_CHECKING:
    import pandas as pd

    from roadwatch.hotspots.baseline import Baseline
    from roadwatch.roads.arrays import FloatArray, IntArray
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches

TRAFFIC = "traffic"
"""The baseline that explains what a fitted traffic curve explains."""


@dataclass(frozen=True)
class Assembly:
    """
    A study ready for scattering.

    Parameters
    ----------
    study
        Roads, records used and baseline.
    scatter
        The records and where they could as well have been.
    left_out
        Records left out, in words.
    notes
        What traffic explains and which carriageways were taken together, in words.
    """

    study: Study
    scatter: Scatter
    left_out: tuple[str, ...]
    notes: tuple[str, ...]


def assemble(
    network: Network,
    stretches: Stretches,
    records: pd.DataFrame,
    *,
    effort_km: FloatArray | Mapping[int, FloatArray] | None,
    exposure: FloatArray | None,
    beyond: str,
) -> Assembly:
    """
    Put a study together; see ``find_hotspots`` for what goes in.

    Parameters
    ----------
    network, stretches, records, effort_km, exposure, beyond
        As in ``find_hotspots``.

    Raises
    ------
    NotEnoughDataError
        There are fewer than five usable records, no roads, no searched road, or traffic on too little of it.
    UsageError
        A column is missing.
    """
    check_columns(records)
    ways = find_carriageways(network, stretches)
    length_m = np.where(ways.is_double, 0.0, stretches.length_m)
    effort = _joined(effort_km, ways)
    baseline = make_baseline(length_m, effort, exposure)
    edge, offset_m = records["edge"].to_numpy(dtype=np.int64), records["offset_m"].to_numpy(dtype=np.float64)
    edge, offset_m = ways.move(stretches.of_place(edge, offset_m), edge, offset_m)
    placed = records.assign(edge=edge, offset_m=offset_m)
    used, left_out = usable_records(placed, baseline, stretches.of_place(edge, offset_m))
    table = stretch_table(network, stretches)
    scatter = replace(_scatter(used, baseline), order=_order(table))
    study = Study(network, stretches, table, _completed(used, network), baseline, scatter.expected())
    if beyond != TRAFFIC:
        return Assembly(study, scatter, tuple(left_out), ways.notes)
    traffic = _traffic(study, length_m)
    factor = traffic.factor if exposure is None else traffic.factor * exposure
    explained = make_baseline(length_m, effort, factor)
    scatter = replace(_scatter(used, explained), tilt=traffic.tilt, order=scatter.order)
    study = replace(study, baseline=explained, expected=scatter.expected())
    return Assembly(study, scatter, tuple(left_out), (*traffic.notes, *ways.notes))


def _joined(
    effort_km: FloatArray | Mapping[int, FloatArray] | None, ways: Carriageways
) -> FloatArray | dict[int, FloatArray] | None:
    """Effort with carriageways taken together."""
    if effort_km is None:
        return None
    if isinstance(effort_km, Mapping):
        return {year: ways.join(km) for year, km in effort_km.items()}
    return ways.join(effort_km)


def _scatter(used: pd.DataFrame, baseline: Baseline) -> Scatter:
    return Scatter(
        used["stretch"].to_numpy(dtype=np.int64),
        used["weight"].to_numpy(dtype=np.float64),
        used["stratum"].to_numpy(dtype=np.int64),
        baseline.chance,
        used["record"].to_numpy(dtype=np.int64),
    )


def _order(table: pd.DataFrame) -> IntArray:
    """(n,) Stretches by road, part and metre: the same places in the same order however the roads were drawn."""
    road = table["road"].astype(str).to_numpy()
    return np.lexsort((table["from_m"].to_numpy(), table["road_part"].to_numpy(), road)).astype(np.int64)


def _completed(used: pd.DataFrame, network: Network) -> pd.DataFrame:
    """Records with road and metre, and one animal each where no count is given."""
    edge = used["edge"].to_numpy(dtype=np.int64)
    road, part, road_m = road_measure(network, edge, used["offset_m"].to_numpy(dtype=np.float64))
    count = used["count"].fillna(1) if "count" in used else 1
    return used.assign(road=road, road_part=part, road_m=road_m, count=count)


def _traffic(study: Study, length_m: FloatArray) -> TrafficBaseline:
    """The traffic curve of a study whose baseline explains search alone."""
    edge = study.stretches.edge
    points = points_on_edges(study.network, edge, study.stretches.start_m + study.stretches.length_m / 2.0)
    edges = study.network.edges
    return traffic_baseline(
        study.deaths(),
        study.expected,
        traffic=edges["traffic_per_day"].to_numpy(dtype=np.float64)[edge],
        road_class=road_classes(edges)[edge],
        length_m=length_m,
        section=study.section(),
        x_m=shapely.get_x(points),
        y_m=shapely.get_y(points),
    )
