"""Records that may be a carcass counted before count for the chance that they are not."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

if TYPE_CHECKING:
    from roadwatch.roads.arrays import FloatArray, IntArray


LINKED_P = 0.05
"""Records that are one animal with at least this probability lie at one place (a convention)."""


def supported_elsewhere(
    first: IntArray, second: IntArray, p: FloatArray, *, n_records: int, expected: float, weight: float
) -> FloatArray:
    """
    Probabilities of pairs when the share of doubles is learnt away from the pair's own place.

    Many deaths at one culvert look like doubles of each other, and teach a season that learns its share of doubles
    from all of its pairs that doubles are common: the culvert then talks itself down. So the odds of each pair are
    multiplied by the share of doubles that the rest of the season shows, over the share that all of it shows. A pair
    in a season of other doubles keeps its odds.

    Where such chances weigh the records of simulated counties, no more counties without a hotspot raise an alarm than
    may (5 and 4 of 100, against 11 and 8 with every record in full), and fourteen deaths within 120 m of an otherwise
    quiet season still weigh more than eight.

    Parameters
    ----------
    first, second, p
        (k,) Pairs of records that may be of one animal, and the probability that each is.
    n_records
        Number of records among which the pairs were found.
    expected, weight
        Further records of one animal to expect beside a record before the season is looked at, and the number of
        records that this expectation weighs as much as.

    Returns
    -------
    (k,) Probabilities.
    """
    linked = p >= LINKED_P
    links = coo_array((np.ones(int(linked.sum())), (first[linked], second[linked])), shape=(n_records, n_records))
    place = connected_components(links, directed=False)[1]
    size = np.bincount(place)
    at_place = np.bincount(place[second], p, len(size))  # both records of a pair have a double: hence the 2 below
    overall = (weight * expected + 2.0 * p.sum()) / (weight + n_records)
    elsewhere = (weight * expected + 2.0 * (p.sum() - at_place)) / (weight + n_records - size)
    kept = p * (elsewhere / overall)[place[second]]
    return np.asarray(kept / np.maximum(kept + (1.0 - p), 1e-300), dtype=np.float64)


def new_animal_chance(animal: IntArray, first: IntArray, second: IntArray, p: FloatArray) -> FloatArray:
    """
    Chance that each animal is none of those numbered before it.

    Pairs of records that were not joined, though they may be one animal, would otherwise count twice, and a place
    where one carcass was written down twice stands out by that alone.

    Parameters
    ----------
    animal
        (n,) Number of the animal of each record, 0, 1, ... in the order in which they were first seen.
    first, second
        (k,) Pairs of records that may be of one animal.
    p
        (k,) Probability that each pair is.

    Returns
    -------
    (animals,) Product of 1 - p over the earlier animals with which each shares a pair; of several pairs between the
    same two animals the most probable counts.
    """
    one, other = animal[first], animal[second]
    later, earlier = np.maximum(one, other), np.minimum(one, other)
    apart = later != earlier
    later, earlier, p = later[apart], earlier[apart], p[apart]
    order = np.lexsort((-p, earlier, later))
    later, earlier, p = later[order], earlier[order], p[order]
    most_probable = np.r_[True, (np.diff(later) != 0) | (np.diff(earlier) != 0)][: len(later)]
    chance = np.ones(int(animal.max(initial=-1)) + 1)
    np.multiply.at(chance, later[most_probable], 1.0 - p[most_probable])
    return chance
