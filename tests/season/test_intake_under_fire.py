"""Killed, crowded, starved and locked out: whole batches, a clear message, and nothing lost."""

import os
import random
import resource
import shutil
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from functools import partial

import pytest
from season.fire_cases import ROOT, Server, ask, assert_whole, wait_for_write, write_files

from roadwatch.records import season_file
from roadwatch.records.store import Season

ROWS = 200


def roadwatch(*args, **options) -> subprocess.Popen:
    command = [sys.executable, "-m", "roadwatch", *map(str, args)]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, **options)


def finished(process: subprocess.Popen) -> tuple[int, str]:
    output, _ = process.communicate(timeout=120)
    return process.returncode, output


def test_an_ingest_killed_at_any_instant_leaves_whole_batches_and_can_be_repeated(county):
    """Twenty instants; ``tests/benchmarks/bench_store_kills.py`` tries two hundred."""
    files = write_files(county.folder, files=2, rows=ROWS)
    empty = county.folder / "empty.gpkg"
    shutil.copy(county.season, empty)
    server = Server(county.folder)
    try:
        whole_s, told = server.ingest(county.season, files, wait_to_kill=None)
        assert told == len(files)
        for seed in range(20):
            shutil.copy(empty, county.season)
            county.season.with_name("season.gpkg-journal").unlink(missing_ok=True)
            rng = random.Random(seed)
            anywhere = partial(time.sleep, rng.uniform(0, whole_s))
            in_a_write = partial(wait_for_write, county.season, after_s=rng.uniform(0, 0.03), at_most_s=whole_s)
            _, told = server.ingest(county.season, files, wait_to_kill=in_a_write if seed % 2 else anywhere)
            assert_whole(county.season, told=told, rows=ROWS)
        server.ingest(county.season, files, wait_to_kill=None)
    finally:
        server.close()
    assert assert_whole(county.season, told=len(files), rows=ROWS) == len(files)


def test_two_ingests_at_once_lose_nothing(county):
    files = write_files(county.folder, files=4, rows=ROWS)
    both = [roadwatch("ingest", county.season, *some) for some in (files[:2], files[2:])]
    assert [finished(process)[0] for process in both] == [3, 3]
    assert assert_whole(county.season, told=4, rows=ROWS) == 4


def test_two_ingests_of_one_file_at_once_store_it_once(county):
    (file,) = write_files(county.folder, files=1, rows=ROWS)
    both = [roadwatch("ingest", county.season, file) for _ in range(2)]
    assert [finished(process)[0] for process in both] == [3, 3]
    assert assert_whole(county.season, told=1, rows=ROWS) == 1


def test_a_copy_open_in_another_program_is_told_and_nothing_is_half_stored(county, monkeypatch):
    """A map program that goes on reading holds a shared lock: the write waits, then is told."""
    monkeypatch.setattr(season_file, "LOCK_WAIT_S", 0.05)
    (file,) = write_files(county.folder, files=1, rows=ROWS)
    with closing(sqlite3.connect(county.season, isolation_level=None)) as reader:
        reader.execute("BEGIN")
        reader.execute("SELECT count(*) FROM roads").fetchone()
        result = county.run("ingest", county.season, file)
    assert result.exit_code == 4
    assert "is open in another program that goes on reading it; close it there and repeat this step" in result.output
    assert Season.open(county.season).batches().empty
    assert county.run("ingest", county.season, file).exit_code == 3


def test_a_reader_in_between_does_not_hinder(county):
    """A map program that has the file open without reading at the moment."""
    (file,) = write_files(county.folder, files=1, rows=ROWS)
    with closing(sqlite3.connect(county.season)) as reader:
        reader.execute("SELECT count(*) FROM roads").fetchall()
        assert county.run("ingest", county.season, file).exit_code == 3
        assert reader.execute("SELECT count(*) FROM batches").fetchall() == [(1,)]


def test_a_season_that_a_map_program_has_put_into_its_own_journal_mode_is_read_and_written(county, monkeypatch):
    """Some programs keep a write-ahead log beside a GeoPackage as long as they have it open."""
    monkeypatch.setattr(season_file, "LOCK_WAIT_S", 0.2)
    (file,) = write_files(county.folder, files=1, rows=ROWS)
    with closing(sqlite3.connect(county.season)) as other:
        assert other.execute("PRAGMA journal_mode = WAL").fetchone() == ("wal",)
        other.execute("SELECT count(*) FROM roads").fetchall()
        start = time.perf_counter()
        assert county.run("problems", county.season).exit_code == 0
        assert county.run("ingest", county.season, file).exit_code == 3
        assert time.perf_counter() - start < 20
        assert other.execute("SELECT count(*) FROM batches").fetchall() == [(1,)]
    assert_whole(county.season, told=1, rows=ROWS)
    assert county.run("ingest", county.season, file).exit_code == 3
    assert not county.season.with_name("season.gpkg-wal").exists()


@pytest.mark.parametrize("spare_kb", [0, 30, 60])
def test_a_disk_that_is_full_is_told_and_nothing_is_half_stored(county, spare_kb):
    """The limit on a file's size stands for the disk's room."""
    (file,) = write_files(county.folder, files=1, rows=ROWS)
    before = county.season.read_bytes()
    limit = len(before) + spare_kb * 1024
    process = roadwatch(
        "ingest",
        county.season,
        file,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit)),
    )
    code, output = finished(process)
    assert code == 4
    assert "check its room and connection, then repeat this step" in output
    assert "Traceback" not in output
    assert ask(county.season, "SELECT count(*) FROM batches") == [(0,)]
    assert county.run("ingest", county.season, file).exit_code == 3
    assert_whole(county.season, told=1, rows=ROWS)


@pytest.mark.skipif(os.geteuid() == 0 and shutil.which("setpriv") is None, reason="root may write everything")
@pytest.mark.parametrize("protected", ["file", "folder"])
def test_a_season_that_may_not_be_written_is_told(county, protected):
    (file,) = write_files(county.folder, files=1, rows=ROWS)
    before = county.season.read_bytes()
    target, mode = (county.season, 0o444) if protected == "file" else (county.folder, 0o555)
    without_rights = ["setpriv", "--bounding-set=-all", "--inh-caps=-all"] if os.geteuid() == 0 else []
    command = [*without_rights, sys.executable, "-m", "roadwatch", "ingest", str(county.season), str(file)]
    target.chmod(mode)
    try:
        result = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=120)
    finally:
        target.chmod(0o755)
    assert result.returncode == 4
    assert "give yourself the right to" in result.stderr or "check your right to" in result.stderr
    assert "Traceback" not in result.stderr
    assert county.season.read_bytes() == before
