"""Where hotspots lie: their ends, their mileposts, who keeps the road, and their lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import shapely
from shapely.ops import substring

from roadwatch.roads.reference import find_on_road, milepost, points_on_edges

if TYPE_CHECKING:
    from roadwatch.hotspots.clusters import Run
    from roadwatch.hotspots.study import Study
    from roadwatch.roads.arrays import FloatArray, IntArray, TextArray


def places_of(runs: list[Run], study: Study) -> list[dict[str, object]]:
    """
    Ends in degrees, mileposts and their unit, who keeps the road, and the line, of all runs at once.

    Parameters
    ----------
    runs
        The runs.
    study
        The roads on which they lie.

    Returns
    -------
    One row a run.
    """
    if not runs:
        return []
    edge, offset_m = _ends(runs, study)
    points = gpd.GeoSeries(points_on_edges(study.network, edge, offset_m), crs=study.network.crs).to_crs("EPSG:4326")
    longitude, latitude = points.x.to_numpy().reshape(-1, 2), points.y.to_numpy().reshape(-1, 2)
    posts = milepost(study.network, edge, offset_m)
    value, reason = posts.value.reshape(-1, 2), posts.reason.reshape(-1, 2)
    first = [run.stretch[0] for run in runs]
    route, agency = (study.table[name].iloc[first].tolist() for name in ("route_id", "agency"))
    return [
        {
            "longitude_from": longitude[row, 0],
            "latitude_from": latitude[row, 0],
            "longitude_to": longitude[row, 1],
            "latitude_to": latitude[row, 1],
            "route_id": route[row],
            "milepost_from": float(value[row, 0]),
            "milepost_to": float(value[row, 1]),
            "milepost_unit": posts.unit[2 * row],
            "why_no_milepost": reason[row, 0] or reason[row, 1],
            "agency": agency[row],
            "geometry": line,
        }
        for row, line in enumerate(_lines(runs, study))
    ]


def _ends(runs: list[Run], study: Study) -> tuple[IntArray, FloatArray]:
    """(2 runs,), (2 runs,) Edge and offset of the start and the end of each run."""
    edges = study.network.edges
    own = edges.groupby(["road", "road_part"], sort=False).indices
    found = [
        find_on_road(
            study.network,
            run.road,
            np.array([run.from_m, run.to_m]),
            road_part=run.road_part,
            own=own.get((run.road, run.road_part)),
        )
        for run in runs
    ]
    return np.concatenate([edge for edge, _ in found]), np.concatenate([offset_m for _, offset_m in found])


def _lines(runs: list[Run], study: Study) -> list[shapely.Geometry]:
    """Each run's line, joined where its pieces meet end to end."""
    is_reversed = study.network.edges["road_reversed"].to_numpy(dtype=bool)
    shapes: TextArray = study.table.geometry.to_numpy()
    bounds_m = study.table["from_m"].to_numpy(), study.table["to_m"].to_numpy()
    return [_line(run, shapes, bounds_m, is_reversed[study.stretches.edge[run.stretch]]) for run in runs]


def _line(
    run: Run, shapes: TextArray, bounds_m: tuple[FloatArray, FloatArray], is_reversed: np.ndarray
) -> shapely.Geometry:
    """The line of one run, of the shapes of all stretches and where they begin and end."""
    from_m, to_m = (bound_m[run.stretch] for bound_m in bounds_m)
    low = (np.maximum(run.from_m, from_m) - from_m) / (to_m - from_m)
    high = (np.minimum(run.to_m, to_m) - from_m) / (to_m - from_m)
    pieces = shapes[run.stretch]
    pieces = np.where(is_reversed, shapely.reverse(pieces), pieces)
    for cut in np.flatnonzero((low > 0.0) | (high < 1.0)):
        pieces[cut] = substring(pieces[cut], low[cut], high[cut], normalized=True)
    return shapely.line_merge(shapely.union_all(pieces)) if len(pieces) > 1 else pieces[0]
