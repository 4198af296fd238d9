"""Kill a writer at two hundred instants and look at what it leaves; run it by hand from the project's folder."""

# ruff: noqa: T201  # a benchmark talks to its reader

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from records.test_store_crash import assert_whole, kill_a_writer

N_KILLS = 200


def main() -> None:
    """Kill, look, count; an assertion names the first season that is not whole."""
    acknowledged, interrupted = 0, 0
    for seed in range(N_KILLS):
        with tempfile.TemporaryDirectory() as folder:
            season, told = kill_a_writer(Path(folder), seed)
            interrupted += season.path.with_name("season.gpkg-journal").exists()
            assert_whole(season, told)
            acknowledged += told
    print(f"{N_KILLS} kills, {interrupted} in the middle of a transaction, {acknowledged} batches told: all whole")


if __name__ == "__main__":
    main()
