"""What uncertain identity does to counts: expected numbers, their spread, and sets of drawn names pooled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


@dataclass(frozen=True)
class ExpectedCount:
    """Expected number of animals of one taxon, and the variance that identity alone adds."""

    mean: float
    identity_variance: float


def expected_count(p: NDArray[np.float64]) -> ExpectedCount:
    """
    Count records by their probability, never by hardening it at one half.

    Parameters
    ----------
    p
        (records,) probability of the taxon.
    """
    return ExpectedCount(float(p.sum()), float((p * (1 - p)).sum()))


def count_distribution(p: NDArray[np.float64]) -> NDArray[np.float64]:
    """
    Probability of each count from 0 to the number of records.

    Parameters
    ----------
    p
        (records,) probability of the taxon.

    Returns
    -------
    (records + 1,) probabilities.
    """
    distribution = np.ones(1)
    for chance in p:
        distribution = np.convolve(distribution, [1 - chance, chance])
    return distribution


def draw_taxa(p: NDArray[np.float64], *, n_sets: int, rng: np.random.Generator) -> NDArray[np.intp]:
    """
    Draw a name for each record, as many sets as asked; a set is kept whole through an analysis.

    Parameters
    ----------
    p
        (records, taxa) probabilities.
    n_sets
        Number of sets.
    rng
        Source of chance.

    Returns
    -------
    (sets, records) positions of taxa.

    Source
    ------
    rubin1987
    """
    edges = np.cumsum(p, axis=1)
    edges /= edges[:, -1:]
    at = rng.random((n_sets, len(p), 1))
    return np.asarray((at >= edges).sum(axis=2), dtype=np.intp)


@dataclass(frozen=True)
class Pooled:
    """Estimates from several sets as one: mean, variance within sets, between sets, and in all."""

    mean: float
    within: float
    between: float
    total: float


def pool(estimates: NDArray[np.float64], variances: NDArray[np.float64]) -> Pooled:
    """
    Pool an estimate over sets of drawn names.

    Parameters
    ----------
    estimates, variances
        (sets,) of at least two sets.

    Source
    ------
    rubin1987
    """
    n_sets = len(estimates)
    within, between = float(variances.mean()), float(estimates.var(ddof=1))
    return Pooled(float(estimates.mean()), within, between, within + (1 + 1 / n_sets) * between)
