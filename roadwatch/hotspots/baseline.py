"""Where the records would lie if nothing but searching (or road length) decided: the chances of the null."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError, UsageError

if TYPE_CHECKING:
    from roadwatch.roads.arrays import FloatArray, IntArray

LEAST_RECORDS = 5
"""Below this nothing is said at all (a convention)."""

NEEDED = ("edge", "offset_m", "weight", "year", "date", "observer")
"""Columns that the records must have; ``record_id`` and ``count`` are used where they are there."""


@dataclass(frozen=True)
class Baseline:
    """
    Chances of the stretches, by stratum.

    Parameters
    ----------
    years
        Year of each row of ``chance``; empty where one row holds for all years.
    chance
        (strata, n) Chance of each stretch to hold a record; rows sum to 1.
    effort_km
        (n,) Kilometres searched, nan where unknown; None without searches.
    effort_by_year
        (strata, n) The same by year, 0 where unknown; None where effort is not known by year.
    """

    years: tuple[int, ...]
    chance: FloatArray
    effort_km: FloatArray | None
    effort_by_year: FloatArray | None

    @property
    def basis(self) -> str:
        """``search`` or ``unknown``, as the tables say it."""
        return "unknown" if self.effort_km is None else "search"

    def stratum_of(self, year: IntArray) -> IntArray:
        """(r,) Row of ``chance`` for records of these years; -1 where no search of that year is known."""
        if not self.years:
            return np.zeros(len(year), dtype=np.int64)
        return pd.Index(self.years).get_indexer(pd.Index(year)).astype(np.int64)


def make_baseline(
    length_m: FloatArray,
    effort_km: FloatArray | Mapping[int, FloatArray] | None,
    exposure: FloatArray | None = None,
) -> Baseline:
    """
    Chances in proportion to kilometres searched, or to road length where no search is known.

    Parameters
    ----------
    length_m
        (n,) Length of each stretch.
    effort_km
        (n,) Kilometres searched on each stretch (passes times length), nan where unknown; or one such array a year,
        and then records stay in their year; or None.
    exposure
        (n,) Anything else that the baseline shall explain, such as traffic, in any unit; it multiplies the chances.
        nan where unknown: such stretches are not tested.

    Raises
    ------
    NotEnoughDataError
        There is no road, or none of it was searched.
    """
    if not length_m.sum() > 0.0:
        raise NotEnoughDataError("hotspots: the season has no roads; add a road layer")
    factor = np.ones_like(length_m) if exposure is None else _known(exposure)
    if effort_km is None:
        return Baseline((), _shares((length_m * factor)[None]), None, None)
    if isinstance(effort_km, Mapping):
        years = tuple(sorted(year for year, km in effort_km.items() if (_known(km) * factor).sum() > 0.0))
        by_year = np.array([_known(effort_km[year]) for year in years]).reshape(len(years), len(length_m))
        total = by_year.sum(axis=0)
    else:
        years, by_year, total = (), _known(effort_km)[None], _known(effort_km)
    if not (total * factor).sum() > 0.0:
        raise NotEnoughDataError(
            "hotspots: no search covers any road of the layer; add searches with road names or tracks, "
            "or ask without searches"
        )
    total = np.where(total > 0.0, total, np.nan)
    return Baseline(years, _shares(by_year * factor), total, by_year if years else None)


def usable_records(records: pd.DataFrame, baseline: Baseline, stretch: IntArray) -> tuple[pd.DataFrame, list[str]]:
    """
    The records that can enter the test, with their stretch and stratum, and what was left out.

    A record in parts keeps its whole weight as long as one part lies where a record could be made: the others were
    not its place.

    Parameters
    ----------
    records
        Table with the columns ``NEEDED``; rows of one ``record_id`` are parts of one record.
    baseline
        Where records can be.
    stretch
        (r,) Stretch of each row, -1 where it is not placed on a road.

    Returns
    -------
    (table, told) The rows used with ``stretch stratum record_id record is_main`` beside their own columns: ``record``
    numbers the records and ``is_main`` marks the likeliest part of each once.

    Raises
    ------
    UsageError
        A column is missing.
    NotEnoughDataError
        Fewer than five records can be used; the message says how many there are and why others cannot be used.
    """
    check_columns(records)
    table = records.reset_index(drop=True).assign(stretch=stretch)
    year = pd.to_numeric(table["year"], errors="coerce").fillna(-1).to_numpy(dtype=np.int64)
    table["stratum"] = baseline.stratum_of(year)
    searched = baseline.chance[table["stratum"], table["stretch"]] > 0.0
    why = np.select(
        [table["stretch"] < 0, ~(table["weight"] > 0.0), (table["stratum"] < 0) | ~searched],
        ["not placed on a road", "with no weight", "on road or in a year without a known search"],
        default="",
    )
    table["record_id"] = _names(table)
    whole = table.groupby("record_id", sort=False)["weight"].transform("sum")
    lost = ~table["record_id"].isin(table["record_id"][why == ""])
    left_out = pd.Series(why)[lost & ~table["record_id"].duplicated()].value_counts(sort=False)
    told = [f"{n} record{'s' if n > 1 else ''} left out: {reason}." for reason, n in left_out.items()]
    used = table[why == ""].assign(whole=whole[why == ""]).reset_index(drop=True)
    n_used = used["record_id"].nunique()
    if n_used < LEAST_RECORDS:
        raise NotEnoughDataError(
            f"not enough data: {n_used} record{'s' if n_used != 1 else ''} can be used, at least {LEAST_RECORDS} "
            f"are needed; {' '.join(told) or 'add records.'}"
        )
    return _parts_of_records(used), told


def _names(table: pd.DataFrame) -> pd.Series:
    """Name of each row's record; rows without one are records of their own."""
    own = pd.Series([f"row {number}" for number in range(len(table))], index=table.index, dtype=object)
    if "record_id" not in table:
        return own
    name = table["record_id"].astype(object)
    return name.where(name.notna() & (name != ""), own)


def _parts_of_records(used: pd.DataFrame) -> pd.DataFrame:
    """Scale parts so that they add up to their record, number the records, and mark each one's likeliest part."""
    by_record = used.groupby("record_id", sort=False)["weight"]
    kept = by_record.transform("sum")
    is_cut = kept < used["whole"] * (1.0 - 1e-12)
    weight = used["weight"].where(~is_cut, used["weight"] * used["whole"] / kept)
    is_main = used.index.isin(by_record.idxmax())
    return used.drop(columns="whole").assign(weight=weight, record=by_record.ngroup(), is_main=is_main)


def check_columns(records: pd.DataFrame) -> None:
    """
    Refuse records without the columns ``NEEDED``.

    Raises
    ------
    UsageError
        A column is missing.
    """
    missing = [name for name in NEEDED if name not in records]
    if missing:
        raise UsageError(f"hotspots: the records lack the columns {', '.join(missing)}; expected {', '.join(NEEDED)}")


def _known(values: FloatArray) -> FloatArray:
    """Unknown and negative values as 0: nothing can be expected there."""
    return np.where(values > 0.0, values, 0.0)


def _shares(values: FloatArray) -> FloatArray:
    return np.asarray(values / values.sum(axis=1, keepdims=True), dtype=np.float64)
