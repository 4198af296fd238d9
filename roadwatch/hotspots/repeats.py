"""Records that may be a carcass counted before count for the chance that they are not."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from roadwatch.roads.arrays import FloatArray, IntArray


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
