"""The table of a trial with placed carcasses: how long each lay, and whether a search found it."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.hotspots.carcasses import CarcassTrial, fit_found_share, fit_persistence

if TYPE_CHECKING:
    from pathlib import Path

COLUMNS = ("days", "gone", "found")
YES, NO = frozenset({"yes", "y", "true", "1"}), frozenset({"no", "n", "false", "0"})
SHAPE = (
    "a row a carcass, with days (days until it was gone or was last seen), gone (yes or no) and found (yes or no: did "
    "somebody who did not know of it find it on one search; blank where it was not searched for)"
)


@dataclass(frozen=True)
class TrialTable:
    """
    A trial as written.

    Parameters
    ----------
    days, is_gone
        (n,) Days until each carcass was gone or was last seen, and True where it was gone.
    n_found, n_searched
        Carcasses that one search found, and those that were searched for.
    """

    days: np.ndarray
    is_gone: np.ndarray
    n_found: int
    n_searched: int

    def trial(self, days_between_searches: float) -> CarcassTrial:
        """
        Fit persistence and finding, and put the days between searches beside them.

        Parameters
        ----------
        days_between_searches
            Days from one search of a road to the next.

        Raises
        ------
        UsageError
            Every carcass outlasted the trial, or none was searched for.
        """
        return CarcassTrial(
            *fit_persistence(self.days, self.is_gone),
            *fit_found_share(self.n_found, self.n_searched),
            days_between_searches,
        )


def read_carcass_trial(path: Path) -> TrialTable:
    """
    Read the table of a trial.

    Parameters
    ----------
    path
        CSV in UTF-8, commas or semicolons, with a heading and the columns ``days gone found``; others are ignored.

    Raises
    ------
    UsageError
        There is no such file.
    UnfitFileError
        A heading is missing, there is no row, or a cell does not fit; the message names it.
    """
    if not path.is_file():
        raise UsageError(f"{path} does not exist; name a table with {SHAPE}")
    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except UnicodeDecodeError:
        raise UnfitFileError(f"{path.name} is not text in UTF-8; save it as CSV (UTF-8)") from None
    separator = ";" if lines and ";" in lines[0] else ","
    rows = [
        {(key or "").strip().lower(): (text or "").strip() for key, text in row.items() if isinstance(text, str | None)}
        for row in csv.DictReader(lines, delimiter=separator)
    ]
    if not rows or not set(COLUMNS) <= set(rows[0]):
        raise UnfitFileError(f"{path.name}: expected the headings {','.join(COLUMNS)} and {SHAPE}")
    days, gone, found = zip(
        *(_cells(row, f"{path.name}, line {number}") for number, row in enumerate(rows, start=2)), strict=True
    )
    searched = [one for one in found if one is not None]
    return TrialTable(np.array(days), np.array(gone), sum(searched), len(searched))


def _cells(row: dict[str, str], where: str) -> tuple[float, bool, bool | None]:
    try:
        days = float(row["days"].replace(",", "."))
    except ValueError:
        days = np.nan
    if not 0.0 <= days < np.inf:
        raise UnfitFileError(f"{where}: days '{row['days']}' is not a number of days; write one, such as 3.5")
    gone = _answer(row["gone"], f"{where}: gone")
    if gone is None:
        raise UnfitFileError(f"{where}: gone is blank; write yes where the carcass was gone, no where it still lay")
    return days, gone, _answer(row["found"], f"{where}: found")


def _answer(text: str, where: str) -> bool | None:
    word = text.lower()
    if word and word not in YES | NO:
        raise UnfitFileError(f"{where} '{text}' is neither yes nor no; write one of them")
    return None if not word else word in YES
