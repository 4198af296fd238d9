"""How much a fence averts: by the length of its run and by the distance from its ends, each value with its source."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from importlib.resources import files
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import UnfitFileError, UsageError

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.roads.arrays import FloatArray

TABLE = "fence_efficacy.csv"
COLUMNS = ("set", "part", "from_m", "to_m", "value", "low", "high", "source", "remark")
FENCE = "fence"
MEASURES = (FENCE, "sign", "speed", "passage", "other")
"""Words of the column ``measure``, as in the layer of measures; a blank, or no such column, is a fence."""


@dataclass(frozen=True)
class EfficacyRow:
    """
    One row of the table.

    Parameters
    ----------
    part
        ``middle``: share of deaths averted away from the ends, by length of the run. ``end``: what of the middle's
        efficacy is left, by distance from the nearer end.
    from_m, to_m
        Length of run, or distance from the end, for which it holds; ``to_m`` is infinite where nothing ends it.
    value, low, high
        Share, 0 to 1, and the interval that is stated for it.
    source, remark
        Where it comes from.
    """

    part: str
    from_m: float
    to_m: float
    value: float
    low: float
    high: float
    source: str
    remark: str


@dataclass(frozen=True)
class Efficacy:
    """
    A set of rows: middles from the shortest run on, ends from the end inwards.

    Parameters
    ----------
    name
        Name of the set.
    middles, ends
        The rows of each part.
    """

    name: str
    middles: tuple[EfficacyRow, ...]
    ends: tuple[EfficacyRow, ...]

    def least_cells(self, cell_m: float) -> tuple[int, ...]:
        """Cells a run needs for each middle row to hold."""
        return tuple(math.ceil(row.from_m / cell_m - 1e-9) for row in self.middles)

    def end_rows(self, cell_m: float) -> tuple[int, ...]:
        """For each cell from the end inwards, the end row that holds at its centre; none beyond the last."""
        reach_m = max((row.to_m for row in self.ends), default=0.0)
        centres = (np.arange(math.ceil(reach_m / cell_m - 0.5 - 1e-9)) + 0.5) * cell_m
        return tuple(next(k for k, row in enumerate(self.ends) if centre < row.to_m) for centre in centres)

    def central(self) -> tuple[FloatArray, FloatArray]:
        """Values of the middle rows and of the end rows."""
        return np.array([row.value for row in self.middles]), np.array([row.value for row in self.ends])

    def draw(self, rng: np.random.Generator, *, n_draws: int) -> tuple[FloatArray, FloatArray]:
        """
        Draw efficacies within their intervals: below and above the value are equally likely, evenly spread.

        Middle rows move together, and so do end rows; a longer run never does worse than a shorter one.

        Parameters
        ----------
        rng
            Source of chance.
        n_draws
            Number of draws.

        Returns
        -------
        (n_draws, middles) and (n_draws, ends) shares.
        """
        middle = _within(self.middles, rng.random(n_draws))
        return np.maximum.accumulate(middle, axis=1), _within(self.ends, rng.random(n_draws))


def _within(rows: tuple[EfficacyRow, ...], share: FloatArray) -> FloatArray:
    points = [np.interp(share, [0.0, 0.5, 1.0], [row.low, row.value, row.high]) for row in rows]
    return np.column_stack(points) if points else np.zeros((len(share), 0))


def fence_efficacy(name: str = "turtles", *, path: Path | None = None) -> Efficacy:
    """
    Read the efficacy of fences, shipped or of the user's own; a table of one's own without a fence takes the shipped.

    Parameters
    ----------
    name
        Name of the set.
    path
        A table with the columns of the shipped ``fence_efficacy.csv``; None reads that one.

    Raises
    ------
    UsageError
        The file or the set does not exist.
    UnfitFileError
        A row does not fit; the message names it.

    Source
    ------
    markle2017, huijser2016, aresco2005
    """
    label, rows = read_set(name, path=path)
    if path is not None and all(measure_of(row, where) != FENCE for row, where in rows):
        return fence_efficacy(name)
    return efficacy_of(FENCE, rows, label)


def read_set(name: str, *, path: Path | None = None) -> tuple[str, list[tuple[dict[str, str], str]]]:
    """
    Read the rows of one set as written, each with the words that tell where it stands.

    Parameters
    ----------
    name, path
        As in ``fence_efficacy``; a file of one set needs no name.

    Raises
    ------
    UsageError
        The file or the set does not exist.
    UnfitFileError
        A heading is missing, or there is no row.
    """
    if path is not None and not path.is_file():
        raise UsageError(f"{path} does not exist; name a table shaped like {TABLE}")
    source = path or files("roadwatch") / "data" / TABLE
    try:
        rows = list(csv.DictReader(source.read_text(encoding="utf-8-sig").splitlines()))
    except UnicodeDecodeError:
        raise UnfitFileError(f"{path} is not text in UTF-8; save it as CSV (UTF-8)") from None
    label = path.name if path else TABLE
    if not rows or not set(COLUMNS) <= set(rows[0]):
        raise UnfitFileError(f"{label}: expected a row of headings {','.join(COLUMNS)} and at least one row below it")
    sets = sorted({row["set"] or "" for row in rows})
    if path is not None and len(sets) == 1:
        name = sets[0]
    if name not in sets:
        raise UsageError(f"{label} has no set '{name}'; choose one of {', '.join(sets)}")
    return label, [(row, f"{label}, line {number}") for number, row in enumerate(rows, start=2) if row["set"] == name]


def measure_of(row: dict[str, str], where: str) -> str:
    """
    Name the measure that a row is about.

    Parameters
    ----------
    row, where
        As from ``read_set``.

    Raises
    ------
    UnfitFileError
        Its word is not known.
    """
    word = (row.get("measure") or "").strip().lower() or FENCE
    if word not in MEASURES:
        raise UnfitFileError(f"{where}: measure '{word}' is not known; write {', '.join(MEASURES)}")
    return word


def efficacy_of(measure: str, rows: list[tuple[dict[str, str], str]], label: str) -> Efficacy:
    """
    Put the rows of one measure together, and check that they fit one another.

    Parameters
    ----------
    measure
        The measure.
    rows, label
        As from ``read_set``.

    Raises
    ------
    UnfitFileError
        A row does not fit.
    """
    own = [_row(row, where) for row, where in rows if measure_of(row, where) == measure]
    name = rows[0][0]["set"]
    return _checked(
        Efficacy(name, *(tuple(row for row in own if row.part == part) for part in ("middle", "end"))), label
    )


def _row(row: dict[str, str], where: str) -> EfficacyRow:
    if row["part"] not in {"middle", "end"}:
        raise UnfitFileError(f"{where}: part '{row['part']}' is not known; write middle or end")
    numbers = {}
    for name in ("from_m", "to_m", "value", "low", "high"):
        text = (row[name] or "").strip() or ("inf" if name == "to_m" else "")
        try:
            numbers[name] = float(text)
        except ValueError:
            raise UnfitFileError(f"{where}: {name} '{row[name]}' is not a number; write one, such as 0.8") from None
    if not 0.0 <= numbers["low"] <= numbers["value"] <= numbers["high"] <= 1.0:
        raise UnfitFileError(f"{where}: expected 0 <= low <= value <= high <= 1")
    if not 0.0 <= numbers["from_m"] < numbers["to_m"]:
        raise UnfitFileError(f"{where}: expected from_m at least 0 and less than to_m")
    return EfficacyRow(row["part"], **numbers, source=row["source"] or "", remark=row["remark"] or "")


def _checked(efficacy: Efficacy, label: str) -> Efficacy:
    """Rows that follow one another without a gap, and middles that do not fall with length."""
    if not efficacy.middles:
        raise UnfitFileError(f"{label}: set '{efficacy.name}' has no row of part middle; add one")
    for rows in (efficacy.middles, efficacy.ends):
        borders = [0.0, *(row.to_m for row in rows)]
        if any(row.from_m != border for row, border in zip(rows, borders, strict=False)):
            raise UnfitFileError(f"{label}: rows of set '{efficacy.name}' must start at 0 and follow without a gap")
    values = [row.value for row in efficacy.middles]
    if values != sorted(values) or not math.isinf(efficacy.middles[-1].to_m):
        raise UnfitFileError(f"{label}: efficacy must not fall with the length of the run, and the last to_m is blank")
    if efficacy.ends and math.isinf(efficacy.ends[-1].to_m):
        raise UnfitFileError(f"{label}: the reach of the ends must be given in to_m")
    return efficacy
