"""
Inputs that grow towards unseen code: ``PYTHONPATH=tests python tests/benchmarks/bench_fuzz_guided.py 100000 1 gpx``.

Needs atheris, a coverage-guided fuzzer, which no other part of the project uses. Arguments are the number of inputs for
each target, the seed, and the targets (all where none is named). An input may end in a result or in one line of
refusal; a traceback, more than 2 s or more than 500 MB ends the target's process, which names the file that did it.
"""

# ruff: noqa: T201  # a benchmark talks to its reader

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from collections.abc import Callable

try:
    import atheris
except ImportError:
    sys.exit("this benchmark needs atheris: pip install atheris; the other fuzzing runs without it")

with atheris.instrument_imports(include=["roadwatch"]):
    from roadwatch.errors import UnfitFileError
    from roadwatch.records.coordinates import angle_of
    from roadwatch.records.dates import day_order, read_time
    from roadwatch.records.readers import read_file
    from roadwatch.records.readers.text_files import read_text_file
    from roadwatch.records.written_names import take_apart

from records.readers.fuzz_files import sound_files
from records.readers.fuzz_values import NUMBERS, PLACES, TEXTS, TIMES, VALUES

ZONE = ZoneInfo("America/New_York")
FILES = {"csv": "a.csv", "daily": "a.csv", "dly": "a.dly", "geojson": "a.geojson", "gpx": "a.gpx", "kml": "a.kml"}
LONGEST_S, LARGEST_MB, LONGEST_INPUT = 2, 500, 4000


def target_of(name: str, folder: Path) -> Callable[[bytes], None]:
    """What takes an input: a reader of files in the folder, or a reader of cells."""
    if name == "dates":
        return _read_dates
    if name == "coordinates":
        return lambda body: _each_line(body, angle_of)
    if name == "names":
        return lambda body: _each_line(body, take_apart)
    path = folder / FILES[name]

    def read(body: bytes) -> None:
        path.write_bytes(body)
        with suppress(UnfitFileError):
            read_text_file(path) if name in ("csv", "daily", "dly") and body else read_file(path)

    return read


def _read_dates(body: bytes) -> None:
    texts = body.decode("utf-8", errors="replace").split("\n")
    order = day_order(texts).order
    for text in texts:
        read_time(text, zone=ZONE, order=order)


def _each_line(body: bytes, read: Callable[[str], object]) -> None:
    for text in body.decode("utf-8", errors="replace").split("\n"):
        read(text)


def write_seeds(name: str, folder: Path) -> None:
    """The inputs to begin with."""
    cells = {"dates": TIMES, "coordinates": (*PLACES, *NUMBERS), "names": TEXTS}
    if name in cells:
        for number, text in enumerate(cells[name]):
            (folder / f"{number}").write_text(text, encoding="utf-8")
        return
    with tempfile.TemporaryDirectory() as other:
        (folder / "sound").write_bytes(sound_files(Path(other))[name][1][:LONGEST_INPUT])


def fuzz_here(name: str, n_inputs: int, seed: int) -> None:
    """Fuzz one target in this process, which ends with it."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        seeds = folder / "seeds"
        seeds.mkdir()
        write_seeds(name, seeds)
        words = folder / "words"
        words.write_text("".join(f'"{_escaped(value)}"\n' for value in VALUES if value), encoding="ascii")
        options = [
            f"-runs={n_inputs}",
            f"-seed={seed}",
            f"-timeout={LONGEST_S}",
            f"-dict={words}",
            f"-max_len={LONGEST_INPUT}",
        ]
        options += [f"-rss_limit_mb={LARGEST_MB + 400}", "-print_final_stats=1", f"-artifact_prefix={Path.cwd()}/"]
        atheris.Setup([sys.argv[0], *options, str(seeds)], target_of(name, folder))
        atheris.Fuzz()


def _escaped(text: str) -> str:
    return "".join(f"\\x{byte:02x}" for byte in text.encode()[:60])


def main() -> None:
    """Fuzz each target in a process of its own, and tell."""
    if sys.argv[1:2] == ["here"]:
        fuzz_here(sys.argv[2], int(sys.argv[3]), int(sys.argv[4]))
        return
    n_inputs, seed, *names = sys.argv[1:] or ("1000", "1")
    print("| target | inputs | seed | new paths kept | slowest, s | largest, MB | failures | took, s |")
    print("|---|---|---|---|---|---|---|---|", flush=True)
    for name in names or (*FILES, "dates", "coordinates", "names"):
        started = time.monotonic()
        done = subprocess.run(
            [sys.executable, __file__, "here", name, n_inputs, seed],
            capture_output=True,
            text=True,
            errors="replace",
            check=False,
        )
        told = dict(re.findall(r"stat::(\w+):\s+(\d+)", done.stderr))
        keys = ("number_of_executed_units", "new_units_added", "slowest_unit_time_sec", "peak_rss_mb")
        executed, kept, slowest, largest = (told.get(key, "?") for key in keys)
        print(
            f"| {name} | {executed} | {seed} | {kept} | {slowest} | {largest} | {int(done.returncode != 0)} "
            f"| {time.monotonic() - started:.0f} |",
            flush=True,
        )
        if done.returncode:
            print(done.stdout[-2000:], done.stderr[-500:], flush=True)


if __name__ == "__main__":
    main()
