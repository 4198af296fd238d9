"""
Time the hotspot search on invented counties: up to 5,000 km of road, 20,000 records, 999 scatterings.

Run ``python tests/benchmarks/bench_hotspots.py``; it writes ``results_hotspots.md`` beside it. The median of the
repeats is reported, with the largest memory that a process of its own held.
"""

import os
import platform
import resource
import statistics
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from roadwatch.hotspots.comparison import compare_with_scatterings
from roadwatch.hotspots.density import kernel_matrices
from roadwatch.hotspots.null import Scatter
from roadwatch.hotspots.search import find_hotspots
from roadwatch.roads.network import build_network
from roadwatch.roads.stretches import cut_stretches

REPEATS = 3
RESULTS = Path(__file__).with_name("results_hotspots.md")

ENVIRONMENT = os.environ | {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
"""One thread for the numeric libraries, beside the two of the search."""

COUNTIES = {
    "rural, few records": (32, 250.0, 200, 300.0, REPEATS),
    "rural": (32, 250.0, 2000, 300.0, REPEATS),
    "town blocks of 100 m": (50, 100.0, 2000, 300.0, REPEATS),
    "ten counties": (100, 250.0, 20_000, 300.0, 1),
}
"""Roads each way, metres between them, records, half-width and repeats."""

BEFORE = [
    "Before, whole search, same machine and seeds, each in a process of its own, 2026-11-25:",
    "",
    "| county | every stretch of every draw in full; load 2 | paths everywhere, kernel slices copied; load 3 to 8 |",
    "|---|---|---|",
    "| rural, 2,000 records | 2.47 / 2.44, 217 MB | 5.94 / 2.46 |",
    "| town blocks of 100 m | 6.90 / 6.90, 403 MB | 27.96 (wall) |",
    "| ten counties | 25.55 / 25.33, 839 MB | 102 (wall), 1,688 MB |",
    "",
    "Ten counties before and after, one straight after the other under a load of 4: 28.3 and 15.3 processor seconds.",
]
"""What was measured before ceilings ruled out most stretches, kept to compare with."""


def county(k, spacing_m, rng):
    """k roads each way over a jittered grid: 2 k (k - 1) edges of about the spacing."""
    x, y = (spacing_m * (axis + rng.uniform(-0.2, 0.2, (k, k))) for axis in np.mgrid[0:k, 0:k].astype(float))
    lines = [shapely.LineString(np.c_[x[row], y[row]]) for row in range(k)]
    lines += [shapely.LineString(np.c_[x[:, column], y[:, column]]) for column in range(k)]
    names = [f"East {row}" for row in range(k)] + [f"North {column}" for column in range(k)]
    shapes = shapely.transform(lines, lambda xy: np.add(xy, (450_000.0, 4_000_000.0)))
    return build_network(gpd.GeoDataFrame({"road": names}, geometry=list(shapes), crs="EPSG:32617"))


def records_on(stretches, n, rng):
    chance = np.where(rng.random(len(stretches.edge)) < 0.002, 30.0, 1.0) * stretches.length_m
    places = rng.choice(len(chance), n, p=chance / chance.sum())
    return pd.DataFrame(
        {
            "edge": stretches.edge[places],
            "offset_m": stretches.start_m[places] + stretches.length_m[places] / 2,
            "weight": rng.choice([0.5, 0.8, 0.95, 1.0], n),
            "year": rng.integers(2020, 2025, n),
            "date": [f"2024-05-{day:02d}" for day in rng.integers(1, 29, n)],
            "observer": rng.choice(["a", "b", "c", "d"], n),
        }
    )


def median_seconds(job, repeats):
    wall, processor = [], []
    for _ in range(repeats):
        start = time.perf_counter(), time.process_time()
        job()
        wall.append(time.perf_counter() - start[0])
        processor.append(time.process_time() - start[1])
    return f"{statistics.median(wall):.2f} / {statistics.median(processor):.2f}"


def measure(name):
    """One row of the table, measured in this process."""
    k, spacing_m, n_records, half_width_m, repeats = COUNTIES[name]
    rng = np.random.default_rng(1)
    network = county(k, spacing_m, rng)
    stretches = cut_stretches(network)
    table = records_on(stretches, n_records, rng)
    widths = [half_width_m, half_width_m / 2, half_width_m * 2]
    whole = {"effort_km": stretches.length_m / 1000, "half_width_m": half_width_m, "n_draws": 999}

    def search():
        find_hotspots(network, stretches, table, rng=np.random.default_rng(2), **whole)

    spent = [median_seconds(search, repeats)]
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024  # before anything else is asked of the process
    kernels = kernel_matrices(network, stretches, half_widths_m=widths)
    places = stretches.of_place(table["edge"].to_numpy(), table["offset_m"].to_numpy())
    chance = (stretches.length_m / stretches.length_m.sum())[None]
    records = Scatter(places, table["weight"].to_numpy(), np.zeros(n_records, dtype=int), chance)

    def scatter():
        compare_with_scatterings(records, kernels=kernels, n_draws=999, rng=np.random.default_rng(2))

    def spread():
        kernel_matrices(network, stretches, half_widths_m=widths)

    spent = [median_seconds(spread, repeats), median_seconds(scatter, repeats), *spent]
    km = stretches.length_m.sum() / 1000
    size = f"{km:.0f} km, {len(network.edges):,} edges, {len(stretches.edge):,} stretches"
    entries = sum(kernel.nnz for kernel in kernels)
    row = f"| {name} | {size} | {n_records:,} | {half_width_m:g} | {entries:,} |"
    return row + "".join(f" {seconds} |" for seconds in spent) + f" {peak_mb:.0f} |"


def measured_apart(name):
    """The row, measured in a process of its own, so that its memory is its own."""
    run = subprocess.run([sys.executable, __file__, name], check=True, capture_output=True, text=True, env=ENVIRONMENT)
    return run.stdout.strip()


def main():
    before = os.getloadavg()[0]
    rows = [measured_apart(name) for name in COUNTIES]
    how = (
        f"Seconds, wall / processor (all threads together), median of {REPEATS} (ten counties: once), each county in a "
        f"process of its own; Python {platform.python_version()}, numpy {np.__version__}, seed 1, 2 cores, 24 GiB, "
        f"{datetime.now(UTC):%Y-%m-%d}, under a load of {before:.0f} to {os.getloadavg()[0]:.0f} with other work: then "
        "wall times say little, and processor times are longer too. Two threads work at "
        "once, one thread is asked of the numeric libraries. Invented jittered grids; 999 scatterings, each with the "
        "half-width given, half and twice of it, and further rounds where something stands out (whole search; the "
        "column of scatterings is one round). Largest memory is that of the first searches alone, imports included. "
        "Goals: 500 km in under 3 s and 500 MB, ten counties in under 12 s and 1 GB. On town blocks the kernel of "
        "600 m is spread by waves, the others by paths."
    )
    columns = (
        "county | size | records | half-width m | kernel entries | kernel matrices | scatterings | whole search | MB"
    )
    head = ["# Hotspot search: measured times", "", how, "", f"| {columns} |", "|---" * 9 + "|"]
    RESULTS.write_text("\n".join([*head, *rows, "", *BEFORE, ""]), encoding="utf-8")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        sys.stdout.write(measure(sys.argv[1]))
    else:
        main()
