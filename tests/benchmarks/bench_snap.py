"""
Time the building of a large network and the snapping of many records: ``python tests/benchmarks/bench_snap.py``.

Invented streets on a crooked grid (19,800 of them, 80,000 straight pieces) and 100,000 random records. For comparison
the same snapping is done with GeoPandas' own nearest join.
"""

import time
from collections.abc import Callable

import geopandas as gpd
import numpy as np
import shapely

from roadwatch.roads.network import build_network
from roadwatch.roads.snap import snap
from roadwatch.roads.stretches import cut_stretches, stretch_table

SIZE, BLOCK_M, N_RECORDS = 100, 250.0, 100_000


def crooked_grid(rng: np.random.Generator) -> gpd.GeoDataFrame:
    """Streets between the corners of a jittered grid, each with three bends."""
    corner = np.stack(np.meshgrid(np.arange(SIZE), np.arange(SIZE), indexing="ij"), axis=-1) * BLOCK_M
    corner = corner + rng.uniform(-60, 60, corner.shape)
    start = np.concatenate([corner[:-1].reshape(-1, 2), corner[:, :-1].reshape(-1, 2)])
    stop = np.concatenate([corner[1:].reshape(-1, 2), corner[:, 1:].reshape(-1, 2)])
    share = np.linspace(0, 1, 5)[None, :, None]
    points = start[:, None] + (stop - start)[:, None] * share
    points[:, 1:-1] += rng.normal(0, 5, points[:, 1:-1].shape)
    names = [f"{i % SIZE} Street" if rng.random() < 0.8 else None for i in range(len(points))]
    centred = gpd.GeoDataFrame({"road": names}, geometry=shapely.linestrings(points), crs="EPSG:32617")
    return centred.set_geometry(centred.translate(500_000, 3_280_000))


def timed(what: str, job: Callable[[], object]) -> None:
    """Print the median time of three runs."""
    times = []
    for _ in range(3):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    print(f"{what:<60} {sorted(times)[1]:7.2f} s")  # noqa: T201  # a benchmark talks to its reader


def main() -> None:
    """Run every benchmark."""
    rng = np.random.default_rng(1)
    layer = crooked_grid(rng)
    network = build_network(layer)
    stretches = cut_stretches(network)
    west, south, east, north = network.edges.total_bounds
    x_m, y_m = rng.uniform(west, east, N_RECORDS), rng.uniform(south, north, N_RECORDS)
    points = gpd.GeoDataFrame(geometry=gpd.points_from_xy(x_m, y_m), crs=network.crs)
    lines = network.edges[["geometry"]]
    timed(f"build the network of {len(layer):,} streets", lambda: build_network(layer))
    timed(f"cut it into {len(stretches.edge):,} stretches", lambda: cut_stretches(network))
    timed("write the table of stretches", lambda: stretch_table(network, stretches))
    timed(f"snap {N_RECORDS:,} records, with the second road", lambda: snap(network, x_m, y_m, position_error_m=30.0))
    timed("  GeoPandas sjoin_nearest, nearest road only", lambda: points.sjoin_nearest(lines, distance_col="m"))


if __name__ == "__main__":
    main()
