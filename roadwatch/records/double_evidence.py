"""
What speaks for and against two records being one animal seen twice.

Each term is the natural logarithm of P(what was written | one animal) over P(what was written | two animals); terms
are added (Fellegi & Sunter 1969). A blank says nothing: its term is 0.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roadwatch.records.double_ages import age_log_odds, lag_density
from roadwatch.records.double_taxa import name_log_odds
from roadwatch.records.double_values import carcass_ages, value
from roadwatch.records.sightings import DEAD, LIVING, MINUTES_A_DAY, numbers, words

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from roadwatch.records.sightings import Sightings
    from roadwatch.records.taxa import Taxon

    Floats = npt.NDArray[np.float64]
    Ints = npt.NDArray[np.int64]

NEVER = -50.0
"""Logarithm of odds that stands for impossible."""


def normal_density(distance: Floats, sd: Floats | float) -> Floats:
    """Density of a normal error of mean 0 at a distance."""
    return np.asarray(np.exp(-0.5 * (distance / sd) ** 2) / (sd * np.sqrt(2 * np.pi)), dtype=np.float64)


def place_density(apart_m: Floats, sd_m: Floats) -> Floats:
    """
    Density per metre of road of two positions of one place so far apart; some positions are worse than they say.

    Source
    ------
    doubles_convention
    """
    share, factor = value("outlier_share"), value("outlier_factor")
    return (1 - share) * normal_density(apart_m, sd_m) + share * normal_density(apart_m, factor * sd_m)


def time_density(seen: Sightings, left: Ints, right: Ints) -> Floats:
    """
    Density per day of a second record of one animal so long before or after the first.

    Dead animals lie for days; living ones cross in minutes. Where a time of day is missing, a living animal may have
    crossed at any time of that day.

    Source
    ------
    santos2011, doubles_convention
    """
    dead = (seen.state[left] == DEAD) & (seen.state[right] == DEAD)
    living = (seen.state[left] == LIVING) & (seen.state[right] == LIVING)
    minutes = np.abs(seen.minute[left] - seen.minute[right])
    mean = value("crossing_minutes")
    met = np.exp(-minutes / mean) / (2 * mean) * MINUTES_A_DAY
    met = np.where(minutes <= value("longest_crossing_minutes"), met, 0.0)
    met = np.where(np.isnan(minutes), np.where(seen.days_apart(left, right) == 0, 1.0, 0.0), met)
    return np.where(dead, lag_density(seen.days_apart(left, right)), np.where(living, met, 0.0))


def chance_factor(seen: Sightings, left: Ints, right: Ints) -> Floats:
    """
    How much more likely another animal is so soon than on any day: animals move together.

    Source
    ------
    doubles_convention
    """
    by_day = 1 + value("clump") * np.exp(-seen.days_apart(left, right) / value("short_days"))
    return np.where(seen.state[left] == LIVING, value("crossing_clump"), by_day)


def resighting_terms(
    seen: Sightings, left: Ints, right: Ints, *, taxa: Mapping[str, Taxon] | None = None
) -> dict[str, Floats]:
    """
    Everything but place and time, by name of the term.

    Parameters
    ----------
    seen
        The records.
    left, right
        (k,) indices of pairs, the earlier record first.
    taxa
        The tree of taxa by name; None takes the one shipped.

    Source
    ------
    fellegi1969, doubles_convention
    """
    return {
        "name": name_log_odds(seen.table, left, right, taxa=taxa),
        "size": _size(seen, left, right),
        "sex": _agreement(seen, "sex", left, right),
        "age": _age(seen, left, right),
        "action": _action(seen, left, right),
        "people": _people(seen, left, right),
        "count": np.where(_differ(seen, left, right), np.log(0.3), 0.0),
    }


def _size(seen: Sightings, left: Ints, right: Ints) -> Floats:
    """Lengths where both were measured (a carcass may be broken), life stages otherwise: one repeats the other."""
    length_mm = numbers(seen.table, "carapace_mm")
    gap = np.abs(np.log(length_mm[left] / length_mm[right]))
    error, spread, slip = value("length_cv") * np.sqrt(2), value("length_spread") * np.sqrt(2), value("slip")
    is_whole = seen.state[left] == LIVING
    broken = np.where(is_whole, 0.0, slip)
    one = (1 - broken) * normal_density(gap, error) + broken * normal_density(gap, 3 * error)
    floor = np.where(is_whole, slip**3, slip**2)
    measured = np.log((one + floor) / (normal_density(gap, spread) + floor))
    return np.where(np.isnan(gap), _agreement(seen, "life_stage", left, right), measured)


def _agreement(seen: Sightings, name: str, left: Ints, right: Ints) -> Floats:
    """Agreement on a rare word says more than on a common one."""
    column = seen.coded(name, blanks=("unknown",))
    right_word = 1 - 5 * value("slip")
    share = np.append((column.share * len(column.code) + 5) / (len(column.code) + 5 * max(len(column.share), 1)), 1.0)
    by_chance = max(1 - float((share[:-1] ** 2).sum()), 0.2)
    agree = np.log(right_word / np.minimum(share[column.code[left]], right_word))
    differ = np.log((1 - right_word) / by_chance)
    return np.where(column.both(left, right), np.where(column.same(left, right), agree, differ), 0.0)


def _age(seen: Sightings, left: Ints, right: Ints) -> Floats:
    code = seen.numbered("carcass_age", list(carcass_ages()))
    known = np.bincount(code[code >= 0], minlength=len(carcass_ages()))
    share = known / max(known.sum(), 1)
    days = seen.days_apart(left, right)
    forward = age_log_odds(code[left], code[right], days, share)
    backward = age_log_odds(code[right], code[left], days, share)
    both_dead = (seen.state[left] == DEAD) & (seen.state[right] == DEAD)
    fits = np.where(days == 0, (forward + backward) / 2, forward)
    return np.where(both_dead, fits, 0.0)


def _action(seen: Sightings, left: Ints, right: Ints) -> Floats:
    action = words(seen.table, "action")
    taken = action.isin(["carcass_removed", "to_rehabilitator"]).to_numpy(dtype=bool)
    marked = (action == "carcass_marked").to_numpy(dtype=bool)
    is_later = (seen.day[right] > seen.day[left]) | (seen.minute[right] > seen.minute[left])
    both_taken = taken[left] & taken[right]
    gone = (is_later & taken[left]) | both_taken
    return np.where(
        gone,
        np.log(value("after_removal")),
        np.where(is_later & marked[left], np.log(value("after_marking")), 0.0),
    )


def _people(seen: Sightings, left: Ints, right: Ints) -> Floats:
    """Doubles come from two people, or from one person on another day; hardly ever from one search."""
    search, observer = seen.coded("search_id"), seen.coded("observer")
    same_day = seen.days_apart(left, right) == 0
    known, same = observer.both(left, right), observer.same(left, right)
    odds = np.where(known, value("two_persons"), 1.0)
    odds = np.where(same, np.where(same_day, value("same_person_same_day"), value("same_person_later")), odds)
    return np.log(np.where(search.same(left, right), value("same_search"), odds))


def _differ(seen: Sightings, left: Ints, right: Ints) -> npt.NDArray[np.bool_]:
    count = np.nan_to_num(numbers(seen.table, "count"), nan=1.0)
    return np.asarray(count[left] != count[right], dtype=bool)
