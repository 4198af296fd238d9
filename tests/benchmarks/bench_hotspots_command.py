"""
Time ``roadwatch hotspots`` as a person would run it: up to 5,000 km, 20,000 records, 999 draws, three half-widths.

Run ``python tests/benchmarks/bench_hotspots_command.py``; it writes ``results_hotspots_command.md`` beside it: the
median of the runs, wall and processor time and largest memory, imports and reading of the season file included.
The counties are invented.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
from bench_hotspots import county, records_on

from roadwatch.roads.reference import points_on_edges
from roadwatch.roads.stretches import cut_stretches

ENVIRONMENT = os.environ | {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
"""One thread for the numeric libraries, beside the two of the search."""

COUNTIES = {
    "503 km, 2,000 records": (32, 250.0, 2000, 5),
    "town blocks of 100 m, 496 km, 2,000 records": (50, 100.0, 2000, 3),
    "5,017 km, 20,000 records": (100, 250.0, 20_000, 2),
}
"""Roads each way, metres between them, records, and runs."""

BEFORE = [
    "Before, every stretch of every draw computed in full, same machine and seeds, 2026-11-25:",
    "",
    "| county | load | wall s | processor s | largest memory MB |",
    "|---|---|---|---|---|",
    "| 503 km, 2,000 records | 0.4 | 2.79 | 3.75 | 229 |",
    "| 503 km, 2,000 records | 2 | 3.47 | 3.43 | 226 |",
    "| 5,017 km, 20,000 records | 3 | 29.99 | 28.66 | 868 |",
]
"""What was measured before ceilings ruled out most stretches, kept to compare with."""

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


def spent_on(command):
    """Wall seconds, processor seconds and largest memory in MB of one run in a process of its own."""
    start = time.perf_counter()
    run = subprocess.Popen(command, stdout=subprocess.DEVNULL, env=ENVIRONMENT)
    _, status, used = os.wait4(run.pid, 0)
    if status:
        raise RuntimeError(f"{command} ended with status {status}")
    return time.perf_counter() - start, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def measure(name):
    """One row of the table."""
    k, spacing_m, n_records, repeats = COUNTIES[name]
    with tempfile.TemporaryDirectory() as folder:
        season = write_season(Path(folder), k=k, spacing_m=spacing_m, n_records=n_records)
        runs = [
            spent_on([sys.executable, "-m", "roadwatch", "hotspots", str(season), "--json"]) for _ in range(repeats)
        ]
    wall, processor, peak_mb = (statistics.median(column) for column in zip(*runs, strict=True))
    return f"| {name} | {repeats} | {wall:.2f} | {processor:.2f} | {peak_mb:.0f} |"


def main():
    before = os.getloadavg()[0]
    rows = [measure(name) for name in COUNTIES]
    how = (
        "999 draws, half-widths 150, 300, 600 m; median of the runs, imports and reading of the season file included, "
        f"seed 1; 2 cores, 24 GiB, {datetime.now(UTC):%Y-%m-%d}, under a load of {before:.0f} to "
        f"{os.getloadavg()[0]:.0f} with other work, under which wall times say little; "
        f"numpy {np.__version__}. Invented counties. Goals on two "
        "free cores: 500 km in under 3 s and 500 MB, 5,000 km in under 12 s and 1 GB."
    )
    head = ["# roadwatch hotspots, from the command line: measured times", "", how, ""]
    columns = ["| county | runs | wall s | processor s | largest memory MB |", "|---|---|---|---|---|"]
    RESULTS.write_text("\n".join([*head, *columns, *rows, "", *BEFORE, ""]), encoding="utf-8")


if __name__ == "__main__":
    main()
