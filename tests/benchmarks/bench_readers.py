"""How long files of 100,000 rows take to read; run it by hand: ``python tests/benchmarks/bench_readers.py``."""

# ruff: noqa: T201  # a benchmark talks to its reader

from __future__ import annotations

import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd

from roadwatch.records.readers import read_file
from roadwatch.records.readers.gdal import load_pyogrio

N_ROWS = 100_000


def crossings() -> pd.DataFrame:
    """Invented crossings."""
    rng = np.random.default_rng(1)
    return pd.DataFrame(
        {
            "observed_at": "2025-05-12T07:40:00",
            "longitude": rng.uniform(-82.6, -82.2, N_ROWS).round(6),
            "latitude": rng.uniform(29.5, 29.8, N_ROWS).round(6),
            "taxon": "Terrapene carolina",
            "notes": "near the culvert, wet",
        }
    )


def logger() -> str:
    """Invented half-hourly readings."""
    at = pd.date_range("2015-01-01", periods=N_ROWS, freq="30min").strftime("%m/%d/%y %I:%M:%S %p")
    rows = [f"{number},{time_},{60 + number % 30}" for number, time_ in enumerate(at)]
    return "\n".join(['"#","Date Time","Temp, °F (S/N 1)"', *rows])


def write_files(folder: Path) -> list[Path]:
    """One file of each format."""
    load_pyogrio()
    import geopandas as gpd

    table = crossings()
    points = gpd.GeoDataFrame(table, geometry=gpd.points_from_xy(table["longitude"], table["latitude"]), crs=4326)
    table.to_csv(folder / "commas.csv", index=False)
    table.to_csv(folder / "decimal_commas.csv", index=False, sep=";", decimal=",")
    (folder / "logger.csv").write_text(logger(), encoding="utf-8")
    points.to_file(folder / "points.gpkg")
    points.to_crs(26917).to_file(folder / "projected.gpkg")
    points.to_file(folder / "points.geojson", driver="GeoJSON")
    return sorted(folder.iterdir())


def main() -> None:
    """Write, read and tell."""
    with tempfile.TemporaryDirectory() as folder:
        for path in write_files(Path(folder)):
            started = time.process_time()
            n_rows = sum(len(table.rows) for table in read_file(path))
            print(f"{path.name:20} {n_rows:8} rows {time.process_time() - started:6.2f} s")


if __name__ == "__main__":
    main()
