"""What is known of temperature and sex, taxon by taxon and region by region: a curve, a bracket, or genes."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Literal

import numpy as np

from roadwatch.hatch.development import ANY_REGION
from roadwatch.records.taxa import lineage

if TYPE_CHECKING:
    from roadwatch.hatch.arrays import Floats

Pattern = Literal["Ia", "II", "genes"]


@dataclass(frozen=True)
class SexRow:
    """
    One row of ``sex_determination.csv``; degrees C, shares, nan where it gives no number.

    Pattern Ia has males in the cool and females in the warm, II females again in the cold. ``pivot_c`` parts them in
    the warm, ``cool_pivot_c`` in the cold; a curve's steepness lies between ``scale_low_c`` and ``scale_high_c``. A
    bracket holds the share of males at two temperatures between which the pivot lies.
    """

    taxon: str
    region: str
    pattern: Pattern
    pivot_c: float
    pivot_sd_c: float
    scale_low_c: float
    scale_high_c: float
    cool_pivot_c: float
    cool_pivot_sd_c: float
    bracket_low_c: float
    males_at_low: float
    bracket_high_c: float
    males_at_high: float
    source: str
    sureness: str
    remark: str

    @property
    def basis(self) -> Literal["curve", "bracket", "genes"]:
        """What the row can say."""
        if self.pattern == "genes":
            return "genes"
        return "curve" if np.isfinite(self.pivot_c) else "bracket"


@cache
def sex_rows() -> dict[tuple[str, str], SexRow]:
    """Every row by taxon and region, as shipped."""
    text = (files("roadwatch") / "data" / "sex_determination.csv").read_text(encoding="utf-8")
    words = ("taxon", "region", "pattern", "source", "sureness", "remark")
    found = {}
    for row in csv.DictReader(text.splitlines()):
        values = {name: row[name] if name in words else float(row[name] or "nan") for name in SexRow.__annotations__}
        found[row["taxon"], row["region"]] = SexRow(**values)  # type: ignore[arg-type]
    return found


def sex_row(taxon: str, *, region: str) -> SexRow | None:
    """The row of a taxon, or of the nearest one above it, for a region or for any; None where nothing is known."""
    for name in lineage(taxon) or (taxon,):
        for place in (region, ANY_REGION):
            if (name, place) in sex_rows():
                return sex_rows()[name, place]
    return None


def share_of_females(row: SexRow, temp_c: Floats, *, z: Floats, z_cool: Floats, u: Floats) -> Floats:
    """
    Share of females at a constant temperature, by a row's curve.

    Parameters
    ----------
    row
        Of basis ``curve``.
    temp_c
        (n,) Constant-temperature equivalents, degrees C.
    z, z_cool
        (n,) Standard normal draws of the pivots.
    u
        (n,) Draws from 0 to 1 of the steepness.

    Returns
    -------
    (n,) Shares: 1 / (1 + exp((T - P) / S)) are males; under pattern II times the share that is not cold.
    """
    scale = row.scale_low_c + u * (row.scale_high_c - row.scale_low_c)
    males = _logistic((row.pivot_c + row.pivot_sd_c * z - temp_c) / scale)
    if row.pattern == "II":
        males = males * _logistic((temp_c - row.cool_pivot_c - row.cool_pivot_sd_c * z_cool) / scale)
    females: Floats = 1 - males
    return females


def bracket_of_females(row: SexRow, temp_c: Floats) -> tuple[Floats, Floats]:
    """
    Least and greatest share of females that a bracket allows.

    Parameters
    ----------
    row
        Of basis ``bracket``.
    temp_c
        (n,) Degrees C.

    Returns
    -------
    (n,) twice: warmer than the bracket, at least the share seen at its warm end; cooler, at most that at its cool end
    (under pattern II nothing, as females come again in the cold); inside it, between the two.
    """
    cool, warm = 1 - row.males_at_low, 1 - row.males_at_high
    is_warm, is_cool = temp_c >= row.bracket_high_c, temp_c <= row.bracket_low_c
    least = np.where(is_warm, warm, np.where(is_cool, 0.0, cool))
    most = np.where(is_warm, 1.0, np.where(is_cool, 1.0 if row.pattern == "II" else cool, warm))
    return least, most


def _logistic(x: Floats) -> Floats:
    positive: Floats = 1 / (1 + np.exp(-np.clip(x, -500, 500)))
    return positive
