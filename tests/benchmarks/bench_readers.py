"""How long files take to read: ``PYTHONPATH=tests python tests/benchmarks/bench_readers.py``; processor time."""

# ruff: noqa: T201  # a benchmark talks to its reader

from __future__ import annotations

import multiprocessing
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd
from openpyxl import Workbook
from records.readers.sheet_files import ods

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


def write_spreadsheets(folder: Path) -> None:
    """Workbooks of about 1 MB: invented crossings, and nothing but small whole numbers, the densest honest one."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Crossings")
    records = crossings().head(26_000).assign(observed_at=pd.date_range("2025-05-01", periods=26_000, freq="7min"))
    sheet.append(list(records))
    for row in records.itertuples(index=False, name=None):
        sheet.append(row)
    book.save(folder / "1 MB.xlsx")
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Counts")
    sheet.append([f"count {number}" for number in range(20)])
    for counts in np.random.default_rng(1).integers(0, 100, size=(12_500, 20)):
        sheet.append(counts.tolist())
    book.save(folder / "1 MB of counts.xlsx")
    with (folder / "1 MB.ods").open("wb") as stream:
        stream.write(ods([list(records), *records.astype({"observed_at": str}).to_numpy().tolist()]))


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
    write_spreadsheets(folder)
    write_markup(folder)
    return sorted(folder.iterdir())


def write_markup(folder: Path) -> None:
    """GPX, KML and GeoJSON of about 1 MB: places and a track without any other word, the densest honest ones."""
    places = np.random.default_rng(1).uniform((29.5, -82.6), (29.8, -82.2), size=(18_000, 2)).round(5).tolist()
    points = "".join(f'<wpt lat="{lat}" lon="{lon}"/>' for lat, lon in places)
    (folder / "1 MB of waypoints.gpx").write_text(f"<gpx>{points}</gpx>", encoding="utf-8")
    fixes = "".join(f'<trkpt lat="{lat}" lon="{lon}"/>' for lat, lon in places)
    (folder / "1 MB of track.gpx").write_text(f"<gpx><trk><trkseg>{fixes}</trkseg></trk></gpx>", encoding="utf-8")
    marks = "".join(
        f"<Placemark><Point><coordinates>{lon},{lat}</coordinates></Point></Placemark>" for lat, lon in places[:13_000]
    )
    (folder / "1 MB of placemarks.kml").write_text(f"<kml>{marks}</kml>", encoding="utf-8")
    features = ",".join(
        f'{{"type":"Feature","geometry":{{"type":"Point","coordinates":[{lon},{lat}]}}}}'
        for lat, lon in places[:13_000]
    )
    text = f'{{"type":"FeatureCollection","features":[{features}]}}'
    (folder / "1 MB of features.geojson").write_text(text, encoding="utf-8")


def in_a_process_of_its_own(path: Path) -> tuple[int, float, float]:
    """Rows, processor time of a second reading in seconds, and MB of the first one, its libraries included."""
    before_mb = _most_resident_mb()
    read_file(path)
    memory_mb = _most_resident_mb() - before_mb
    started = time.process_time()
    n_rows = sum(len(table.rows) for table in read_file(path))
    return n_rows, time.process_time() - started, memory_mb


def _most_resident_mb() -> float:
    """Of this process alone; what the resource module tells is carried over from the process that started it."""
    told = Path("/proc/self/status").read_text(encoding="ascii")
    return int(told.split("VmHWM:")[1].split()[0]) / 1024


def main() -> None:
    """Write, read and tell."""
    print("| file | MB | rows | s | MB of memory |\n|---|---|---|---|---|", flush=True)
    with tempfile.TemporaryDirectory() as folder:
        paths = write_files(Path(folder))
        for path in paths:
            with multiprocessing.get_context("spawn").Pool(1) as pool:
                n_rows, spent, memory_mb = pool.apply(in_a_process_of_its_own, (path,))
            size_mb = path.stat().st_size / 1e6
            print(f"| {path.name} | {size_mb:.1f} | {n_rows:,} | {spent:.2f} | {memory_mb:.0f} |", flush=True)


if __name__ == "__main__":
    main()
