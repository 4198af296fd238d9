"""How long a season takes to write and read; run it by hand: ``python tests/benchmarks/bench_store.py``."""

# ruff: noqa: T201  # a benchmark talks to its reader

from __future__ import annotations

import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.store import Batch, Season

if TYPE_CHECKING:
    from collections.abc import Callable

T = "2025-06-01T12:00:00-04:00"


def crossings(n: int, rng: np.random.Generator, *, has_id: bool) -> pd.DataFrame:
    """Invented crossings; half the columns blank, as in most files."""
    longitude, latitude = rng.uniform(-82.6, -82.2, n).round(6), rng.uniform(29.5, 29.8, n).round(6)
    days = pd.Timestamp("2024-03-01") + pd.to_timedelta(rng.integers(0, 500, n), unit="D")
    table = pd.DataFrame({"observed_at": days.strftime("%Y-%m-%d"), "longitude": longitude, "latitude": latitude})
    table["taxon"] = rng.choice(["Terrapene carolina", "Trachemys scripta", "Chelydra serpentina"], n)
    table["taxon_as_written"] = table["taxon"].str.lower()
    table["id_confidence"], table["count"] = rng.choice([0.5, 0.8, 0.95], n), 1.0
    table["condition"], table["observer"] = rng.choice(["dead", "alive"], n), rng.choice(list("abcdefgh"), n)
    table["notes"] = [f"seen near post {k}" for k in rng.integers(0, 9999, n)]
    if has_id:
        table["record_id"] = [f"c{k}" for k in range(n)]
    return with_lines(table)


def temperatures(n: int, rng: np.random.Generator) -> pd.DataFrame:
    """Invented logger readings, one every ten minutes."""
    at = pd.date_range("2010-01-01", periods=n, freq="10min").strftime("%Y-%m-%dT%H:%M:%S-04:00")
    return with_lines(pd.DataFrame({"series_id": "s1", "kind": "soil", "at": at, "temp_c": rng.normal(25, 4, n)}))


def with_lines(table: pd.DataFrame) -> pd.DataFrame:
    """The same rows with the line and wording they would have in a file."""
    lines = np.arange(2, len(table) + 2)
    return table.assign(line=lines, original=[f"line {k} of an invented file" for k in lines], source="bench.csv")


def timed(what: str, job: Callable[[], object]) -> None:
    """Say how long one job took."""
    start = time.perf_counter()
    job()
    print(f"{what:<58}{time.perf_counter() - start:7.2f} s")


def main() -> None:
    """Write and read crossings and temperatures at full size."""
    rng = np.random.default_rng(1)
    with tempfile.TemporaryDirectory() as folder:
        season = Season.create(Path(folder) / "season.gpkg", timezone="America/New_York", region=None, settings={})
        for has_id in (False, True):
            table = crossings(100_000, rng, has_id=has_id)
            label = "with ids" if has_id else "without ids"
            for turn in ("new", "again, shuffled"):
                sha = f"{label}{turn}"
                batch = Batch(f"{sha}.csv", sha, "crossings", T, table.sample(frac=1, random_state=rng))
                timed(f"write 100,000 crossings {label}, {turn}", lambda batch=batch: season.write_batch(batch))
        timed("read 200,000 crossings", lambda: season.read("crossings"))
        timed("read 200,000 crossings, three columns", lambda: season.read("crossings", columns=["taxon", "count"]))
        readings = temperatures(1_000_000, rng)
        batch = Batch("logger.csv", "t", "temperatures", T, readings)
        timed("write 1,000,000 temperatures", lambda: season.write_batch(batch))
        timed("write them again", lambda: season.write_batch(batch))
        timed("read 1,000,000 temperatures", lambda: season.read("temperatures"))
        timed("open", lambda: Season.open(season.path))
        print(f"file: {season.path.stat().st_size / 1e6:.0f} MB")


if __name__ == "__main__":
    main()
