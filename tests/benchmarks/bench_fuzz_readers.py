"""
Damaged files against every reader: ``PYTHONPATH=tests python tests/benchmarks/bench_fuzz_readers.py 100000 1 csv kml``.

The one word ``hostile`` times the files made to hurt instead. Arguments are the number of inputs for each reader, the
seed, and the readers (all where none is named). An input may end in tables or in one line of refusal; anything else is
a failure: a traceback, a dead process, more than 2 s of processor time, or more than 500 MB above what the process had
before. The damaged file is made again from the seed, the reader and the number of the input.
"""

# ruff: noqa: T201  # a benchmark talks to its reader

from __future__ import annotations

import multiprocessing
import os
import re
import resource
import sys
import tempfile
import time
import traceback
import zlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from records.readers.fuzz_files import damaged, sound_files
from records.readers.hostile_files import HOSTILE

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import read_file
from roadwatch.records.readers.layers import read_layer

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from multiprocessing.sharedctypes import Synchronized, SynchronizedArray

    from roadwatch.records.tables import RawTable

OUTCOMES = ("read", "refused")
LAYERS = frozenset({"geojson", "kml", "kmz", "geopackage", "shapefile"})
"""Formats that go in as map layers too, through a door of their own."""
LONGEST_S = 2.0
LARGEST_MB = 500
STALLED_S = 60
TOLD_EVERY = 10_000
AS_LAYER_EVERY = 4
"""Of the inputs in such a format, one in so many goes through that door too."""
_REFUSAL = re.compile(r"[^\n]+: found .+, expected .+; .{1,300}")
"""One line: where, what was found, what is expected, what to do."""


def damaged_file(name: str, body: bytes, *, seed: int, reader: str, number: int) -> tuple[str, bytes]:
    """The damaged file of one number."""
    rng = np.random.default_rng([seed, zlib.crc32(reader.encode()), number])
    return name, damaged(body, rng)


@dataclass(frozen=True)
class Shared:
    """What a worker tells while it runs, and what is left of it when it dies."""

    number: Synchronized[int] = field(default_factory=lambda: multiprocessing.Value("q", 0, lock=False))
    counts: SynchronizedArray[int] = field(default_factory=lambda: multiprocessing.Array("q", 3, lock=False))
    worst: SynchronizedArray[float] = field(default_factory=lambda: multiprocessing.Array("d", 2, lock=False))


def work(reader: str, sound: tuple[str, bytes], seed: int, last: int, shared: Shared) -> None:
    """Read the inputs from the shared number to the last, telling what failed."""
    devnull = os.open(os.devnull, os.O_WRONLY)
    os.dup2(devnull, 2)  # libraries complain of damage there
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / sound[0]
        path.write_bytes(sound[1])
        for _ in range(3):
            _outcome(path, as_layer=reader in LAYERS)  # brings in the libraries
        before_mb = _resident_mb()
        limit = int(_virtual_mb() + 4 * LARGEST_MB) * 1_000_000
        resource.setrlimit(resource.RLIMIT_AS, (limit, limit))
        for number in range(shared.number.value, last):
            shared.number.value = number
            _, body = damaged_file(*sound, seed=seed, reader=reader, number=number)
            path.write_bytes(body)
            started = time.process_time()
            outcome = _outcome(path, as_layer=reader in LAYERS and number % AS_LAYER_EVERY == 0)
            spent, largest = time.process_time() - started, _resident_mb() - before_mb
            is_failure = outcome not in OUTCOMES or spent > LONGEST_S or largest > LARGEST_MB
            shared.counts[2 if is_failure else OUTCOMES.index(outcome)] += 1
            shared.worst[:] = [max(shared.worst[0], spent), max(shared.worst[1], largest)]
            if (number + 1) % TOLD_EVERY == 0:
                print(f"  {reader}: {number + 1:,} inputs, {shared.counts[2]} failures so far", flush=True)
            if is_failure:
                print(
                    f"  FAILURE {reader} seed {seed} input {number}: {outcome}, {spent:.2f} s, {largest:.0f} MB",
                    flush=True,
                )
        shared.number.value = last


def _outcome(path: Path, *, as_layer: bool = False) -> str:
    told = _told(lambda: _has_equal_parts(read_file(path)))
    told_of_layer = _told(lambda: len(read_layer(path)) > 0) if as_layer else told
    return told if told_of_layer in OUTCOMES else told_of_layer


def _told(read: Callable[[], bool]) -> str:
    """Whether a reading ends in what it should, or else in what."""
    try:
        return "read" if read() else "traceback: tables of unequal parts"
    except UnfitFileError as error:
        return "refused" if _REFUSAL.fullmatch(str(error)) else f"traceback: refusal of another form {error}"
    except BaseException as error:  # noqa: BLE001  # whatever comes out is what is looked for
        last = traceback.extract_tb(error.__traceback__)[-1]
        return f"traceback: {type(error).__name__} {str(error)[:80]!r} at {Path(last.filename).name}:{last.lineno}"


def _has_equal_parts(tables: Sequence[RawTable]) -> bool:
    return bool(tables) and all(len(one.rows) == len(one.lines) == len(one.originals) for one in tables)


def _resident_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _virtual_mb() -> float:
    return int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize() / 1e6


def fuzz(reader: str, sound: tuple[str, bytes], *, n_inputs: int, seed: int) -> None:
    """Run a reader in processes of their own until all inputs are done; a dead or stalled process is a failure."""
    started, shared = time.monotonic(), Shared()
    while shared.number.value < n_inputs:
        worker = multiprocessing.Process(target=work, args=(reader, sound, seed, n_inputs, shared))
        worker.start()
        _wait(worker, shared)
        if shared.number.value < n_inputs:
            print(
                f"  FAILURE {reader} seed {seed} input {shared.number.value}: ended with {worker.exitcode}", flush=True
            )
            shared.counts[2] += 1
            shared.number.value += 1
    n_read, n_refused, n_failures = shared.counts
    print(
        f"| {reader} | {n_inputs:,} | {seed} | {n_read:,} | {n_refused:,} | {n_failures} "
        f"| {shared.worst[0]:.2f} | {shared.worst[1]:.0f} | {time.monotonic() - started:.0f} |",
        flush=True,
    )


def _wait(worker: multiprocessing.Process, shared: Shared) -> None:
    seen, since = shared.number.value, time.monotonic()
    while worker.is_alive():
        worker.join(1)
        if shared.number.value != seen:
            seen, since = shared.number.value, time.monotonic()
        elif time.monotonic() - since > STALLED_S:
            worker.kill()
            worker.join()


def hostile() -> None:
    """Tell how long each file made to hurt takes to be refused; it is a failure above 5 s."""
    with tempfile.TemporaryDirectory() as folder:
        for case, (name, make) in HOSTILE.items():
            path = Path(folder) / name
            path.write_bytes(make())
            started = time.process_time()
            outcome = _outcome(path)
            print(f"| {case} | {path.stat().st_size:,} | {outcome} | {time.process_time() - started:.2f} |", flush=True)


def main() -> None:
    """Damage, read and tell."""
    if sys.argv[1:] == ["hostile"]:
        hostile()
        return
    n_inputs, seed, *readers = sys.argv[1:] or ("1000", "1")
    with tempfile.TemporaryDirectory() as folder:
        sound = sound_files(Path(folder))
    print("| reader | inputs | seed | read | refused | failures | slowest, s | largest, MB | took, s |")
    print("|---|---|---|---|---|---|---|---|---|")
    for reader in readers or sound:
        fuzz(reader, sound[reader], n_inputs=int(n_inputs), seed=int(seed))


if __name__ == "__main__":
    main()
