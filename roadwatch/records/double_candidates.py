"""Pairs of records near enough in place and time to be one animal, found without comparing all with all."""

from __future__ import annotations

from itertools import combinations_with_replacement
from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import KDTree

from roadwatch.records.double_values import value

if TYPE_CHECKING:
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]
    Ints = npt.NDArray[np.int64]

SD_STEPS_M = (0.0, 12.0, 30.0, 80.0, np.inf)
"""Records are searched in classes of position error, so that one poor position does not widen every search."""


def reach_m(sd_m: Floats | float) -> Floats:
    """
    Greatest distance in metres at which a pair is proposed, from its combined standard deviation in metres.

    Source
    ------
    doubles_convention
    """
    return np.asarray(np.minimum(value("reach_sd") * np.asarray(sd_m), value("farthest_m")), dtype=np.float64)


def near_pairs(x_m: Floats, y_m: Floats, day: Ints, sd_m: Floats, *, longest_days: int) -> tuple[Ints, Ints]:
    """
    Find all pairs within reach of each other and at most so many days apart.

    In a heap (see ``heaps``) each record is compared only with the ten that follow by day and place.

    Parameters
    ----------
    x_m, y_m
        (n,) places in a metric reference system.
    day
        (n,) day numbers.
    sd_m
        (n,) standard deviation of each place along one axis, metres.
    longest_days
        Greatest difference in days.

    Returns
    -------
    (left, right) indices of each pair once, left before right, in order.
    """
    heap, is_heaped = heaps(x_m, y_m, day)
    classes = np.where(is_heaped, -1, np.digitize(sd_m, SD_STEPS_M) - 1)
    members = [np.flatnonzero(classes == k) for k in range(len(SD_STEPS_M) - 1)]
    found = [_next_in_heaps(x_m, y_m, day, heap, np.flatnonzero(is_heaped))]
    for one, other in combinations_with_replacement([rows for rows in members if len(rows)], 2):
        widest_m = max(float(reach_m(float(np.hypot(sd_m[one].max(), sd_m[other].max())))), 1e-9)
        scale = np.array([1 / widest_m, 1 / widest_m, 1 / (longest_days + 0.5)])
        place = np.column_stack([x_m, y_m, day]) * scale
        found.append(_pairs_between(place, one, other))
    pairs = np.concatenate(found)
    left, right = pairs.min(axis=1), pairs.max(axis=1)
    near = np.hypot(x_m[left] - x_m[right], y_m[left] - y_m[right]) <= reach_m(np.hypot(sd_m[left], sd_m[right]))
    near &= np.abs(day[left] - day[right]) <= longest_days
    left, right = left[near], right[near]
    order = np.lexsort((right, left))
    return left[order], right[order]


def heaps(x_m: Floats, y_m: Floats, day: Ints) -> tuple[Ints, npt.NDArray[np.bool_]]:
    """
    Find heaps: more than 300 records in a square of 50 m within 15 days, such as all records without a place of
    their own put at the county's centre. Comparing all with all there would never end, and would tell nothing.

    Parameters
    ----------
    x_m, y_m
        (n,) places in a metric reference system.
    day
        (n,) day numbers.

    Returns
    -------
    (cell, is_heaped) (n,) number of the square and fortnight of each record, and True in a heap.
    """
    steps = np.column_stack([np.floor(x_m / HEAP_M), np.floor(y_m / HEAP_M), day // HEAP_DAYS]).astype(np.int64)
    order = np.lexsort(steps.T)
    is_new = np.append(True, np.any(np.diff(steps[order], axis=0) != 0, axis=1))[: len(order)]
    cell = np.empty(len(order), dtype=np.int64)
    cell[order] = np.cumsum(is_new) - 1
    return cell, np.asarray(np.bincount(cell)[cell] > MOST_TOGETHER, dtype=bool)


HEAP_M, HEAP_DAYS, MOST_TOGETHER, COMPARED_IN_HEAP = 50.0, 15, 300, 10


def _next_in_heaps(x_m: Floats, y_m: Floats, day: Ints, heap: Ints, rows: Ints) -> Ints:
    order = rows[np.lexsort((y_m[rows], x_m[rows], day[rows], heap[rows]))]
    pairs = [np.column_stack([order[:-step], order[step:]]) for step in range(1, COMPARED_IN_HEAP + 1)]
    both = np.concatenate([np.empty((0, 2), dtype=np.int64), *pairs])
    return np.asarray(both[heap[both[:, 0]] == heap[both[:, 1]]])


def _pairs_between(place: Floats, one: Ints, other: Ints) -> Ints:
    """Pairs of two classes within one unit of each other on every axis."""
    tree = KDTree(place[one])
    if one is other:
        return np.asarray(one[tree.query_pairs(1.0, p=np.inf, output_type="ndarray")], dtype=np.int64).reshape(-1, 2)
    near = tree.sparse_distance_matrix(KDTree(place[other]), 1.0, p=np.inf, output_type="ndarray")
    return np.column_stack([one[near["i"]], other[near["j"]]])
