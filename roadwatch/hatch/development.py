"""
How much warmth the eggs of each taxon need, region by region, and what is known of it.

Five kinds of knowledge, in falling order: a straight ``linear`` rate (a curve, in a county's own tables),
``one_duration`` measured at one temperature, a ``field_range`` of days in natural nests, ``diapause`` (eggs pause, so
warmth does not tell), and ``none``.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Literal

import numpy as np

from roadwatch.errors import NotEnoughDataError, UnfitFileError
from roadwatch.records.taxa import lineage

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.hatch.arrays import Floats

ParameterBasis = Literal[
    "linear", "one_duration", "schoolfield", "dallwitz_higgins", "field_range", "diapause", "none", "base_prior"
]
Sureness = Literal["high", "medium", "low", "none"]

ANY_TURTLE = "Testudines"
ANY_REGION = "any"


@dataclass(frozen=True)
class ParameterSet:
    """One row of ``development.csv``: degrees C, days and degree-days; nan where the row gives no number."""

    taxon: str
    region: str
    basis: ParameterBasis
    base_c: float
    base_se_c: float
    sum_dd: float
    sum_se_dd: float
    correlation: float
    days: float
    days_se: float
    at_c: float
    days_low: float
    days_high: float
    lowest_c: float
    highest_c: float
    n: float
    source: str
    sureness: Sureness
    remark: str
    curve: tuple[float, ...] = ()

    @property
    def by_weather(self) -> bool:
        """Whether warmth tells the day."""
        return self.basis in {"linear", "one_duration", "schoolfield", "dallwitz_higgins"}


@dataclass(frozen=True)
class Region:
    """Where a prior region's eggs were measured, and when hatchlings that waited come up there (month-day)."""

    key: str
    development_region: str
    spring_from: str
    spring_to: str
    source: str
    words: str


@dataclass(frozen=True)
class HatchTables:
    """The tables that projections rest on: the shipped ones, or a county's own."""

    sets: tuple[ParameterSet, ...]
    regions: dict[str, Region]
    emergence: dict[tuple[str, str], dict[str, str]]


@cache
def hatch_tables(folder: Path | None = None) -> HatchTables:
    """
    Read the tables of development, emergence and regions.

    Parameters
    ----------
    folder
        A folder with files of the shipped names and columns, each optional; None is the shipped set alone.

    Raises
    ------
    UnfitFileError
        A table lacks a column or holds a word where a number belongs.
    """
    try:
        return HatchTables(
            sets=tuple(_parameter_set(row) for row in _rows("development.csv", folder)),
            regions={row["region"]: _region(row) for row in _rows("regions.csv", folder)},
            emergence={(row["taxon"], row["region"]): row for row in _rows("emergence.csv", folder)},
        )
    except (KeyError, ValueError) as error:
        raise UnfitFileError(f"the hatch tables in {folder or 'roadwatch'} do not fit: {error}") from error


def _rows(name: str, folder: Path | None) -> list[dict[str, str]]:
    own = folder / name if folder else None
    place = own if own is not None and own.exists() else files("roadwatch") / "data" / name
    return list(csv.DictReader(place.read_text(encoding="utf-8-sig").splitlines()))


def _parameter_set(row: dict[str, str]) -> ParameterSet:
    return ParameterSet(
        taxon=row["taxon"],
        region=row["region"],
        basis=row["basis"],  # type: ignore[arg-type]  # a test checks the shipped table's words
        base_c=_number(row["base_c"]),
        base_se_c=_number(row["base_se_c"]),
        sum_dd=_number(row["sum_dd"]),
        sum_se_dd=_number(row["sum_se_dd"]),
        correlation=_number(row["correlation"]),
        days=_number(row["days"]),
        days_se=_number(row["days_se"]),
        at_c=_number(row["at_c"]),
        days_low=_number(row["days_low"]),
        days_high=_number(row["days_high"]),
        lowest_c=_number(row["lowest_c"]),
        highest_c=_number(row["highest_c"]),
        n=_number(row["n"]),
        source=row["source"],
        sureness=row["sureness"],  # type: ignore[arg-type]
        remark=row["remark"],
        curve=tuple(float(part) for part in (row.get("curve") or "").split(";") if part.strip()),
    )


def _number(cell: str) -> float:
    return float(cell) if cell else float("nan")


def _region(row: dict[str, str]) -> Region:
    return Region(
        row["region"], row["development_region"], row["spring_from"], row["spring_to"], row["source"], row["words"]
    )


def region_keys() -> tuple[str, ...]:
    """The shipped regions, in the order of their table."""
    return tuple(hatch_tables().regions)


def find_region(key: str | None, *, tables: HatchTables) -> Region:
    """
    Find the region whose parameters apply.

    Raises
    ------
    NotEnoughDataError
        No region is named, or its parameters are not in the tables.
    """
    if key is not None and key in tables.regions:
        return tables.regions[key]
    known = ", ".join(tables.regions)
    found = "no region is named" if key is None else f"there are no hatch parameters for region '{key}'"
    raise NotEnoughDataError(
        f"not enough data: {found}; eggs of one species take weeks longer in one region than in another, so name one "
        f"of {known}, or give tables of your own (development.csv, regions.csv)"
    )


def parameters_for(taxon: str | None, *, development_region: str, tables: HatchTables) -> ParameterSet | str:
    """
    Find what is known of a taxon's eggs in a region.

    Parameters
    ----------
    taxon
        Accepted name at any rank; a subspecies takes its species' row, a genus or group only if it holds one species.
    development_region
        As ``Region.development_region``.
    tables
        As ``hatch_tables`` returns them.

    Returns
    -------
    The row, or a sentence that says why there is none.
    """
    if not taxon:
        return "no projection: nobody named the taxon"
    if taxon == ANY_TURTLE:
        return f"no projection: {taxon} is too wide a name: its species' eggs take different times; name the species"
    listed = {one.taxon for one in tables.sets} - {ANY_TURTLE}
    for name in _lineage(taxon):
        if name in listed:
            return _row_of(name, development_region, tables)
    below = sorted(name for name in listed if taxon in _lineage(name))
    if not below:
        return f"no projection: {taxon} is not in the table of development"
    rows = [_row_of(name, development_region, tables) for name in below]
    if len(below) == 1 or all(not isinstance(row, str) and row.basis == "diapause" for row in rows):
        return rows[0]
    return f"no projection: {taxon} is more than one species ({', '.join(below)}), and their eggs take different times"


def _lineage(taxon: str) -> list[str]:
    """The taxon and those above it, nearest first, without the order that holds all turtles."""
    return [name for name in lineage(taxon) or (taxon,) if name != ANY_TURTLE]


def _row_of(taxon: str, region: str, tables: HatchTables) -> ParameterSet | str:
    by_region = {one.region: one for one in tables.sets if one.taxon == taxon}
    found = by_region.get(region) or by_region.get(ANY_REGION)
    if found is None:
        places = ", ".join(sorted(by_region))
        return f"no projection: eggs of {taxon} were measured only for {places}, and those values do not carry over"
    return found


def emergence_of(taxon: str, *, development_region: str, tables: HatchTables) -> dict[str, str]:
    """When hatchlings of a taxon leave the nest: the row of ``emergence.csv`` nearest to it in the tree of taxa."""
    for name in [*_lineage(taxon), ANY_TURTLE]:
        for region in (development_region, ANY_REGION):
            if (name, region) in tables.emergence:
                return tables.emergence[name, region]
    return {"autumn": "yes", "spring": "yes", "sureness": "low", "source": "common_practice", "remark": ""}


def draw_parameters(
    chosen: ParameterSet, z_base: Floats, z_sum: Floats, *, tables: HatchTables
) -> tuple[Floats, Floats]:
    """
    Turn standard normal draws into base temperatures and degree-day sums that belong together.

    Parameters
    ----------
    chosen
        A set that weather projects.
    z_base, z_sum
        Independent standard normal draws, of shapes that broadcast.
    tables
        Hold the prior of the base.

    Returns
    -------
    Base, degrees C, and sum, degree-days. For ``linear`` they share the set's correlation. For ``one_duration`` the
    base comes from the prior over turtles, and the sum is what that base makes of the duration: near the measured
    temperature the error of the base then cancels. A curve needs the whole of development, with ``sum_se_dd`` as the
    error of that 1; it has no base.
    """
    if chosen.curve:
        error = 0.0 if np.isnan(chosen.sum_se_dd) else chosen.sum_se_dd
        return np.full_like(z_base, chosen.lowest_c), 1.0 + error * z_sum
    if chosen.basis == "linear":
        r = chosen.correlation
        tied: Floats = r * z_base + np.sqrt(1.0 - r * r) * z_sum
        return chosen.base_c + chosen.base_se_c * z_base, chosen.sum_dd + chosen.sum_se_dd * tied
    prior = next(one for one in tables.sets if one.basis == "base_prior")
    base = np.clip(prior.base_c + prior.base_se_c * z_base, prior.lowest_c, prior.highest_c)
    return base, (chosen.days + chosen.days_se * z_sum) * (chosen.at_c - base)
