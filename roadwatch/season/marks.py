"""The marks that observers report, held against the tables of characters while the file is still at hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.identify.evidence import evidence_of
from roadwatch.identify.tables import identify_tables
from roadwatch.records.tables import RowFault

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd


def unusable_marks(good: pd.DataFrame, source: str, *, tables_folder: Path | None) -> list[RowFault]:
    """
    Say which ``seen_*`` cells cannot be used: an unknown character or state, or one that the view cannot show.

    Parameters
    ----------
    good
        (n,) accepted rows with ``line`` and ``original``.
    source
        How messages call the table.
    tables_folder
        A county's own tables, or None for the shipped ones.

    Returns
    -------
    One note a cell; the record is kept as it is, and the cell counts as not seen.
    """
    if not any(str(name).startswith("seen_") for name in good.columns):
        return []
    lines, originals = good["line"].tolist(), good["original"].tolist()
    return [
        RowFault(
            source=source,
            line=int(lines[fault.record]),
            original=str(originals[fault.record]),
            column=fault.column,
            found=fault.found,
            reason=f"{fault.column} '{fault.found}' is not used to identify: {fault.reason}",
            severity="note",
        )
        for fault in evidence_of(good.reset_index(drop=True), identify_tables(tables_folder)).faults
    ]
