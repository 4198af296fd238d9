"""Reading a file of incubation durations: one row an egg, or a mean of several."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from io import StringIO
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import UnfitFileError, UsageError

if TYPE_CHECKING:
    from pathlib import Path

NAMES = {
    "temp_c": ("temp_c", "temperature_c", "temp", "temperature", "t", "incubation_temperature"),
    "days": ("days", "duration", "duration_days", "incubation_days", "d", "days_to_hatch", "incubation_duration"),
    "clutch": ("clutch", "clutch_id", "mother", "female", "nest", "nest_id"),
    "n_eggs": ("n_eggs", "n", "eggs", "count"),
}
"""Columns and the names by which people call them."""

HOTTEST_C, LONGEST_DAYS = 45.0, 500.0
"""Eggs survive no temperature above, and take no longer (bounds against slips, convention)."""


@dataclass(frozen=True)
class Durations:
    """Rows with ``temp_c days n_eggs`` and ``clutch`` (None where the file names none), and the rows left out."""

    table: pd.DataFrame
    held_back: tuple[str, ...]


def read_durations(path: Path) -> Durations:
    """
    Read a CSV of durations.

    Parameters
    ----------
    path
        Columns for temperature (degrees C) and days; optional are a clutch and the number of eggs behind a mean.
        Commas, semicolons or tabs; decimal commas where no comma separates.

    Returns
    -------
    The rows that can be used, and a sentence for each that cannot.

    Raises
    ------
    UsageError
        The file does not exist.
    UnfitFileError
        It is no table, or a needed column is missing; the message names the columns expected.
    """
    if not path.is_file():
        raise UsageError(f"{path}: there is no such file; name a CSV of durations")
    raw = path.read_bytes()
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
    head = text.lstrip().split("\n", 1)[0]
    separator = max(",;\t", key=head.count)
    lines = list(csv.reader(StringIO(text), delimiter=separator))
    filled = [(number, cells) for number, cells in enumerate(lines, 1) if any(cell.strip() for cell in cells)]
    if not filled:
        raise UnfitFileError(f"{path.name}: the file is empty; write columns temp_c and days, one row an egg")
    places = _places(filled[0][1], path.name)
    rows, held = [], []
    for number, cells in filled[1:]:
        row = _row(cells, places, decimal_comma=separator != ",")
        if isinstance(row, str):
            held.append(f"{path.name}, line {number}: {row}")
        else:
            rows.append(row)
    return Durations(pd.DataFrame(rows, columns=["temp_c", "days", "n_eggs", "clutch"]), tuple(held))


def _places(header: list[str], name: str) -> dict[str, int]:
    written = [cell.strip().lower().replace(" ", "_") for cell in header]
    places = {
        field: next((written.index(known) for known in known_names if known in written), -1)
        for field, known_names in NAMES.items()
    }
    for field in ("temp_c", "days"):
        if places[field] < 0:
            raise UnfitFileError(
                f"{name}, line 1: no column for {field} among {', '.join(header)}; write one of "
                f"{', '.join(NAMES[field][:4])}"
            )
    return places


def _row(cells: list[str], places: dict[str, int], *, decimal_comma: bool) -> dict[str, object] | str:
    def cell(field: str) -> str:
        place = places[field]
        return cells[place].strip() if 0 <= place < len(cells) else ""

    numbers = {name: _number(cell(name), decimal_comma=decimal_comma) for name in ("temp_c", "days", "n_eggs")}
    temp, days = numbers["temp_c"], numbers["days"]
    eggs = 1.0 if not cell("n_eggs") else numbers["n_eggs"]
    if not 0 < temp <= HOTTEST_C:
        return f"temperature '{cell('temp_c')}' is not a number from 0 to {HOTTEST_C:g}; write degrees C, such as 28"
    if not 0 < days <= LONGEST_DAYS:
        return f"days '{cell('days')}' is not a number from 0 to {LONGEST_DAYS:g}; write days, such as 65.5"
    if not eggs >= 1:
        return f"eggs '{cell('n_eggs')}' is not a number of 1 or more; leave it blank for a single egg"
    return {"temp_c": temp, "days": days, "n_eggs": eggs, "clutch": cell("clutch") or None}


def _number(text: str, *, decimal_comma: bool) -> float:
    try:
        return float(text.replace(",", ".") if decimal_comma else text)
    except ValueError:
        return float(np.nan)
