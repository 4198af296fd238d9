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

if TYPE_CHECKING:
    from multiprocessing.sharedctypes import Synchronized, SynchronizedArray

OUTCOMES = ("read", "refused")
LONGEST_S = 2.0
LARGEST_MB = 500
STALLED_S = 60


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
            read_file(path)  # brings in the libraries
        before_mb = _resident_mb()
        limit = int(_virtual_mb() + 4 * LARGEST_MB) * 1_000_000
        resource.setrlimit(resource.RLIMIT_AS, (limit, limit))
        for number in range(shared.number.value, last):
            shared.number.value = number
            _, body = damaged_file(*sound, seed=seed, reader=reader, number=number)
            path.write_bytes(body)
            started = time.process_time()
            outcome = _outcome(path)
            spent, largest = time.process_time() - started, _resident_mb() - before_mb
            is_failure = outcome not in OUTCOMES or spent > LONGEST_S or largest > LARGEST_MB
            shared.counts[2 if is_failure else OUTCOMES.index(outcome)] += 1
            shared.worst[:] = [max(shared.worst[0], spent), max(shared.worst[1], largest)]
            if is_failure:
                print(
                    f"  FAILURE {reader} seed {seed} input {number}: {outcome}, {spent:.2f} s, {largest:.0f} MB",
                    flush=True,
                )
        shared.number.value = last


def _outcome(path: Path) -> str:
    try:
        tables = read_file(path)
    except UnfitFileError as error:
        return "refused" if "\n" not in str(error) and len(str(error)) < 1000 else "traceback: refusal of many lines"
    except BaseException as error:  # noqa: BLE001  # whatever comes out is what is looked for
        last = traceback.extract_tb(error.__traceback__)[-1]
        return f"traceback: {type(error).__name__} {str(error)[:80]!r} at {Path(last.filename).name}:{last.lineno}"
    counts = {len(table.rows) == len(table.lines) == len(table.originals) for table in tables}
    return "read" if tables and counts == {True} else "traceback: tables of unequal parts"


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
