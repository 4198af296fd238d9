"""The same records scattered again over the roads as they were watched: what chance alone would show."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hotspots.lots import Lots, running_share
from roadwatch.hotspots.rows import blocks_of_rows
from roadwatch.hotspots.surprise import SAME_SURPRISE, Yardstick

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scipy import sparse

    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray


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
        return share_reached(surprise, self.largest)


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
    variance, squares = np.empty_like(mean), scatter.weight_by_stratum(2) @ scatter.chance
    for part, rows in blocks_of_rows(kernel):
        rows.data = np.square(rows.data)
        variance[part] = rows @ squares
    possible = (mean > 0.0) & (variance > 0.0)
    if tested is not None:
        possible &= tested
    return mean, np.divide(mean, variance, out=np.zeros_like(mean), where=possible)


def share_reached(surprise: FloatArray, largest: FloatArray) -> FloatArray:
    """
    Share of the largest surprises, the observed one counted among them, that reach each surprise.

    Parameters
    ----------
    surprise
        Surprises, any shape; nan gives nan.
    largest
        (draws,) Largest surprise of each scattering.
    """
    bar = surprise * (1.0 - SAME_SURPRISE)
    n_reached = len(largest) - np.searchsorted(np.sort(largest), bar, side="left")
    return np.where(np.isnan(surprise), np.nan, (1 + n_reached) / (1 + len(largest)))
