"""One animal recorded more than once: pairs of records with the probability that both are of one animal."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.double_candidates import near_pairs
from roadwatch.records.double_chance import others_by_chance
from roadwatch.records.double_copies import copy_log_odds
from roadwatch.records.double_evidence import (
    NEVER,
    chance_factor,
    place_density,
    resighting_terms,
    time_density,
)
from roadwatch.records.double_groups import join_certain
from roadwatch.records.double_values import value
from roadwatch.records.sightings import DEAD, LIVING, UNTOLD, Sightings

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    import numpy.typing as npt

    from roadwatch.records.taxa import Taxon

    Floats = npt.NDArray[np.float64]
    Ints = npt.NDArray[np.int64]

ROUNDS = 30
"""Rounds in which a season's expected doubles and its probabilities are brought together."""


@dataclass(frozen=True)
class Doubles:
    """
    Pairs that may be one animal, and the animals that follow.

    Parameters
    ----------
    seen
        The records, ready for comparing.
    pairs
        One row a pair, the earlier record first: ``a b`` (row numbers), ``p``, ``decided`` (1 where a person told that
        it is one animal, 0 that it is not, nan where nobody did), ``is_copy`` (a copy is likelier than a second
        sighting), ``apart_m``, ``days_apart``, and the logarithm of each term of evidence: ``place_time`` (place and
        time against chance), ``name size sex age action people count``.
    animal
        (n,) number of the animal of each record, 0, 1, ... in order of first appearance.
    resightings_expected, copies_expected
        Further records of one animal, and copies, per record of this season.
    """

    seen: Sightings
    pairs: pd.DataFrame
    animal: Ints
    resightings_expected: float
    copies_expected: float


def propose_doubles(
    records: pd.DataFrame,
    x_m: Floats,
    y_m: Floats,
    *,
    edge: Ints | None = None,
    offset_m: Floats | None = None,
    taxa: Mapping[str, Taxon] | None = None,
    decided: pd.DataFrame | None = None,
    lay_on_roads: Callable[[Ints], tuple[Ints, Floats]] | None = None,
) -> Doubles:
    """
    Give every pair of records that may be one animal the probability that it is.

    Two explanations of a pair as one animal are weighed against two animals: a second sighting and a copied record.
    For each, the number of such records expected beside a record, times the density of their place and time, stands
    over the density of other animals' records there by chance, which is the season's own. The rest of what was
    written is added as likelihood ratios. How many doubles to expect is learnt from the season itself.

    Parameters
    ----------
    records
        (n,) rows of kind ``crossings``.
    x_m, y_m
        (n,) places in a metric reference system.
    edge, offset_m
        (n,) edge of a road network, -1 for none, and metres along it; two records on one edge are compared along it.
    taxa
        The tree of taxa by name; None takes the one shipped.
    decided
        (d,) pairs that a person decided: ``a b`` (row numbers) and ``is_one``; they stand whatever the evidence says.
    lay_on_roads
        In the place of ``edge`` and ``offset_m``: gives both for the row numbers asked for, those of near records.

    Source
    ------
    fellegi1969, doubles_convention
    """
    seen = Sightings.of(records, x_m, y_m, edge=edge, offset_m=offset_m)
    near, told = _with_decided(len(records), *_near(seen), decided)
    left, right = seen.earlier_first(*near)
    seen = seen if lay_on_roads is None else _laid(seen, np.union1d(left, right), lay_on_roads)
    apart_m, chance = seen.apart_m(left, right), _by_chance(seen, left, right)
    again, terms = _resighting(seen, left, right, chance, taxa)
    copied = copy_log_odds(seen, left, right, chance)
    p, p_copy, expected = _learn(again, copied, len(records))
    pairs = pd.DataFrame({"a": left, "b": right, "p": p, "decided": told, "is_copy": p_copy > p / 2})
    pairs = pairs.assign(apart_m=apart_m, days_apart=seen.days_apart(left, right), **terms)
    animal = join_certain(len(records), left, right, p, told=told)
    return Doubles(seen, pairs, pd.factorize(animal)[0].astype(np.int64), *expected)


def animal_groups(records: pd.DataFrame, x_m: Floats, y_m: Floats) -> Ints:
    """
    Number the animals: records that are certainly one animal share a number.

    Parameters
    ----------
    records
        (n,) rows of kind ``crossings``.
    x_m, y_m
        (n,) places in a metric reference system.

    Returns
    -------
    (n,) group numbers 0, 1, ... in order of first appearance.
    """
    return propose_doubles(records, x_m, y_m).animal


def _near(seen: Sightings) -> tuple[Ints, Ints]:
    """Pairs near in place and time, both dead, both living, or both untold."""
    found = [(np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64))]
    for state in (DEAD, LIVING, UNTOLD):
        rows = np.flatnonzero(seen.state == state)
        days = int(value("longest_days")) if state == DEAD else 1
        near = near_pairs(seen.x_m[rows], seen.y_m[rows], seen.day[rows], seen.sd_m[rows], longest_days=days)
        found.append((rows[near[0]], rows[near[1]]))
    left, right = (np.concatenate(side) for side in zip(*found, strict=True))
    return left, right


def _laid(seen: Sightings, rows: Ints, lay_on_roads: Callable[[Ints], tuple[Ints, Floats]]) -> Sightings:
    """The records with some of them put on the roads."""
    edge, offset_m = seen.edge.copy(), seen.offset_m.copy()
    edge[rows], offset_m[rows] = lay_on_roads(rows)
    return replace(seen, edge=edge, offset_m=offset_m)


def _with_decided(n: int, left: Ints, right: Ints, decided: pd.DataFrame | None) -> tuple[tuple[Ints, Ints], Floats]:
    """The near pairs and those decided, and of each what was decided."""
    if decided is None or decided.empty:
        return (left, right), np.full(len(left), np.nan)
    ends = np.sort(decided[["a", "b"]].to_numpy(dtype=np.int64), axis=1)
    word_of = dict(zip((ends[:, 0] * n + ends[:, 1]).tolist(), decided["is_one"].astype(float), strict=True))
    near = np.minimum(left, right) * n + np.maximum(left, right)
    missing = np.setdiff1d(np.array(list(word_of), dtype=np.int64), near)
    told = pd.Series(np.append(near, missing)).map(word_of).to_numpy(dtype=np.float64)
    return (np.append(left, missing // n), np.append(right, missing % n)), told


def _by_chance(seen: Sightings, left: Ints, right: Ints) -> Floats:
    """Other records expected per metre and day around each pair: the mean of its two places and times."""
    density = np.zeros(len(seen.day))
    for state in (DEAD, LIVING, UNTOLD):
        rows = np.flatnonzero(seen.state == state)
        asked = np.flatnonzero(np.isin(rows, np.concatenate([left, right])))
        if len(asked):
            density[rows[asked]] = others_by_chance(seen.x_m[rows], seen.y_m[rows], seen.day[rows], asked)
    return np.asarray((density[left] + density[right]) / 2, dtype=np.float64)


def _resighting(
    seen: Sightings, left: Ints, right: Ints, chance: Floats, taxa: Mapping[str, Taxon] | None
) -> tuple[Floats, dict[str, Floats]]:
    """Logarithm of the odds of a second sighting before the expected number of them, and its terms."""
    place = place_density(seen.apart_m(left, right), seen.sd_both_m(left, right))
    density = place * time_density(seen, left, right)
    with np.errstate(divide="ignore"):
        place_time = np.log(density) - np.log(chance * chance_factor(seen, left, right))
    terms = {"place_time": np.maximum(place_time, NEVER), **resighting_terms(seen, left, right, taxa=taxa)}
    return np.maximum(np.sum(list(terms.values()), axis=0), NEVER), terms


def _learn(again: Floats, copied: Floats, n: int) -> tuple[Floats, Floats, tuple[float, float]]:
    """
    Expected doubles from the probabilities and these from it, until both agree.

    Both records of a pair have a double, hence twice the number of pairs over the number of records.
    """
    weight = value("weight_of_expectation")
    first = np.array([value("expected_resightings"), value("expected_copies")])
    expected = first
    most = np.array([value("most_resightings"), 1.0])
    odds = np.exp(np.minimum(np.stack([again, copied]), -NEVER))
    for _ in range(ROUNDS):
        weighed = expected[:, None] * odds
        repeated = (weighed / (1 + weighed.sum(axis=0))).sum(axis=1)
        expected = np.minimum((weight * first + 2 * repeated) / (weight + n), most)
    weighed = expected[:, None] * odds
    share = weighed / (1 + weighed.sum(axis=0))
    return share.sum(axis=0), share[1], (float(expected[0]), float(expected[1]))
