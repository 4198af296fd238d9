"""
Time the reading and checking of many rows: ``python tests/benchmarks/bench_reading.py [ROWS] [plain|mixed]``.

The rows are invented; nearly every time and place is different, so that nothing is saved by repetition. ``mixed``
writes places in degrees and minutes, times with am and pm, and loses one minus sign in a hundred.
"""

import sys
import time
from datetime import date

import numpy as np

from roadwatch.records.checks import CheckContext, accept_rows
from roadwatch.records.tables import RawTable

SPECIES = {"slider": 0.4, "T. scripta": 0.2, "box turtle": 0.2, "cooter?": 0.18, "snaping turtle": 0.01, "slidr": 0.01}


def invented_rows(rng: np.random.Generator, n_rows: int, *, mixed: bool) -> RawTable:
    """Rows of eleven columns as a club's spreadsheet has them."""
    seconds = rng.integers(0, 200 * 86_400, n_rows)
    moments = np.datetime64("2025-04-01T00:00:00") + seconds.astype("timedelta64[s]")
    longitude, latitude = rng.uniform(-82.7, -82.0, n_rows), rng.uniform(29.4, 29.9, n_rows)
    return RawTable.of_columns(
        "club.csv",
        {
            "record_id": [f"r{i}" for i in range(n_rows)],
            "observed_at": _everyday(moments) if mixed else np.datetime_as_string(moments).tolist(),
            "longitude": _minutes(longitude, "W") if mixed else [f"{value:.6f}" for value in longitude],
            "latitude": _minutes(latitude, "N") if mixed else [f"{value:.6f}" for value in latitude],
            "species": rng.choice(list(SPECIES), n_rows, p=list(SPECIES.values())).tolist(),
            "id_confidence": rng.choice(["likely", "0.8", "sure", ""], n_rows).tolist(),
            "condition": rng.choice(["DOR", "alive", "road kill"], n_rows).tolist(),
            "carapace_mm": rng.integers(60, 200, n_rows).astype(str).tolist(),
            "observer": rng.choice([f"person {i}" for i in range(300)], n_rows).tolist(),
            "notes": ["wet road"] * n_rows,
            "weather": rng.choice(["hot", "rain"], n_rows).tolist(),
        },
    )


def _everyday(moments: np.ndarray) -> list[str]:
    return [f"{one:%m/%d/%Y %I:%M:%S %p}" for one in moments.astype("datetime64[s]").tolist()]


def _minutes(degrees: np.ndarray, letter: str) -> list[str]:
    sizes = np.abs(degrees)
    letters = ["E" if letter == "W" and i % 100 == 0 else letter for i in range(len(sizes))]
    return [f"{int(one)} {one % 1 * 60:.4f} {sign}" for one, sign in zip(sizes, letters, strict=True)]


def main() -> None:
    """Read and check once; processor time, as the machine may have other work."""
    n_rows = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    mixed = "mixed" in sys.argv
    raw = invented_rows(np.random.default_rng(1), n_rows, mixed=mixed)
    context = CheckContext(date(2026, 6, 1), -82.7, 29.4, -82.0, 29.9)
    start = time.process_time()
    accepted = accept_rows(raw, "crossings", timezone="America/New_York", context=context)
    taken_s = time.process_time() - start
    kept, told, mended = len(accepted.table), len(accepted.faults), len(accepted.repairs)
    sys.stdout.write(f"{kept:,} of {n_rows:,} rows accepted, {told:,} remarks, {mended:,} repairs: {taken_s:.2f} s\n")


if __name__ == "__main__":
    main()
