"""The same records scattered again over the roads as they were watched: what chance alone would show."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from scipy import sparse

from roadwatch.hotspots.lots import Lots, running_share
from roadwatch.hotspots.surprise import SAME_SURPRISE, Yardstick

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray

THREADS = 2
"""Threads that look at slices of stretches; the answer does not depend on their number."""

CELLS_PER_BLOCK = 1_000_000
"""Stretches times draws held in memory at once, unless that is fewer than ``LEAST_AT_ONCE`` draws."""

LEAST_AT_ONCE = 64
"""Draws that one pass over a kernel serves; with fewer, fetching the kernel costs more than using it."""


@dataclass(frozen=True)
class Scatter:
    """
    Records on stretches, and where each could as well have been.

    Parameters
    ----------
    stretch, weight
        (r,) Stretch of each row and what it counts for.
    stratum
        (r,) Row of ``chance`` that holds for it, such as its year.
    chance
        (strata, n) Chance of each stretch to hold a record of the stratum; each row sums to 1.
    record
        (r,) Number of the record of which a row is a part: one that may lie at several places has several rows, and
        is moved whole. None where each row is a record.
    tilt
        (n,) How far the log of the chances of each stretch would move if the baseline erred by one standard error;
        each scattering errs by its own normal amount. None where the baseline is certain.
    order
        (n,) Stretches in the order in which chance runs through them; one that does not depend on how roads were drawn
        gives the same scatterings however they were. None takes them as they come.
    """

    stretch: IntArray
    weight: FloatArray
    stratum: IntArray
    chance: FloatArray
    record: IntArray | None = None
    tilt: FloatArray | None = None
    order: IntArray | None = None

    def movable(self) -> tuple[FloatArray, IntArray]:
        """(m,), (m,) Weight and stratum of each record, in an order that depends on nothing else."""
        if self.record is None:
            weight, stratum = self.weight, self.stratum
        else:
            _, first, number = np.unique(self.record, return_index=True, return_inverse=True)
            weight, stratum = np.round(np.bincount(number, self.weight), 12), self.stratum[first]
        order = np.lexsort((weight, stratum))
        return weight[order], stratum[order]

    def observed(self) -> FloatArray:
        """(n,) Weighted records on each stretch, added up in an order that does not depend on how they came."""
        order = np.lexsort((self.weight, self.stretch))
        counts = np.bincount(self.stretch[order], self.weight[order], self.chance.shape[1])
        return counts.astype(np.float64)

    def weight_by_stratum(self, power: int = 1) -> FloatArray:
        """(strata,) Sum of the records' weights to a power."""
        weight, stratum = self.movable()
        return np.bincount(stratum, weight**power, len(self.chance)).astype(np.float64)

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
        (n,) Weighted records per metre at the stretch centres with the first kernel, as observed and on average over
        all scatterings.
    surprise
        (n,) Kernel log-likelihood ratio with the first kernel; 0 where no more than expected, nan where the stretch was
        not tested.
    p_value
        (n,) Share of scatterings whose largest surprise anywhere, with any kernel, reaches this one: holds for the
        whole map and all kernels at once.
    p_local
        (n,) Share of scatterings whose density at this very stretch, with the first kernel, reaches this one: holds
        for one place chosen beforehand. 1 where no more than expected was seen.
    largest
        (draws,) Largest surprise of each scattering with any kernel, the kernels made alike.
    p_by_kernel
        (k, n) As ``p_value``, but for the surprise of each kernel alone; the smallest of a column is ``p_value``.
    yardsticks
        What surprise is measured with, one a kernel, made alike.
    """

    density: FloatArray
    expected_density: FloatArray
    surprise: FloatArray
    p_value: FloatArray
    p_local: FloatArray
    largest: FloatArray
    p_by_kernel: FloatArray
    yardsticks: tuple[Yardstick, ...] = ()

    def p_of(self, surprise: FloatArray) -> FloatArray:
        """
        Share of scatterings whose largest surprise reaches each surprise given; holds for the whole map.

        Parameters
        ----------
        surprise
            Surprises, any shape; nan gives nan.
        """
        return _share_reached(surprise, self.largest)


def compare_with_scatterings(
    scatter: Scatter,
    *,
    kernels: Sequence[sparse.csr_array],
    n_draws: int,
    rng: np.random.Generator,
    progress: Callable[[int, int], None] | None = None,
    cells_per_block: int | None = None,
) -> NullResult:
    """
    Compare records with their own scatterings and control the error over all stretches and kernels at once.

    Parameters
    ----------
    scatter
        The records and their chances.
    kernels
        (n, n) Kernel matrices of the stretches; the first is the one whose density is told.
    n_draws
        Number of scatterings; the smallest possible p is 1 / (n_draws + 1).
    rng
        Source of chance; the same state gives the same result, whatever the order of the records.
    progress
        Called with the draws done and the draws in all.
    cells_per_block
        Stretches times draws held in memory at once, None for what is quick; it does not change the result.

    Source
    ------
    barnard1963, besag_diggle1977, phipson_smyth2010
    """
    n_stretches = kernels[0].shape[0]
    tested = scatter.chance.sum(axis=0) > 0.0
    yardsticks = tuple(Yardstick.of(kernel, *null_scale(scatter, kernel, tested)) for kernel in kernels)
    seen = scatter.observed()
    observed = np.array([one.surprise(seen) for one in yardsticks])
    first = yardsticks[0]
    density = np.asarray(first.kernel @ seen, dtype=np.float64)
    bar = np.where(density > first.mean, density * (1.0 - SAME_SURPRISE), -np.inf)
    weight, _ = scatter.movable()
    largest, n_local = np.zeros((len(kernels), n_draws)), np.zeros(n_stretches, dtype=np.int64)
    done = 0
    per_block = max(1, (cells_per_block or max(CELLS_PER_BLOCK, LEAST_AT_ONCE * n_stretches)) // n_stretches)
    with ThreadPoolExecutor(THREADS) as pool:
        for places in relocate(scatter, n_draws=n_draws, draws_per_block=per_block, rng=rng):
            counts = _counts(places, weight, n_stretches)
            for number, yardstick in enumerate(yardsticks):
                highest, reached = yardstick.highest(counts, bar if number == 0 else None, each=pool.map)
                largest[number, done : done + len(places)] = highest
                n_local += reached
            done += len(places)
            if progress is not None:
                progress(done, n_draws)
    factor = _alike(np.column_stack([observed.max(axis=1), largest]))
    by_kernel = np.where(tested, observed * factor[:, None], np.nan)
    any_kernel = (largest * factor[:, None]).max(axis=0)
    p_by_kernel = _share_reached(by_kernel, any_kernel)
    return NullResult(
        density=density,
        expected_density=first.mean,
        surprise=np.where(tested, observed[0], np.nan),
        p_value=p_by_kernel.min(axis=0),
        p_local=np.where(tested, (1 + n_local) / (1 + n_draws), np.nan),
        largest=any_kernel,
        p_by_kernel=p_by_kernel,
        yardsticks=tuple(one.scaled(by) for one, by in zip(yardsticks, factor, strict=True)),
    )


def relocate(scatter: Scatter, *, n_draws: int, draws_per_block: int, rng: np.random.Generator) -> Iterator[IntArray]:
    """
    Scatter the records, each with its whole weight, over the stretches by the chances of their stratum.

    Parameters
    ----------
    scatter
        The records.
    n_draws, draws_per_block
        Number of scatterings in all and at a time; the second does not change the draws.
    rng
        Source of chance.

    Yields
    ------
    (draws, m) Stretch of each record, in the order of ``scatter.movable()``.
    """
    _, stratum_of = scatter.movable()
    bounds = list(pairwise(np.searchsorted(stratum_of, np.arange(len(scatter.chance) + 1))))
    error = None if scatter.tilt is None else rng.standard_normal(n_draws)
    by_order = np.arange(scatter.chance.shape[1]) if scatter.order is None else scatter.order
    chance = scatter.chance[:, by_order]
    lots = [Lots.of(of_stratum) for of_stratum in chance]
    for start in range(0, n_draws, draws_per_block):
        u = rng.random((min(draws_per_block, n_draws - start), len(stratum_of)))
        places = np.empty(u.shape, dtype=np.int64)
        for stratum, (low, high) in enumerate(bounds):
            if error is None or scatter.tilt is None:
                places[:, low:high] = lots[stratum].draw(u[:, low:high])
                continue
            for row in range(len(u)):
                erring = running_share(chance[stratum] * np.exp(error[start + row] * scatter.tilt[by_order]))
                places[row, low:high] = np.searchsorted(erring, u[row, low:high], side="right")
        yield by_order[places]


def null_scale(
    scatter: Scatter, kernel: sparse.csr_array, tested: BoolArray | None = None
) -> tuple[FloatArray, FloatArray]:
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
    tested
        (n,) False for stretches that are not tested; None tests all.

    Returns
    -------
    (n,), (n,) Mean density, and effective count per unit of density (0 where no record could ever reach).
    """
    mean = np.asarray(kernel @ scatter.expected(), dtype=np.float64)
    squared = sparse.csr_array((np.square(kernel.data), kernel.indices, kernel.indptr), shape=kernel.shape, copy=False)
    variance = np.asarray(squared @ (scatter.weight_by_stratum(2) @ scatter.chance), dtype=np.float64)
    possible = (mean > 0.0) & (variance > 0.0)
    if tested is not None:
        possible &= tested
    return mean, np.divide(mean, variance, out=np.zeros_like(mean), where=possible)


def _counts(places: IntArray, weight: FloatArray, n_stretches: int) -> FloatArray:
    """(n, draws) Weighted records on each stretch in each draw."""
    n_draws = len(places)
    cell = places * n_draws + np.arange(n_draws)[:, None]
    weights = np.broadcast_to(weight, places.shape)
    counts = np.bincount(cell.ravel(), weights.ravel(), n_stretches * n_draws).astype(np.float64, copy=False)
    return counts.reshape(n_stretches, n_draws)


def _alike(largest: FloatArray) -> FloatArray:
    """
    (k,) Factors that give the largest surprise of each kernel, in all maps drawn or seen, the same 95 % quantile.

    Narrow kernels look at more places and so reach higher by chance; without the factors they alone would set the bar.
    The observed map counts as one of all, which keeps the test exact.
    """
    high = np.quantile(largest, 0.95, axis=1, method="higher")
    return np.where(high > 0.0, high[0] / np.where(high > 0.0, high, 1.0), 1.0)


def _share_reached(surprise: FloatArray, largest: FloatArray) -> FloatArray:
    """Share of the largest surprises, the observed one counted among them, that reach each surprise; nan stays nan."""
    bar = surprise * (1.0 - SAME_SURPRISE)
    n_reached = len(largest) - np.searchsorted(np.sort(largest), bar, side="left")
    return np.where(np.isnan(surprise), np.nan, (1 + n_reached) / (1 + len(largest)))
