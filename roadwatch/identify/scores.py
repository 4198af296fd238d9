"""Is 80 % right 80 % of the time? Scores of stated probabilities against what was verified later."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.special import ndtri

if TYPE_CHECKING:
    from numpy.typing import NDArray

LOG_FLOOR = 1e-6
"""A probability below this is scored as this, so that one mistake does not cost without end."""

N_BINS = 10


def brier_scores(p: NDArray[np.float64], true: NDArray[np.bool_]) -> NDArray[np.float64]:
    """
    Squared distance between stated and true, 0 the best and 2 the worst.

    Parameters
    ----------
    p
        (records, taxa) probabilities.
    true
        (records, taxa) True for the verified taxon; where the verified name is coarse, for all that it holds, and
        these count as one.

    Source
    ------
    brier1950
    """
    of_truth = (p * true).sum(axis=1)
    return np.asarray((1 - of_truth) ** 2 + ((p * ~true) ** 2).sum(axis=1))


def log_scores(p: NDArray[np.float64], true: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Surprise at the truth, in natural units, 0 the best; arguments as of :func:`brier_scores`."""
    return np.asarray(-np.log(np.maximum((p * true).sum(axis=1), LOG_FLOOR)))


def wilson_limits(
    n_right: NDArray[np.float64], n: NDArray[np.float64], *, coverage: float = 0.95
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """
    Limits of a share, sensible for few and for many.

    Parameters
    ----------
    n_right, n
        (k,) right ones, and all; a group of none runs from 0 to 1.
    coverage
        Of the limits.

    Source
    ------
    wilson1927
    """
    z = ndtri(0.5 + coverage / 2)
    some = np.maximum(n, 1)
    share = n_right / some
    middle = (share + z**2 / (2 * some)) / (1 + z**2 / some)
    half = z / (1 + z**2 / some) * np.sqrt(share * (1 - share) / some + z**2 / (4 * some**2))
    low, high = np.clip(middle - half, 0, 1), np.clip(middle + half, 0, 1)
    return np.where(n > 0, low, 0.0), np.where(n > 0, high, 1.0)


def leading(p: NDArray[np.float64], true: NDArray[np.bool_]) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """
    The most probable answer of each record: how sure it was, and whether it was right.

    A coarse verified name counts as one answer with all that it holds.
    """
    of_truth = (p * true).sum(axis=1)
    of_best_other = np.where(true, 0.0, p).max(axis=1)
    return np.maximum(of_truth, of_best_other), of_truth >= of_best_other


def reliability(sure: NDArray[np.float64], right: NDArray[np.bool_], *, n_bins: int = N_BINS) -> pd.DataFrame:
    """
    How often answers were right, by how sure they were.

    Parameters
    ----------
    sure
        (records,) probability of the answer given.
    right
        (records,) whether it was right.
    n_bins
        Number of bins of equal width; empty ones are left out.

    Returns
    -------
    Table ``sure_from sure_to n mean_sure n_right share_right share_low share_high`` with 95 % limits.

    Source
    ------
    wilson1927
    """
    bin_of = np.clip(np.ceil(sure * n_bins - 1e-12).astype(int) - 1, 0, n_bins - 1)
    n = np.bincount(bin_of, minlength=n_bins).astype(float)
    n_right = np.bincount(bin_of, weights=right, minlength=n_bins).astype(float)
    total_sure = np.bincount(bin_of, weights=sure, minlength=n_bins)
    low, high = wilson_limits(n_right, n)
    some = np.maximum(n, 1)
    table = pd.DataFrame(
        {
            "sure_from": np.arange(n_bins) / n_bins,
            "sure_to": np.arange(1, n_bins + 1) / n_bins,
            "n": n.astype(int),
            "mean_sure": total_sure / some,
            "n_right": n_right.astype(int),
            "share_right": n_right / some,
            "share_low": low,
            "share_high": high,
        }
    )
    return table[table["n"] > 0].reset_index(drop=True)


def calibration_error(table: pd.DataFrame) -> float:
    """
    Mean distance between how sure and how often right, each bin by its records; nan without records.

    Parameters
    ----------
    table
        With ``n``, ``mean_sure`` and ``share_right``, as of :func:`reliability`.
    """
    if table.empty:
        return float("nan")
    distance = (table["share_right"] - table["mean_sure"]).abs()
    return float((table["n"] * distance).sum() / table["n"].sum())
