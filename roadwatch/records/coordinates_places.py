"""The places of a file as they are read, with what is wrong with them and what was mended."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from roadwatch.records.complaints import Complaint

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

    Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class Mended:
    """One value of one row that a certain repair changed; rows count from 0."""

    row: int
    column: str
    old: str
    new: str
    why: str


@dataclass(eq=False)
class Places:
    """
    The places of a file.

    Parameters
    ----------
    longitude, latitude
        (n,) degrees, nan where blank or not readable.
    complaints
        What is wrong, by row; a row without any place has none here.
    notes
        What was found and decided for the file.
    repairs
        What was mended for certain.
    texts
        ``longitude`` and ``latitude``: (n,) what stands in the file, None where nothing does.
    """

    longitude: Numbers
    latitude: Numbers
    texts: dict[str, pd.Series]
    complaints: list[Complaint] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    repairs: list[Mended] = field(default_factory=list)

    @property
    def told_rows(self) -> set[int]:
        """Rows that have a complaint."""
        return {complaint.row for complaint in self.complaints if complaint.severity == "hold back"}


def number_text(value: float) -> str:
    """A number as a person would write it: no rounding noise, no bare '.0'."""
    return f"{round(float(value), 7):.15g}"


def place_text(longitude: float, latitude: float) -> str:
    """
    A place in words.

    >>> place_text(-82.3, 29.6)
    'longitude -82.3, latitude 29.6'
    """
    return f"longitude {number_text(longitude)}, latitude {number_text(latitude)}"


def complaint_about(row: int, column: str, text: str, reason: str) -> Complaint:
    """A complaint that shows the text, shortened, before the reason."""
    shown = text if len(text) <= 60 else f"{text[:57]}..."
    return Complaint(row, column, shown, f"{column} '{shown}' {reason}")
