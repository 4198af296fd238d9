"""Reading one column: each distinct text once, and what is wrong with it by row."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.complaints import LONGEST_CELL, TOO_LONG, Complaint, Misread, Remarked
from roadwatch.records.coordinates_places import complaint_about
from roadwatch.records.numbers import expected

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from roadwatch.records.cell_readers import CellReader
    from roadwatch.records.coordinates_places import Places
    from roadwatch.records.fields import Field
    from roadwatch.records.tables import Severity


def read_column(
    cells: pd.Series, one: Field, reader: CellReader, *, at_once: Callable[[list[str]], dict[str, str]] | None = None
) -> tuple[pd.Series, list[Complaint]]:
    """
    Read each distinct text once; a blank that is required is a complaint of its own.

    Parameters
    ----------
    cells
        (n,) texts, None where blank.
    one
        The field that they feed.
    reader
        Reads one text.
    at_once
        Reads many texts, as many of them as it can; the others go to ``reader``.
    """
    if one.type == "text":
        blank = np.flatnonzero(cells.isna().to_numpy()) if one.required else np.zeros(0, dtype=np.int64)
        return cells, missing_complaints(blank, one)
    codes, distinct = pd.factorize(cells)
    known = at_once(list(distinct)) if at_once else {}
    results = [known.get(text) or (reader(text) if len(text) <= LONGEST_CELL else TOO_LONG) for text in distinct]
    readable = [None if isinstance(result, Misread) else result for result in results] + [None]
    plain = [result.value if isinstance(result, Remarked) else result for result in readable]
    dtype = "float64" if one.type in ("number", "integer", "probability") else object
    values = pd.Series(pd.Series(plain, dtype=object).to_numpy()[codes], dtype=dtype)
    complaints = _misreadings(codes, distinct, results, one)
    if one.required:
        complaints += missing_complaints(np.flatnonzero(codes == -1), one)
    return values, complaints


def missing_complaints(rows: np.ndarray, one: Field) -> list[Complaint]:
    """A complaint about each row where a field that a record cannot be without is blank."""
    said = f"{one.name} is missing; write {_wanted(one)}"
    return [Complaint(int(row), one.name, "", said) for row in rows]


def _misreadings(codes: np.ndarray, distinct: pd.Index, results: Sequence[object], one: Field) -> list[Complaint]:
    said: dict[int, tuple[str, Severity, dict[str, str] | None]] = {}
    for code, result in enumerate(results):
        if isinstance(result, Misread):
            said[code] = (result.reason, "hold back", {one.name: result.proposal} if result.proposal else None)
        elif isinstance(result, Remarked):
            said[code] = (result.remark, "note", None)
    rows = np.flatnonzero(np.isin(codes, list(said)))
    return [_complaint(int(row), one.name, distinct[codes[row]], *said[codes[row]]) for row in rows]


def _complaint(
    row: int, column: str, text: str, reason: str, severity: Severity, proposal: dict[str, str] | None
) -> Complaint:
    return replace(complaint_about(row, column, text, reason), severity=severity, proposal=proposal)


def _wanted(one: Field) -> str:
    """What to write in a required field that is blank."""
    if one.type == "taxon":
        return "the animal's name, or 'turtle' where no more is known"
    if one.type in ("date", "datetime"):
        return "the day, such as 2025-05-12"
    if one.type == "choice":
        return f"one of {', '.join(one.choices)}"
    return expected(one) if one.type in ("number", "integer") else f"it as explained: {one.meaning}"


def place_column(places: Places, one: Field) -> tuple[pd.Series, list[Complaint]]:
    """One of the two columns of a place, with the complaints about it."""
    values = places.longitude if one.name == "longitude" else places.latitude
    complaints = [complaint for complaint in places.complaints if complaint.column == one.name]
    if one.required:
        is_missing = np.isnan(values) & places.texts[one.name].isna().to_numpy()
        complaints += missing_complaints(np.flatnonzero(is_missing), one)
    return pd.Series(values, dtype="float64"), complaints
