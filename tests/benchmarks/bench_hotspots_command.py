"""
Time ``roadwatch hotspots`` as a person would run it: 500 km, 2,000 records, 999 draws, three half-widths.

Run ``python tests/benchmarks/bench_hotspots_command.py``; it writes ``results_hotspots_command.md`` beside it: the
median of five runs, wall and processor time and largest memory, imports and reading of the season file included.
The county is invented.
"""

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
from bench_hotspots import county, records_on

from roadwatch.roads.reference import points_on_edges
from roadwatch.roads.stretches import cut_stretches

REPEATS = 5
RESULTS = Path(__file__).with_name("results_hotspots_command.md")


def write_season(folder, *, k, spacing_m, n_records):
    """A season file of an invented county, made with the command line."""
    rng = np.random.default_rng(1)
    network = county(k, spacing_m, rng)
    stretches = cut_stretches(network)
    table = records_on(stretches, n_records, rng)
    points = points_on_edges(network, table["edge"].to_numpy(), table["offset_m"].to_numpy())
    places = gpd.GeoSeries(points, crs=network.crs).to_crs("EPSG:4326")
    roads = network.edges[["road", "geometry"]].to_crs("EPSG:4326")
    roads.to_file(folder / "roads.gpkg")
    searches = pd.DataFrame({"search_id": [f"s{y}" for y in range(2020, 2025)]})
    searches["started_at"] = [f"{y}-05-01" for y in range(2020, 2025)]
    searches["roads"] = ";".join(sorted(set(network.edges["road"])))
    searches.to_csv(folder / "searches.csv", index=False)
    crossings = pd.DataFrame(
        {
            "observed_at": [f"{y}-{d[5:]}" for y, d in zip(table["year"], table["date"], strict=True)],
            "longitude": places.x,
            "latitude": places.y,
            "position_error_m": 10.0,
            "taxon": "Terrapene carolina",
            "condition": "dead",
            "observer": table["observer"],
            "search_id": "s" + table["year"].astype(str),
        }
    )
    crossings.to_csv(folder / "crossings.csv", index=False)
    season = folder / "season.gpkg"
    run = [sys.executable, "-m", "roadwatch"]
    new = ["new", season, "--roads", folder / "roads.gpkg", "--timezone", "America/New_York"]
    for command in (new, ["ingest", season, folder / "searches.csv"], ["ingest", season, folder / "crossings.csv"]):
        subprocess.run([*run, *command], check=True, stdout=subprocess.DEVNULL)
    return season


def main():
    with tempfile.TemporaryDirectory() as name:
        season = write_season(Path(name), k=32, spacing_m=250.0, n_records=2000)
        command = [sys.executable, "-m", "roadwatch", "hotspots", str(season), "--json"]
        wall, cpu = [], []
        for _ in range(REPEATS):
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            start = time.perf_counter()
            subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
            wall.append(time.perf_counter() - start)
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            cpu.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
        peak_mb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    how = (
        f"503 km of road, 2,000 records, 999 draws, half-widths 150, 300, 600 m; median of {REPEATS} runs, seed 1; "
        f"2 cores, 24 GiB, load {os.getloadavg()[0]:.1f} while measuring; numpy {np.__version__}. Invented county. "
        "Goal: under 3 s and 500 MB on two free cores."
    )
    row = f"| {statistics.median(wall):.2f} | {statistics.median(cpu):.2f} | {peak_mb:.0f} |"
    head = "# roadwatch hotspots, from the command line: measured times"
    lines = [head, "", how, "", "| wall s | processor s | largest memory MB |", "|---|---|---|", row, ""]
    RESULTS.write_text("\n".join(lines), encoding="utf-8")


if __name__ == "__main__":
    main()
