"""Quality flags of the daily climate archive: a flagged value is not used, and that is said."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roadwatch.records.tables import RowFault

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from roadwatch.records.tables import RawTable

MEANING = {
    "D": "duplicate",
    "G": "gap",
    "I": "internal consistency",
    "K": "streak of the same value",
    "L": "length of a multi-day period",
    "M": "mega-consistency",
    "N": "naught",
    "O": "climatological outlier",
    "R": "lagged range",
    "S": "spatial consistency",
    "T": "temporal consistency",
    "W": "too warm for snow",
    "X": "bounds",
    "Z": "an official investigation",
}
"""What the archive's check was that a value failed (ghcn_daily)."""

OBSERVATION_HOUR_NOTE = (
    "volunteer stations often read in the morning: the high under a date can be that of the day before (ghcn_daily)"
)


def flag_reason(flag: str) -> str:
    """Why a flagged value is left out, and what to do."""
    meaning = MEANING.get(flag, "a check that is not listed")
    return (
        f"the value carries the archive's quality flag {flag} ({meaning}) and is left out; "
        "expected an unflagged value, take it from another station if the day matters"
    )


def flag_faults(
    table: RawTable,
    flagged: NDArray[np.bool_],
    *,
    column: str,
    flags: pd.Series,
    values: pd.Series,
) -> list[RowFault]:
    """One fault for each flagged value of a table whose rows stay."""
    return [
        RowFault(
            source=table.source,
            line=int(table.lines[at]),
            original=table.originals[at],
            column=column,
            found=f"{values.iloc[at]} {flags.iloc[at]}",
            reason=flag_reason(str(flags.iloc[at])),
            severity="note",
        )
        for at in np.flatnonzero(flagged)
    ]
