"""Kill an ingest at two hundred instants and look at what it leaves; run it by hand from the project's folder."""

# ruff: noqa: T201  # a benchmark talks to its reader

from __future__ import annotations

import random
import shutil
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from season.fire_cases import Server, assert_whole, wait_for_write, write_files  # noqa: E402  # the tests' folder comes first
from tiny_county import County, road_layer, road_line  # noqa: E402

N_KILLS = 200
FILES, ROWS = 4, 1_000


def main() -> None:
    """Kill, look, repeat the ingest; an assertion names the first season that is not whole."""
    counts = {"before the end": 0, "in a transaction": 0, "batches told": 0, "batches stored": 0}
    with tempfile.TemporaryDirectory() as name:
        county = County(Path(name))
        roads = road_layer(road_line("Invented East Road", (-0.05, 0), (0.05, 0)))
        county.run("new", county.season, "--roads", county.write("roads.geojson", roads), "--timezone", "UTC")
        empty = county.folder / "empty.gpkg"
        shutil.copy(county.season, empty)
        files = write_files(county.folder, files=FILES, rows=ROWS)
        server = Server(county.folder)
        journal = county.season.with_name("season.gpkg-journal")
        for _ in range(2):  # the second is not slowed by what is done once
            shutil.copy(empty, county.season)
            whole_s, _ = server.ingest(county.season, files, wait_to_kill=None)
        for seed in range(N_KILLS):
            shutil.copy(empty, county.season)
            rng = random.Random(seed)
            wait = partial(time.sleep, rng.uniform(0, whole_s))
            if seed % 2:
                wait = partial(wait_for_write, county.season, after_s=rng.uniform(0, 0.1), at_most_s=whole_s)
            _, told = server.ingest(county.season, files, wait_to_kill=wait)
            counts["before the end"] += told < FILES
            counts["in a transaction"] += journal.exists()
            counts["batches told"] += told
            counts["batches stored"] += assert_whole(county.season, told=told, rows=ROWS)
            if seed % 20 == 0:
                server.ingest(county.season, files, wait_to_kill=None)
                assert assert_whole(county.season, told=FILES, rows=ROWS) == FILES
        server.close()
    print(
        f"{N_KILLS} ingests of {FILES} files of {ROWS} rows, {whole_s:.1f} s each, seeds 0 to {N_KILLS - 1}: {counts}"
    )


if __name__ == "__main__":
    main()
