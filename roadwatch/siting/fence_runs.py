"""Chosen runs as rows: where each lies, what it averts, what it costs, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import shapely
from shapely.ops import substring

from roadwatch.roads.reference import find_on_road, milepost, points_on_edges

if TYPE_CHECKING:
    from roadwatch.roads.arrays import FloatArray
    from roadwatch.roads.network import Network
    from roadwatch.siting.fence_cells import FenceCells
    from roadwatch.siting.fence_problem import FenceProblem
    from roadwatch.siting.fence_table import Runs

COLUMNS = [
    *("run", "road", "road_part", "from_m", "to_m", "length_m", "deaths_per_year", "deaths_low", "deaths_high"),
    *("averted_per_year", "averted_low", "averted_high", "cost", "cost_per_averted", "cost_per_averted_low"),
    *(
        "cost_per_averted_high",
        "chosen_share",
        "passages",
        "longitude_from",
        "latitude_from",
        "longitude_to",
        "latitude_to",
    ),
    *("route_id", "milepost_from", "milepost_to", "milepost_unit", "why_no_milepost", "agency", "geometry"),
]


@dataclass(frozen=True)
class Outlook:
    """
    What is thought of a plan.

    Parameters
    ----------
    problem, drawn
        The question at its best guess, and under drawn rates and efficacies.
    share
        (c,) How often each cell was fenced when every draw got its own best plan.
    passages
        (c,) Passages within reach of each cell.
    """

    problem: FenceProblem
    drawn: FenceProblem
    share: FloatArray
    passages: FloatArray


def interval(values: FloatArray, *, coverage: float = 0.95) -> tuple[float, float]:
    """
    Bounds that hold the middle of some draws.

    Parameters
    ----------
    values
        (d,) Draws.
    coverage
        Share held.
    """
    tail = (1.0 - coverage) / 2.0
    low, high = np.quantile(values, [tail, 1.0 - tail])
    return float(low), float(high)


def describe_runs(runs: Runs, cells: FenceCells, network: Network, outlook: Outlook) -> gpd.GeoDataFrame:
    """
    Describe runs, the one that averts most first.

    Parameters
    ----------
    runs
        First cell of each run and the one after its last.
    cells, network
        The cells and the roads they lie on.
    outlook
        What is thought of the plan.

    Returns
    -------
    One row a run in WGS 84, columns ``COLUMNS``; cost is nan without prices.
    """
    best = outlook.problem.value_of(runs)[0]
    drawn = outlook.drawn.value_of(runs)
    rows: list[dict[str, object]] = []
    for number in np.argsort(-best, kind="stable"):
        start, stop = runs[number]
        low, high = interval(drawn[:, number])
        deaths_low, deaths_high = interval(outlook.drawn.deaths[:, start:stop].sum(axis=1))
        length_m = (stop - start) * cells.cell_m
        cost = float(outlook.problem.prices.of(length_m, 1))
        rows.append(
            {
                "run": len(rows) + 1,
                "length_m": length_m,
                "deaths_per_year": float(outlook.problem.deaths[0, start:stop].sum()),
                "deaths_low": deaths_low,
                "deaths_high": deaths_high,
                "averted_per_year": float(best[number]),
                "averted_low": low,
                "averted_high": high,
                "cost": cost,
                "cost_per_averted": _share_of(cost, float(best[number])),
                "cost_per_averted_low": _share_of(cost, high),
                "cost_per_averted_high": _share_of(cost, low),
                "chosen_share": float(outlook.share[start:stop].mean()),
                "passages": int(outlook.passages[start:stop].max(initial=0)),
                **place_of(network, cells, start, stop),
            }
        )
    table = gpd.GeoDataFrame(rows, columns=COLUMNS, geometry="geometry", crs=network.crs)
    return table.to_crs("EPSG:4326")


def _share_of(cost: float, averted: float) -> float:
    return cost / averted if averted > 0.0 else float("nan")


def place_of(network: Network, cells: FenceCells, start: int, stop: int) -> dict[str, object]:
    """
    Road, metres, mileposts, ends in degrees and line of a run.

    Parameters
    ----------
    network, cells
        The roads and the cells on them.
    start, stop
        First cell and the one after the last.
    """
    road, part = str(cells.road[start]), int(cells.road_part[start])
    ends = np.array([cells.from_m[start], cells.from_m[stop - 1] + cells.cell_m])
    edge, offset_m = find_on_road(network, road, ends, road_part=part)
    points = gpd.GeoSeries(points_on_edges(network, edge, offset_m), crs=network.crs).to_crs("EPSG:4326")
    posts = milepost(network, edge, offset_m)
    first = network.edges.iloc[edge[0]]
    return {
        "road": road,
        "road_part": part,
        "from_m": float(ends[0]),
        "to_m": float(ends[1]),
        "longitude_from": float(points.x.iloc[0]),
        "latitude_from": float(points.y.iloc[0]),
        "longitude_to": float(points.x.iloc[1]),
        "latitude_to": float(points.y.iloc[1]),
        "route_id": first.get("route_id"),
        "milepost_from": round(float(posts.value[0]), 6) + 0.0,
        "milepost_to": round(float(posts.value[1]), 6) + 0.0,
        "milepost_unit": posts.unit[0],
        "why_no_milepost": next((reason for reason in posts.reason if reason), ""),
        "agency": first.get("agency"),
        "geometry": line_of(network, road, part, float(ends[0]), float(ends[1])),
    }


def line_of(network: Network, road: str, road_part: int, from_m: float, to_m: float) -> shapely.LineString:
    """
    The line of a road between two metres, in the network's reference system and in the direction of its metres.

    Parameters
    ----------
    network
        The roads.
    road, road_part, from_m, to_m
        Where it lies; metres beyond the part are left out.
    """
    edges = network.edges
    own = edges[(edges["road"] == road) & (edges["road_part"] == road_part)].sort_values("road_from_m")
    own = own[(own["road_to_m"] > from_m) & (own["road_from_m"] < to_m)]
    points = []
    for edge in own.itertuples():
        along = shapely.reverse(edge.geometry) if edge.road_reversed else edge.geometry
        piece = substring(along, max(from_m - edge.road_from_m, 0.0), min(to_m - edge.road_from_m, edge.length_m))
        points.append(shapely.get_coordinates(piece))
    return shapely.LineString(np.vstack(points))
