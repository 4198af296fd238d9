"""From pairs with probabilities to animals: certain pairs are joined, contradictions never; a person's word holds."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from roadwatch.records.double_values import value

if TYPE_CHECKING:
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]
    Ints = npt.NDArray[np.int64]


def join_certain(n: int, left: Ints, right: Ints, p: Floats, *, told: Floats | None = None) -> Ints:
    """
    Join records of certain pairs into animals.

    The most probable pairs are joined first; two groups are joined only where every pair across them is at least
    possible (probability 0.05 or more), so that a chain of near neighbours never becomes one animal. Records that a
    person told to be one animal count as one record first, which fits whatever one of them fits; what a person told
    to be different is never joined.

    Parameters
    ----------
    n
        Number of records.
    left, right, p
        (k,) indices of the pairs and their probabilities; a pair not given is taken as impossible.
    told
        (k,) 1 where a person told that the pair is one animal, 0 where not, nan where nobody did; None where nobody
        told anything.

    Returns
    -------
    (n,) label of the animal of each record, the smallest index among its records.

    Source
    ------
    doubles_convention
    """
    if told is None or np.isnan(told).all():
        return _join(n, left, right, p)
    is_one, is_other = told == 1, told == 0
    links = coo_array((np.ones(is_one.sum()), (left[is_one], right[is_one])), shape=(n, n))
    n_labels, label = connected_components(links, directed=False)
    node = _first_of(label, n_labels)
    ends = np.sort(np.column_stack([node[left], node[right]]), axis=1)
    across = pd.DataFrame({"one": ends[:, 0], "other": ends[:, 1], "p": p, "is_other": is_other})
    across = across[across["one"] != across["other"]].groupby(["one", "other"], as_index=False).max()
    p_across = np.where(across["is_other"], 0.0, across["p"])
    return _join(n, across["one"].to_numpy(), across["other"].to_numpy(), p_across)[node]


def _join(n: int, left: Ints, right: Ints, p: Floats) -> Ints:
    is_certain, is_possible = p >= value("certain_p"), p >= value("contradiction_p")
    links = coo_array((np.ones(is_certain.sum()), (left[is_certain], right[is_certain])), shape=(n, n))
    n_labels, label = connected_components(links, directed=False)
    size = np.bincount(label, minlength=n_labels)
    inside = is_possible & (label[left] == label[right])
    pairs = np.bincount(label[left[inside]], minlength=n_labels)
    whole = pairs == size * (size - 1) // 2
    animal = _first_of(label, n_labels)
    broken = ~whole[label]
    animal[broken] = np.flatnonzero(broken)
    rows = np.flatnonzero(inside & ~whole[label[left]])
    _join_carefully(animal, left[rows], right[rows], p[rows])
    return animal


def _first_of(label: npt.NDArray[np.int32], n_labels: int) -> Ints:
    first = np.full(n_labels, len(label), dtype=np.int64)
    np.minimum.at(first, label, np.arange(len(label)))
    return np.asarray(first[label], dtype=np.int64)


def _join_carefully(animal: Ints, left: Ints, right: Ints, p: Floats) -> None:
    """Join pair by pair, the most probable first, where nothing across the two groups contradicts."""
    near: dict[int, set[int]] = defaultdict(set)
    for one, other in zip(left.tolist(), right.tolist(), strict=True):
        near[one].add(other)
        near[other].add(one)
    members = {row: [row] for row in near}
    for k in np.lexsort((right, left, -p)):
        if p[k] < value("certain_p"):
            break
        one, other = sorted((int(animal[left[k]]), int(animal[right[k]])))
        if one == other or not all(near[row].issuperset(members[other]) for row in members[one]):
            continue
        animal[members[other]] = one
        members[one] += members.pop(other)
