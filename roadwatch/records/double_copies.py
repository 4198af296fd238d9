"""Whether one record is a copy of another, as in a file exported again without names and with rounded positions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.double_evidence import NEVER, normal_density
from roadwatch.records.double_values import value
from roadwatch.records.sightings import MINUTES_A_DAY, coded, numbers, words

if TYPE_CHECKING:
    import numpy.typing as npt

    from roadwatch.records.sightings import Coded, Sightings

    Floats = npt.NDArray[np.float64]
    Ints = npt.NDArray[np.int64]

TELLING = ("carapace_mm", "notes", "photo")
"""Columns whose agreement says much, for two animals rarely share a rare word."""
OTHERS = ("taxon", "count", "sex", "life_stage", "carcass_age", "action", "heading_deg", "condition")
"""Columns whose disagreement says much and whose agreement little: animals of one visit are alike."""

NUMBERS = ("carapace_mm", "count", "heading_deg")


def copy_density(apart_m: Floats) -> Floats:
    """
    Density per metre of road of a rounded position so far from the one it was copied from.

    Source
    ------
    doubles_convention
    """
    coarse = value("coarse_copy_share")
    fine = (1 - coarse) * normal_density(apart_m, value("copy_sd_m"))
    return fine + coarse * normal_density(apart_m, value("coarse_copy_sd_m"))


def copy_log_odds(seen: Sightings, left: Ints, right: Ints, by_chance: Floats) -> Floats:
    """
    Natural logarithm of the odds of copy against two animals, before the expected number of copies.

    Parameters
    ----------
    seen
        The records.
    left, right
        (k,) indices of pairs.
    by_chance
        (k,) other records expected per metre and day.

    Source
    ------
    fellegi1969, doubles_convention
    """
    minutes = np.abs(seen.minute[left] - seen.minute[right])
    timed = ~np.isnan(minutes)
    per_day = np.where(timed, np.where(minutes <= 1, MINUTES_A_DAY / 2, 0.0), 1.0)
    density = copy_density(seen.apart_m(left, right)) * per_day
    chance = by_chance * value("same_visit_clump") * np.where(timed, 10.0, 1.0)
    possible = (density > 0) & (seen.days_apart(left, right) == 0) & (seen.state[left] == seen.state[right])
    with np.errstate(divide="ignore"):
        odds = np.log(density) - np.log(chance)
    for name in TELLING:
        odds = odds + _told(coded(_text(seen, name)), name, left, right)
    for name in ("observer", *OTHERS):
        odds = odds + _kept(coded(_text(seen, name)), name, left, right)
    return np.where(possible, np.maximum(odds, NEVER), NEVER)


def _told(column: Coded, name: str, left: Ints, right: Ints) -> Floats:
    share = np.append(np.maximum(column.share, value("slip")), 1.0)
    agree = -np.log(share[column.code[left]])
    return np.where(column.same(left, right), agree, _kept(column, name, left, right))


def _kept(column: Coded, name: str, left: Ints, right: Ints) -> Floats:
    """A copy rarely changes a word, hardly ever a number, and sometimes drops one."""
    is_differing = column.both(left, right) & ~column.same(left, right)
    is_dropped = (column.code[left] >= 0) != (column.code[right] >= 0)
    changed = np.log(value("slip")) * (2 if name in NUMBERS else 1)
    return np.where(is_differing, changed, np.where(is_dropped, np.log(0.5), 0.0))


def _text(seen: Sightings, name: str) -> pd.Series:
    """A column as words; numbers by their value, so that 203 and 203.0 agree, and a blank count as 1."""
    if name not in NUMBERS:
        return words(seen.table, name)
    number = pd.Series(numbers(seen.table, name))
    return (number.fillna(1.0) if name == "count" else number).round(1)
