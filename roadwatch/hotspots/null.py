"""The same records scattered again over the roads as they were watched: what chance alone would show."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from scipy import sparse

    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray

CELLS_PER_BLOCK = 1_000_000
"""Stretches times draws held in memory at once; results do not depend on it."""

SAME_SURPRISE = 1e-9
"""A draw that falls short of the observed surprise by less than this share counts as reaching it (rounding)."""


@dataclass(frozen=True)
class Scatter:
    """
    Records on stretches, and where each could as well have been.

    Parameters
    ----------
    stretch, weight
        (r,) Stretch of each record and what it counts for.
    stratum
        (r,) Row of ``chance`` that holds for the record, such as its year.
    chance
        (strata, n) Chance of each stretch to hold a record of the stratum; each row sums to 1.
    """

    stretch: IntArray
    weight: FloatArray
    stratum: IntArray
    chance: FloatArray

    def in_fixed_order(self) -> Scatter:
        """The same records in an order that depends on what they are, not on how they came."""
        order = np.lexsort((self.stretch, self.weight, self.stratum))
        return Scatter(self.stretch[order], self.weight[order], self.stratum[order], self.chance)

    def weight_by_stratum(self, power: int = 1) -> FloatArray:
        """(strata,) Sum of the weights to a power."""
        return np.bincount(self.stratum, self.weight**power, len(self.chance)).astype(np.float64)

    def expected(self) -> FloatArray:
        """(n,) Weighted records to be expected on each stretch if only chance placed them."""
        return np.asarray(self.weight_by_stratum() @ self.chance, dtype=np.float64)


@dataclass(frozen=True)
class NullResult:
    """
    Observed surprise against the draws.

    Parameters
    ----------
    density, expected_density
        (n,) Weighted records per metre at the stretch centres, as observed and on average over all scatterings.
    surprise
        (n,) Kernel log-likelihood ratio; 0 where no more than expected, nan where the stretch was not tested.
    p_value
        (n,) Share of scatterings whose largest surprise anywhere reaches this one: holds for the whole map at once.
    p_local
        (n,) Share of scatterings whose surprise at this very stretch reaches it: holds for one place chosen beforehand.
    largest
        (draws,) Largest surprise of each scattering.
    """

    density: FloatArray
    expected_density: FloatArray
    surprise: FloatArray
    p_value: FloatArray
    p_local: FloatArray
    largest: FloatArray


def compare_with_scatterings(
    scatter: Scatter,
    *,
    kernel: sparse.csr_array,
    n_draws: int,
    rng: np.random.Generator,
    progress: Callable[[int, int], None] | None = None,
    cells_per_block: int = CELLS_PER_BLOCK,
) -> NullResult:
    """
    Compare records with their own scatterings and control the error over all stretches at once.

    Parameters
    ----------
    scatter
        The records and their chances.
    kernel
        (n, n) Kernel matrix of the stretches.
    n_draws
        Number of scatterings; the smallest possible p is 1 / (n_draws + 1).
    rng
        Source of chance; the same state gives the same result, whatever the order of the records.
    progress
        Called with the draws done and the draws in all.
    cells_per_block
        Bound on memory; it does not change the result.

    Source
    ------
    barnard1963, besag_diggle1977, phipson_smyth2010
    """
    scatter = scatter.in_fixed_order()
    n_stretches = kernel.shape[0]
    tested = scatter.chance.sum(axis=0) > 0.0
    mean, scale = null_scale(scatter, kernel)
    scale[~tested] = 0.0
    density = np.asarray(kernel @ np.bincount(scatter.stretch, scatter.weight, n_stretches), dtype=np.float64)
    observed = kernel_surprise(density, mean=mean, scale=scale)
    bar = observed * (1.0 - SAME_SURPRISE)
    largest, n_local = np.zeros(n_draws), np.zeros(n_stretches, dtype=np.int64)
    done = 0
    for places in relocate(scatter, n_draws=n_draws, draws_per_block=max(1, cells_per_block // n_stretches), rng=rng):
        drawn = kernel_surprise(
            kernel @ _counts(places, scatter.weight, n_stretches), mean=mean[:, None], scale=scale[:, None]
        )
        largest[done : done + len(places)] = drawn.max(axis=0, initial=0.0)
        n_local += (drawn >= bar[:, None]).sum(axis=1)
        done += len(places)
        if progress is not None:
            progress(done, n_draws)
    n_reached = n_draws - np.searchsorted(np.sort(largest), bar, side="left")
    return NullResult(
        density=density,
        expected_density=mean,
        surprise=_where(tested, observed),
        p_value=_where(tested, (1 + n_reached) / (1 + n_draws)),
        p_local=_where(tested, (1 + n_local) / (1 + n_draws)),
        largest=largest,
    )


def relocate(scatter: Scatter, *, n_draws: int, draws_per_block: int, rng: np.random.Generator) -> Iterator[IntArray]:
    """
    Scatter the records, each with its own weight, over the stretches by the chances of their stratum.

    Parameters
    ----------
    scatter
        The records, sorted by stratum.
    n_draws, draws_per_block
        Number of scatterings in all and at a time; the second does not change the draws.
    rng
        Source of chance.

    Yields
    ------
    (draws, r) Stretch of each record.
    """
    reach = np.cumsum(scatter.chance, axis=1)
    reach /= reach[:, -1:]
    bounds = np.searchsorted(scatter.stratum, np.arange(len(scatter.chance) + 1))
    for start in range(0, n_draws, draws_per_block):
        u = rng.random((min(draws_per_block, n_draws - start), len(scatter.stratum)))
        places = np.empty(u.shape, dtype=np.int64)
        for stratum, (low, high) in enumerate(pairwise(bounds)):
            places[:, low:high] = np.searchsorted(reach[stratum], u[:, low:high], side="right")
        yield places


def null_scale(scatter: Scatter, kernel: sparse.csr_array) -> tuple[FloatArray, FloatArray]:
    """
    Mean density under scattering, and the factor that turns density into an effective count.

    With mean mu = sum w (K p) and variance nu = sum w^2 (K^2 p), density times mu / nu behaves like a Poisson count
    of mean mu^2 / nu.

    Parameters
    ----------
    scatter
        The records and their chances.
    kernel
        (n, n) Kernel matrix.

    Returns
    -------
    (n,), (n,) Mean density, and effective count per unit of density (0 where no record could ever reach).
    """
    mean = np.asarray(kernel @ scatter.expected(), dtype=np.float64)
    variance = np.asarray(kernel.power(2) @ (scatter.weight_by_stratum(2) @ scatter.chance), dtype=np.float64)
    possible = (mean > 0.0) & (variance > 0.0)
    return mean, np.divide(mean, variance, out=np.zeros_like(mean), where=possible)


def kernel_surprise(density: FloatArray, *, mean: FloatArray, scale: FloatArray) -> FloatArray:
    """
    Poisson log-likelihood ratio of a smoothed count: c ln(c / e) - (c - e) where c exceeds e, else 0.

    It neither favours unwatched roads, as a z-score does, nor watched ones, as the raw density does.

    Parameters
    ----------
    density, mean, scale
        Density, its mean under scattering, and effective count per unit of density; shapes that broadcast.

    Source
    ------
    kulldorff1997
    """
    mean, scale = np.broadcast_to(mean, density.shape), np.broadcast_to(scale, density.shape)
    above = (density > mean) & (scale > 0.0)
    c, e = density[above], mean[above]
    surprise = np.zeros(density.shape)
    surprise[above] = scale[above] * (c * np.log(c / e) - (c - e))
    return surprise


def _counts(places: IntArray, weight: FloatArray, n_stretches: int) -> FloatArray:
    """(n, draws) Weighted records on each stretch in each draw."""
    n_draws = len(places)
    cell = places * n_draws + np.arange(n_draws)[:, None]
    weights = np.broadcast_to(weight, places.shape)
    counts = np.bincount(cell.ravel(), weights.ravel(), n_stretches * n_draws).astype(np.float64, copy=False)
    return counts.reshape(n_stretches, n_draws)


def _where(tested: BoolArray, values: FloatArray) -> FloatArray:
    return np.where(tested, values, np.nan)
