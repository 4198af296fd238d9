"""Real processes that take files into a season, to be killed, starved and set upon each other."""

from __future__ import annotations

import contextlib
import csv
import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pyogrio
from tiny_county import CENTRE

from roadwatch.records.store import Season

if TYPE_CHECKING:
    from collections.abc import Callable

ROOT = Path(__file__).parents[2]

SERVER = """
import json, os, sys
sys.path.insert(0, sys.argv[1])
import roadwatch.season.intake
from roadwatch.cli import main
for line in sys.stdin:
    season, told, *files = json.loads(line)
    child = os.fork()
    if not child:
        os.dup2(os.open(told, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), 1)
        sys.stdout = os.fdopen(1, "w", buffering=1)
        main.main(["ingest", season, *files], prog_name="roadwatch")
    print(child, flush=True)
    os.waitpid(child, 0)
    print("ended", flush=True)
"""


class Server:
    """A process with everything imported that forks one ingest after the other: a kill falls into the work."""

    def __init__(self, folder: Path) -> None:
        self.told = folder / "told.txt"
        command = [sys.executable, "-c", SERVER, str(ROOT)]
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def ingest(self, season: Path, files: list[Path], *, wait_to_kill: Callable[[], None] | None) -> tuple[float, int]:
        """Run one ingest, killed after a wait where one is given; returns its seconds and the files it told of."""
        start = time.perf_counter()
        self.process.stdin.write(json.dumps([str(season), str(self.told), *map(str, files)]) + "\n")
        self.process.stdin.flush()
        child = int(self.process.stdout.readline())
        if wait_to_kill is not None:
            wait_to_kill()
            with contextlib.suppress(ProcessLookupError):
                os.kill(child, signal.SIGKILL)
        assert self.process.stdout.readline() == "ended\n"
        text = self.told.read_text("utf-8") if self.told.exists() else ""
        return time.perf_counter() - start, sum("rows read" in line for line in text.splitlines() if line)

    def close(self) -> None:
        self.process.stdin.close()
        self.process.wait(timeout=60)
        self.process.stdout.close()


def wait_for_write(season: Path, *, after_s: float, at_most_s: float) -> None:
    """Wait until a transaction writes to the season's journal, and then a little longer."""
    journal, start = season.with_name(f"{season.name}-journal"), time.perf_counter()
    while not journal.exists() and time.perf_counter() - start < at_most_s:
        time.sleep(0.0005)
    time.sleep(after_s)


def write_files(folder: Path, *, files: int, rows: int) -> list[Path]:
    """Invented crossings, one of fifty without a latitude."""
    paths = []
    for n in range(files):
        path = folder / f"crossings_{n}.csv"
        with path.open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow(["record_id", "observed_at", "longitude", "latitude", "taxon", "position_error_m", "notes"])
            for k in range(rows):
                latitude = "" if k % 50 == 49 else CENTRE[1]
                place = [f"{CENTRE[0] + 0.04 * k / rows:.6f}", latitude]
                writer.writerow([f"c{n}-{k}", "2025-05-12", *place, "slider", 10, "invented " * 20])
        paths.append(path)
    return paths


def ask(path: Path, query: str) -> list[tuple]:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(query).fetchall()


def assert_whole(season: Path, *, told: int, rows: int) -> int:
    """The season opens here and in GDAL and holds whole batches: all that were told of, at most one more."""
    stored = Season.open(season)
    assert ask(season, "PRAGMA integrity_check") == [("ok",)]
    assert ask(season, "PRAGMA foreign_key_check") == []
    batches = stored.batches()
    assert len(batches) - told in (0, 1)
    assert batches["rows_in"].tolist() == [rows] * len(batches)
    assert len(stored.known("crossings")) == batches["accepted"].sum()
    assert len(stored.held_rows()) == batches["held_back"].sum()
    assert ask(season, "SELECT count(*) FROM source_rows") == [(rows * len(batches),)]
    assert len(pyogrio.read_dataframe(season, layer="crossings")) == batches["accepted"].sum()
    return len(batches)
