"""Killed writers and two writers at once: whole batches, nothing lost."""

import random
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pyogrio
import pytest
from records.store_cases import new_season

from roadwatch.records.store import Season

ROOT = Path(__file__).parents[2]
ROWS = 40
WRITER = f"""
import sys
sys.path[:0] = [{str(ROOT)!r}, {str(ROOT / "tests")!r}]
from records.store_cases import crossing, put
from roadwatch.records.store import Season
season, name, n = Season.open(sys.argv[1]), sys.argv[2], int(sys.argv[3])
print("ready", flush=True)
for k in range(n):
    rows = [crossing(record_id=f"{{name}}-{{k}}-{{j}}", notes="x" * 500) for j in range({ROWS})]
    put(season, rows, file=f"{{name}}-{{k}}.csv")
    print(k, flush=True)
"""


def start_writer(path, name, n):
    command = [sys.executable, "-c", WRITER, str(path), name, str(n)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


def ask(path, query):
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(query).fetchall()


def kill_a_writer(folder, seed):
    """Kill a writer within its first batches; returns the season, and the batches that it said were stored."""
    season = new_season(folder)
    with start_writer(season.path, f"w{seed}", 10_000) as writer:
        assert writer.stdout.readline() == "ready\n"
        time.sleep(random.Random(seed).uniform(0.0, 0.4))
        writer.kill()
        acknowledged = sum(line.endswith("\n") for line in writer.stdout)
    return season, acknowledged


def assert_whole(season, acknowledged):
    """The season opens here and in GDAL, and holds whole batches: all that were acknowledged, at most one more."""
    opened = Season.open(season.path)
    stored = len(opened.known("crossings"))
    assert ask(season.path, "PRAGMA integrity_check") == [("ok",)]
    assert stored % ROWS == 0
    assert stored // ROWS - acknowledged in (0, 1)
    assert len(opened.batches()) * ROWS == stored
    assert ask(season.path, "SELECT count(*) FROM source_rows") == [(stored,)]
    assert len(pyogrio.read_dataframe(season.path, layer="crossings")) == stored


@pytest.mark.parametrize("seed", range(20))
def test_a_killed_writer_leaves_whole_batches_only(tmp_path, seed):
    """Twenty instants; ``tests/benchmarks/bench_store_kills.py`` tries two hundred."""
    assert_whole(*kill_a_writer(tmp_path, seed))


def test_two_writers_at_once_lose_nothing(tmp_path):
    season = new_season(tmp_path)
    writers = [start_writer(season.path, name, 12) for name in ("a", "b")]
    for writer in writers:
        with writer:
            writer.stdout.read()
        assert writer.returncode == 0
    expected = {f"{name}-{k}-{j}" for name in ("a", "b") for k in range(12) for j in range(ROWS)}
    assert season.known("crossings") == expected
    assert len(season.batches()) == 24
    assert ask(season.path, "PRAGMA integrity_check") == [("ok",)]


def test_two_writers_of_the_same_file_store_it_once(tmp_path):
    season = new_season(tmp_path)
    writers = [start_writer(season.path, "same", 6) for _ in range(2)]
    for writer in writers:
        with writer:
            writer.stdout.read()
        assert writer.returncode == 0
    assert len(season.known("crossings")) == 6 * ROWS
    assert len(season.batches()) == 6
