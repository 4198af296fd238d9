"""How many other records lie as near by chance: the density of a season's own records in place and time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import KDTree

from roadwatch.records.double_candidates import heaps
from roadwatch.records.double_values import value

if TYPE_CHECKING:
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]
    Ints = npt.NDArray[np.int64]

NEAR_DAYS, SEASON_DAYS = 14, 15
FLAT_SEASON_DAYS, FLAT_SEASON_WEIGHT = 150, 20


def others_by_chance(x_m: Floats, y_m: Floats, day: Ints, asked: Ints) -> Floats:
    """
    Records expected by chance per metre of road and per day at the place and time of a record.

    Place: other records within 100 m that lie more than 14 days away in time (so that doubles do not count as
    neighbours), over the share of the season that lies so far away, drawn towards the density within 100 to 500 m
    (at least one record in 200 m: where one animal died another may) with the weight of a quarter season; then the
    same within 30 m, drawn towards this with the weight of two records, for deaths lie denser at a culvert than
    beside it. Of the records at one time and place no more than five are taken for a record's own doubles. Time:
    records of the whole season within 15 days, weakly drawn towards a flat season of 150 days.

    Parameters
    ----------
    x_m, y_m
        (n,) places of the records of one state (dead, or living), metric.
    day
        (n,) day numbers.
    asked
        Indices for which it is wanted.

    Returns
    -------
    (len(asked),) records per metre and day.

    Source
    ------
    doubles_convention
    """
    heap, is_heaped = heaps(x_m, y_m, day)
    _, first = np.unique(heap, return_index=True)
    asked, back = np.unique(np.where(is_heaped[asked], first[heap[asked]], asked), return_inverse=True)
    wide_m, narrow_m = value("neighbourhood_m"), value("narrow_neighbourhood_m")
    plane = np.column_stack([x_m, y_m])
    flat = KDTree(plane)
    within = {r: flat.query_ball_point(plane[asked], r, return_length=True) for r in (narrow_m, wide_m, 5 * wide_m)}
    background = np.maximum((within[5 * wide_m] - within[wide_m]) / (8 * wide_m), 0.5 / wide_m)
    away = 1 - _share_within(day, asked, NEAR_DAYS)
    density = background
    for near_m, weight in ((wide_m, 0.25 * 2 * wide_m * background), (narrow_m, 2.0)):
        deep = np.column_stack([plane, day * near_m / NEAR_DAYS])
        at_once = KDTree(deep).query_ball_point(deep[asked], near_m, return_length=True)
        density = (within[near_m] - at_once + weight) / (2 * near_m * away + weight / density)
    crowd = np.max([(within[r] - 1 - value("most_of_one_carcass")) / (2 * r) for r in (narrow_m, wide_m)], axis=0)
    density = np.maximum(density, crowd)
    per_day = _share_within(day, asked, SEASON_DAYS) / (2 * SEASON_DAYS + 1)
    return np.asarray((density * per_day)[back], dtype=np.float64)


def _share_within(day: Ints, asked: Ints, reach: int) -> Floats:
    """Share of the season's records within so many days, weakly drawn towards a flat season."""
    ordered = np.sort(day)
    inside = np.searchsorted(ordered, day[asked] + reach, "right") - np.searchsorted(
        ordered, day[asked] - reach, "left"
    )
    flat = min(1.0, (2 * reach + 1) / FLAT_SEASON_DAYS) * FLAT_SEASON_WEIGHT
    return np.asarray((inside + flat) / (len(day) + FLAT_SEASON_WEIGHT), dtype=np.float64)
