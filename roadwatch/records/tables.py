"""What a reader hands on: rows as text, each with the place it came from and its original wording."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, Self

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from roadwatch.records.fields import Kind

Severity = Literal["hold back", "ask", "note"]
"""``hold back``: the row is not stored; ``ask``: a person decides; ``note``: stored, and said."""


@dataclass(frozen=True)
class RowFault:
    """
    One thing wrong with one row, told so that a person can find and mend it.

    Parameters
    ----------
    source
        The file or layer, as messages call it.
    line
        Line or feature number as a person counts it; the header of a CSV file is line 1.
    original
        The row as it stands in the file.
    column
        The column at fault, blank where it is the row as a whole.
    found
        What stands there.
    reason
        A full sentence with what is expected and what to do.
    severity
        What becomes of the row.
    proposal
        Canonical field to the text that would be right, where a repair is likely but not certain.
    """

    source: str
    line: int
    original: str
    column: str
    found: str
    reason: str
    severity: Severity = "hold back"
    proposal: Mapping[str, str] | None = field(default=None, hash=False)

    def __str__(self) -> str:
        """The fault in one line, such as ``crossings.csv, line 3: ...``."""
        return f"{self.source}, line {self.line}: {self.reason}"


@dataclass(frozen=True)
class Repair:
    """
    A slip that could be mended for certain: the accepted row already holds the new value.

    Parameters
    ----------
    line
        Line or feature number as a person counts it.
    original
        The row as it stands in the file.
    column
        The canonical field that was mended.
    old, new
        Its value as read and as mended, as text.
    why
        A full sentence: what was wrong and what makes the repair certain.
    """

    line: int
    original: str
    column: str
    old: str
    new: str
    why: str


@dataclass(frozen=True, eq=False)
class RawTable:
    """
    Rows of one file or layer, all text, columns named as written.

    Parameters
    ----------
    source
        How messages call it: ``crossings.csv`` or ``season.gpkg, layer nests``.
    rows
        (n, columns) text or None for a blank cell.
    lines
        (n,) line or feature number of each row as a person counts it.
    originals
        (n,) each row as it stands in the file: the line verbatim, or the feature as one line of JSON.
    notes
        What the reader found and took: encoding, separator, units.
    faults
        ``hold back``: a row that is not among ``rows``; ``note``: a kept row, or one that carries no value.
    kind
        Known from the format, such as a weather file; None where the columns have to tell.
    decimal_comma
        Numbers are written with a comma; the cells still hold them as written.
    """

    source: str
    rows: pd.DataFrame
    lines: NDArray[np.int64]
    originals: list[str]
    notes: tuple[str, ...] = ()
    faults: tuple[RowFault, ...] = ()
    kind: Kind | None = None
    decimal_comma: bool = False

    def __post_init__(self) -> None:
        if not len(self.rows) == len(self.lines) == len(self.originals):
            msg = f"{self.source}: {len(self.rows)} rows, {len(self.lines)} lines, {len(self.originals)} originals"
            raise ValueError(msg)

    @classmethod
    def of_columns(
        cls,
        source: str,
        columns: Mapping[str, Sequence[str | None]],
        *,
        lines: Sequence[int] | NDArray[np.int64] | None = None,
        originals: Sequence[str] | None = None,
        notes: tuple[str, ...] = (),
        faults: tuple[RowFault, ...] = (),
        kind: Kind | None = None,
        decimal_comma: bool = False,
    ) -> Self:
        """
        Build a table from columns of text; lines count from 2 and originals join the cells where not given.

        >>> RawTable.of_columns("crossings.csv", {"taxon": ["wood turtle"]}).lines.tolist()
        [2]

        Raises
        ------
        ValueError
            The columns, lines or originals differ in length.
        """
        rows = pd.DataFrame({name: pd.Series(list(cells), dtype=object) for name, cells in columns.items()})
        if originals is None:
            originals = [",".join(cell or "" for cell in row) for row in rows.itertuples(index=False, name=None)]
        numbers = np.arange(2, len(rows) + 2) if lines is None else np.asarray(lines, dtype=np.int64)
        return cls(source, rows, numbers.astype(np.int64), list(originals), notes, faults, kind, decimal_comma)
