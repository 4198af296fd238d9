"""Would the map of other years have told where this year's animals died? Asked of each year in turn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy import special

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.assembly import assemble
from roadwatch.hotspots.density import kernel_matrix

if TYPE_CHECKING:
    from collections.abc import Mapping

    from scipy import sparse

    from roadwatch.hotspots.study import Study
    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches

SHARES = (0.01, 0.02, 0.05)
"""Shares of the road length that are looked at; the index only compares at the same share."""

COLUMNS = ["rule", "share_of_length", "hit", "events", "hit_rate", "hit_low", "hit_high", "pai", "pai_low", "pai_high"]


@dataclass(frozen=True)
class Validation:
    """
    How well places chosen from other years held the deaths of a year left out.

    Parameters
    ----------
    table
        One row a rule and share of length, columns ``COLUMNS``: records of all left-out years that fell on the road
        chosen, and all of them; their ratio with its 95 % interval; and PAI, the ratio over the share of length (1 is
        as good as chance).
    by_year
        The same for each ``year`` left out.
    notes
        What was compared, and what it does not tell.
    """

    table: pd.DataFrame
    by_year: pd.DataFrame
    notes: tuple[str, ...]


def hit_share(score: FloatArray, length_m: FloatArray, deaths: FloatArray, share: float) -> float:
    """
    Deaths that fall on the best share of the road, places of one score being taken in part alike.

    Parameters
    ----------
    score
        (n,) The higher, the earlier a stretch is chosen; nan is never chosen before a number.
    length_m, deaths
        (n,) Length of each stretch, and weighted deaths on it.
    share
        Share of the length that is chosen.

    Returns
    -------
    Share of all deaths, nan where there are none.
    """
    if not deaths.sum() > 0.0:
        return float("nan")
    level, number = np.unique(-np.where(np.isnan(score), -np.inf, score), return_inverse=True)
    of_level_m = np.bincount(number, length_m, len(level))
    before_m = np.cumsum(of_level_m) - of_level_m
    room_m = np.clip(share * length_m.sum() - before_m, 0.0, of_level_m)
    taken = np.divide(room_m, of_level_m, out=np.zeros_like(room_m), where=of_level_m > 0.0)
    return float(taken @ np.bincount(number, deaths, len(level)) / deaths.sum())


def validate_hotspots(
    network: Network,
    stretches: Stretches,
    records: pd.DataFrame,
    *,
    effort_km: FloatArray | Mapping[int, FloatArray] | None,
    half_width_m: float = 300.0,
    kernel: str = "epanechnikov",
    near_water: BoolArray | None = None,
    shares: tuple[float, ...] = SHARES,
) -> Validation:
    """
    Leave out each year in turn, choose road by the other years, and count the deaths of the year on it.

    The map is compared with three simple rules: records per kilometre on fixed sections of 500 m, the stretches where
    records lay in the year before (the nearest other year where there is none), and all road along wetland.

    Parameters
    ----------
    network, stretches, records, effort_km, half_width_m, kernel
        As in ``find_hotspots``.
    near_water
        (s,) True for stretches along wetland; None leaves that rule out.
    shares
        Shares of the road length that are chosen.

    Raises
    ------
    NotEnoughDataError
        All records are of one year, or fewer than five can be used.
    UsageError
        A column is missing, or the kernel is not known.

    Source
    ------
    chainey2008, brown_cai_dasgupta2001
    """
    study = assemble(network, stretches, records, effort_km=effort_km, exposure=None, beyond="search").study
    year = study.records["year"].to_numpy(dtype=np.int64)
    years = np.unique(year)
    if len(years) < 2:
        raise NotEnoughDataError(
            f"not enough data: all records are of {years[0]}; leaving a season out takes records of at least two"
        )
    spread = kernel_matrix(network, stretches, half_width_m=half_width_m, kernel=kernel)
    length_m = np.where(study.baseline.chance.sum(axis=0) > 0.0, stretches.length_m, 0.0)
    rows = []
    for left_out in years:
        seen = _deaths(study, year == left_out)
        for rule, score in _scores(study, spread, year, int(left_out), near_water).items():
            for share in shares:
                hits = hit_share(score, length_m, seen, share) * _events(study, year == left_out)
                events = _events(study, year == left_out)
                rows.append(
                    {"year": int(left_out), "rule": rule, "share_of_length": share, "hit": hits, "events": events}
                )
    by_year = pd.DataFrame(rows)
    pooled = by_year.groupby(["rule", "share_of_length"], sort=False)[["hit", "events"]].sum().reset_index()
    tested_km = float(length_m.sum() / 1000.0)
    return Validation(with_intervals(pooled)[COLUMNS], with_intervals(by_year), _notes(years, tested_km, near_water))


def with_intervals(counts: pd.DataFrame) -> pd.DataFrame:
    """
    Add hit rates and PAI with their 95 % intervals (Jeffreys) to hits and events.

    Parameters
    ----------
    counts
        Columns ``share_of_length hit events``; hits may be parts where places tie.

    Source
    ------
    brown_cai_dasgupta2001
    """
    hit, events = counts["hit"].to_numpy(dtype=np.float64), counts["events"].to_numpy(dtype=np.float64)
    low = special.betaincinv(hit + 0.5, events - hit + 0.5, 0.025)
    high = special.betaincinv(hit + 0.5, events - hit + 0.5, 0.975)
    rates = {"hit_rate": hit / events, "hit_low": low, "hit_high": high}
    share = counts["share_of_length"].to_numpy(dtype=np.float64)
    pai = {name.replace("hit_rate", "pai").replace("hit", "pai"): value / share for name, value in rates.items()}
    return counts.assign(**rates, **pai)


def _scores(
    study: Study, spread: sparse.csr_array, year: IntArray, left_out: int, near_water: BoolArray | None
) -> dict[str, FloatArray]:
    """What each rule goes by, from the years that were not left out."""
    known = _deaths(study, year != left_out)
    section = study.section()
    per_km = np.bincount(section, known) / np.bincount(section, study.stretches.length_m)
    others = np.unique(year[year != left_out])
    before = others[others < left_out]
    nearest = before[-1] if len(before) else others[0]
    scores = {
        "hotspot map": np.asarray(spread @ known, dtype=np.float64),
        "count per km": per_km[section],
        "last year's places": _deaths(study, year == nearest),
    }
    if near_water is not None:
        scores["all along wetland"] = near_water.astype(np.float64)
    return scores


def _deaths(study: Study, chosen: BoolArray) -> FloatArray:
    rows = study.records[chosen]
    return np.bincount(rows["stretch"], rows["weight"], len(study.expected)).astype(np.float64)


def _events(study: Study, chosen: BoolArray) -> int:
    return int(study.records["record_id"][chosen].nunique())


def _notes(years: IntArray, tested_km: float, near_water: BoolArray | None) -> tuple[str, ...]:
    asked = (
        f"Each of the {len(years)} years {years.min()}-{years.max()} was left out in turn, and the map of the others "
        f"was asked where on {tested_km:.0f} km of road its records would lie. PAI is the share of records over the "
        "share of length; 1 is chance. It rises as the share of length falls, so compare it at one share only."
    )
    doubt = (
        "What is found again may be where people look again: with searches by the same people on the same roads, a "
        "good score shows that records repeat, not why."
    )
    if near_water is not None:
        return asked, doubt
    return asked, doubt, "No wetland is on file: the rule 'all along wetland' was not compared."
