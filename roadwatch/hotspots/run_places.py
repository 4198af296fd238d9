"""Where a hotspot lies: its ends, its mileposts, who keeps the road, and its line."""

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


def place_of(run: Run, study: Study) -> dict[str, object]:
    """
    Ends in degrees, mileposts and their unit, who keeps the road, and the line.

    Parameters
    ----------
    run
        The run.
    study
        The roads on which it lies.
    """
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
