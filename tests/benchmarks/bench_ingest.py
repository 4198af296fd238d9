"""
Up to 1,000,000 crossings from CSV, checked, snapped to 100,000 road segments, stored and looked through for doubles:
time, memory and growth; and the same file under another name, its rows shuffled, which must add nothing.

Run: python tests/benchmarks/bench_ingest.py [rows ...]. Asked: 1,000,000 rows in under 90 s and 4 GB on 2 cores, a
repeated ingest of the same file in under 2 s, growth no faster than n log n from 10,000 rows. All of it is invented.
"""

# ruff: noqa: T201  # a benchmark talks to its reader

from __future__ import annotations

import csv
import json
import math
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

SIZES = (10_000, 100_000, 1_000_000)
N_LINES = 224  # 224 x 224 streets meet in 50,176 junctions: 99,904 segments
N_OBSERVERS = 5_000
SEED = 20260101


def junctions() -> np.ndarray:
    """(n, n, 2) longitude and latitude of a jittered grid of junctions about 500 m apart."""
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


def write_crossings(path: Path, n: int) -> None:
    """Records within some metres of the grid in four seasons; one of five hundred lacks its place."""
    rng = np.random.default_rng(SEED + 1)
    grid = junctions()
    row, column = rng.integers(0, N_LINES - 1, (2, n))
    share = rng.uniform(0, 1, (n, 1))
    place = (1 - share) * grid[row, column] + share * grid[row, column + 1] + rng.normal(0, 0.0001, (n, 2))
    years, days = rng.integers(2021, 2025, n), rng.integers(60, 280, n)
    day = (np.datetime64("1970-01-01") + (years - 1970) * 365 + (years - 1969) // 4 + days).astype(str)
    hour, minute, observer = rng.integers(6, 20, n), rng.integers(0, 60, n), rng.integers(0, N_OBSERVERS, n)
    taxa = ["slider", "cooter", "snapping turtle", "Terrapene carolina", "mud turtle", "turtle"]
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["date", "lng", "lat", "accuracy", "species", "confidence", "dead/alive", "observer", "notes"])
        for k, (longitude, latitude) in enumerate(place.tolist()):
            shown = [f"{longitude:.6f}", f"{latitude:.6f}"] if k % 500 else ["", ""]
            told = ["likely", "dead" if k % 3 else "alive", f"P{observer[k]}", f"note {k}"]
            writer.writerow([f"{day[k]}T{hour[k]:02d}:{minute[k]:02d}", *shown, 5 + k % 40, taxa[k % 6], *told])


def write_shuffled(path: Path, file: Path) -> None:
    """The same rows in another order."""
    header, *rows = file.read_text(encoding="utf-8").splitlines()
    random.Random(SEED).shuffle(rows)
    path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")


def run(*args: object) -> tuple[float, float, float, str]:
    """Wall seconds, processor seconds, greatest memory in MB, and the first and the last line printed."""
    start = time.perf_counter()
    with tempfile.TemporaryFile("w+") as out:
        command = [sys.executable, "-m", "roadwatch", *map(str, args)]
        process = subprocess.Popen(command, stdout=out, stderr=subprocess.STDOUT)
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        out.seek(0)
        lines = out.read().splitlines()
        said = " | ".join(dict.fromkeys((lines[0], *(line for line in lines[1:] if "roadwatch doubles" in line))))
    if process.returncode not in {0, 3}:
        raise SystemExit(said)
    return time.perf_counter() - start, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, said


def main() -> None:
    """Ingest each size, the same again, and its copy, then look at the growth."""
    taken: dict[str, list[float]] = {}
    sizes = [int(size) for size in sys.argv[1:]] or SIZES
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_roads(folder / "roads.geojson")
        empty = folder / "empty.gpkg"
        print(run("new", empty, "--roads", folder / "roads.geojson", "--timezone", "America/New_York")[3])
        for n in sizes:
            file, season = folder / f"crossings_{n}.csv", folder / f"season_{n}.gpkg"
            write_crossings(file, n)
            shutil.copy(empty, season)
            copy = folder / "renamed.csv"
            write_shuffled(copy, file)
            for turn, path in {"first": file, "again": file, "renamed, shuffled": copy}.items():
                wall_s, cpu_s, memory_mb, said = run("ingest", season, path)
                print(f"{n:>9,} rows, {turn}: {wall_s:6.1f} s, processor {cpu_s:6.1f} s, {memory_mb:5.0f} MB | {said}")
                taken.setdefault(turn, []).append(cpu_s)
                if "shuffled" in turn and " 0 accepted" not in said:
                    raise SystemExit(f"the copy added records: {said}")
            print(f"{'':>9} file {file.stat().st_size / 1e6:.0f} MB, season {season.stat().st_size / 1e6:.0f} MB")
    if len(sizes) == len(SIZES):
        work = [n * math.log(n) for n in sizes]
        growth, allowed = ((three[2] - three[0]) / (three[1] - three[0]) for three in (taken["first"], work))
        print(f"growth over the smallest: {growth:.1f} times from the middle to the largest; n log n: {allowed:.1f}")


if __name__ == "__main__":
    main()
