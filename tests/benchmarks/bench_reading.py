"""
Time the reading and checking of 100,000 rows: ``python tests/benchmarks/bench_reading.py``.

The rows are invented; nearly every time and place is different, so that nothing is saved by repetition.
"""

import sys
import time
from datetime import date

import numpy as np

from roadwatch.records.checks import CheckContext, accept_rows
from roadwatch.records.tables import RawTable

N_ROWS = 100_000


def invented_rows(rng: np.random.Generator) -> RawTable:
    """Rows of twelve columns as a club's spreadsheet has them."""
    seconds = rng.integers(0, 200 * 86_400, N_ROWS)
    times = np.datetime_as_string(np.datetime64("2025-04-01T00:00:00") + seconds.astype("timedelta64[s]"))
    return RawTable.of_columns(
        "club.csv",
        {
            "record_id": [f"r{i}" for i in range(N_ROWS)],
            "observed_at": times.tolist(),
            "longitude": [f"{value:.6f}" for value in rng.uniform(-82.7, -82.0, N_ROWS)],
            "latitude": [f"{value:.6f}" for value in rng.uniform(29.4, 29.9, N_ROWS)],
            "species": rng.choice(["slider", "cooter?", "T. scripta", "box turtle"], N_ROWS).tolist(),
            "id_confidence": rng.choice(["likely", "0.8", "sure", ""], N_ROWS).tolist(),
            "condition": rng.choice(["DOR", "alive", "road kill"], N_ROWS).tolist(),
            "carapace_mm": rng.integers(60, 200, N_ROWS).astype(str).tolist(),
            "observer": rng.choice(["Ada", "Bo"], N_ROWS).tolist(),
            "notes": ["wet road"] * N_ROWS,
            "weather": rng.choice(["hot", "rain"], N_ROWS).tolist(),
        },
    )


def main() -> None:
    """Read and check once; processor time, as the machine may have other work."""
    raw = invented_rows(np.random.default_rng(1))
    context = CheckContext(date(2026, 6, 1), -82.7, 29.4, -82.0, 29.9)
    start = time.process_time()
    accepted = accept_rows(raw, "crossings", timezone="America/New_York", context=context)
    taken_s = time.process_time() - start
    sys.stdout.write(f"{len(accepted.table):,} rows accepted, {len(accepted.faults):,} remarks: {taken_s:.2f} s\n")


if __name__ == "__main__":
    main()
