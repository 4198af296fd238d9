"""One animal recorded more than once: found by place, day, kind of animal and condition, and counted once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import KDTree

from roadwatch.records.fields import DEFAULT_POSITION_ERROR_M
from roadwatch.records.taxa import is_within

if TYPE_CHECKING:
    from numpy.typing import NDArray

DAYS_APART = 2
"""A carcass seen again within two days at one place is taken for the same one (common practice, no source)."""

FARTHEST_M = 100.0
"""Never merge records farther apart than this, however poor their positions (a stated convention)."""


def animal_groups(records: pd.DataFrame, x_m: NDArray[np.float64], y_m: NDArray[np.float64]) -> NDArray[np.int64]:
    """
    Number the animals: records of one dead animal share a number.

    Two records are one animal when both are dead, lie within twice their combined position error (at least 25 m,
    at most 100 m), were seen at most two days apart, their names can be one taxon, neither says that the carcass was
    removed before the other saw it, and both lengths, where given, agree within a tenth.

    Parameters
    ----------
    records
        (n,) rows of kind ``crossings``.
    x_m, y_m
        (n,) places in a metric reference system.

    Returns
    -------
    (n,) group numbers 0, 1, ... in order of first appearance.

    Source
    ------
    doubles_convention
    """
    n = len(records)
    dead = np.flatnonzero((records["condition"] == "dead").to_numpy())
    if len(dead) < 2:
        return np.arange(n)
    pairs = KDTree(np.column_stack([x_m[dead], y_m[dead]])).query_pairs(FARTHEST_M, output_type="ndarray")
    left, right = dead[pairs[:, 0]], dead[pairs[:, 1]]
    same = _close(records, x_m, y_m, left, right) & _alike(records, left, right)
    links = coo_array((np.ones(same.sum()), (left[same], right[same])), shape=(n, n))
    _, label = connected_components(links, directed=False)
    return pd.factorize(label)[0].astype(np.int64)


def _close(
    records: pd.DataFrame,
    x_m: NDArray[np.float64],
    y_m: NDArray[np.float64],
    left: NDArray[np.int64],
    right: NDArray[np.int64],
) -> NDArray[np.bool_]:
    """Near in place and in time."""
    error_m = records["position_error_m"].astype(float).fillna(DEFAULT_POSITION_ERROR_M).to_numpy()
    combined_m = np.clip(2 * np.hypot(error_m[left], error_m[right]), 25.0, FARTHEST_M)
    near = np.hypot(x_m[left] - x_m[right], y_m[left] - y_m[right]) <= combined_m
    day = pd.to_datetime(records["observed_at"].str[:10]).to_numpy().astype("datetime64[D]")
    apart = np.abs((day[left] - day[right]).astype(int))
    gone = (records["action"] == "carcass_removed").to_numpy()
    earlier_gone = np.where(day[left] <= day[right], gone[left], gone[right]) & (apart > 0)
    return np.asarray(near & (apart <= DAYS_APART) & ~earlier_gone, dtype=bool)


def _alike(records: pd.DataFrame, left: NDArray[np.int64], right: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Names that can be one taxon, and lengths that agree."""
    taxon = records["taxon"].to_numpy(dtype=object)
    names = np.array(
        [is_within(taxon[a], taxon[b]) or is_within(taxon[b], taxon[a]) for a, b in zip(left, right, strict=True)],
        dtype=bool,
    )
    length_mm = records["carapace_mm"].to_numpy(dtype=float)
    ratio = length_mm[left] / length_mm[right]
    return np.asarray(names & ~((ratio < 0.9) | (ratio > 1 / 0.9)), dtype=bool)
