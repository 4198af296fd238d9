"""
Processor seconds of a county report of 10,000 records, once the season is on file.

Run by hand: ``python tests/benchmarks/bench_report.py``. Writes ``results_report.md`` beside itself.
"""

# ruff: noqa: T201  # a benchmark talks to its reader

from __future__ import annotations

import csv
import sys
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from click.testing import CliRunner
from tiny_county import CENTRE, road_layer, road_line

from roadwatch.cli import main
from roadwatch.render.report_page import report_page
from roadwatch.season.county_report import county_report

SEED, N = 7, 10_000
RESULTS = Path(__file__).with_name("results_report.md")


def season_of(folder: Path) -> Path:
    """An invented season: records over four years on a grid of 20 roads, 400 km in all, without searches."""
    rng, season = np.random.default_rng(SEED), folder / "season.gpkg"
    steps = np.linspace(-0.1, 0.1, 11)[:10]
    lines = [road_line(f"East {k}", *((float(x), float(y)) for x in steps)) for k, y in enumerate(steps)]
    lines += [road_line(f"North {k}", *((float(x), float(y)) for y in steps)) for k, x in enumerate(steps)]
    (folder / "roads.geojson").write_text(road_layer(*lines), "utf-8")
    place = ["--roads", str(folder / "roads.geojson"), "--timezone", "America/New_York"]
    run("new", str(season), *place, "--region", "SC_GA_coastal_plain")
    with (folder / "c.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["record_id", "observed_at", "longitude", "latitude", "taxon", "condition", "observer"])
        for k in range(N):
            along, road = rng.uniform(-0.1, 0.08), float(rng.choice(steps))
            east, north = (along, road) if k % 2 else (road, along)
            day = date(int(rng.integers(2022, 2026)), 4, 1) + timedelta(days=int(rng.integers(0, 180)))
            condition = "dead" if rng.random() < 0.65 else "alive"
            taxon = str(rng.choice(["Trachemys scripta", "Chelydra serpentina", "Pseudemys concinna"]))
            writer.writerow([f"r{k}", day, CENTRE[0] + east, CENTRE[1] + north, taxon, condition, f"P{k % 12}"])
    run("ingest", str(season), str(folder / "c.csv"))
    return season


def run(*words: str) -> None:
    """Run a command that has to succeed."""
    told = CliRunner().invoke(main, list(words))
    if told.exit_code not in {0, 3}:
        raise SystemExit(told.output)


def bench() -> None:
    """Measure and write the results."""
    with tempfile.TemporaryDirectory() as held:
        season = season_of(Path(held))
        rows = []
        for audience in ("team", "public"):
            start = time.process_time()
            report = county_report(season, audience=audience, as_of=date(2025, 12, 31))  # type: ignore[arg-type]
            found = time.process_time()
            text = report_page(report, title="Invented", subtitle="Bench")
            end = time.process_time()
            silent = ", ".join(one.key for one in report.sections if one.lacking) or "none"
            rows.append(f"| {audience} | {found - start:.1f} | {end - found:.1f} | {len(text) / 1e6:.2f} | {silent} |")
            print(rows[-1])
    heads = "| audience | to find, s | to write, s | page, MB | sections without data |\n|---|---|---|---|---|\n"
    words = f"Processor seconds; {N:,} records, seed {SEED}; 2 cores, 24 GiB, 2026-11-25.\n\n"
    RESULTS.write_text(f"# County report\n\n{words}{heads}" + "\n".join(rows) + "\n", "utf-8")


if __name__ == "__main__":
    bench()
