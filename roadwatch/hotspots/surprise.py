"""How surprising a density is where chance would put another: the kernel log-likelihood ratio."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

import numpy as np
from scipy import sparse

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from roadwatch.roads.arrays import FloatArray, IntArray

SAME_SURPRISE = 1e-9
"""What falls short of the observed by less than this share counts as reaching it (rounding)."""

ROWS_AT_ONCE = 1024
"""Stretches worked on at a time, so that what is being worked on stays near the processor."""

STEPS_TO_BAR = 5
"""Newton steps towards the density that a surprise asks for; they close in on it to rounding."""

SLACK = 1e-9
"""Share by which that density is lowered, so that rounding drops no candidate."""


class Each(Protocol):
    """What applies a function to slices of rows and gives the answers in their order."""

    def __call__(
        self,
        function: Callable[[tuple[slice, sparse.csr_array]], FloatArray],
        slices: Iterable[tuple[slice, sparse.csr_array]],
        /,
    ) -> Iterable[FloatArray]:
        """Apply the function to each slice."""


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
    expected = np.where(scale > 0.0, mean, 1.0)
    seen = np.maximum(density, expected)  # what stays below the mean is made equal to it: no surprise
    surprise = seen / expected
    np.log(surprise, out=surprise)
    surprise *= seen
    seen -= expected
    surprise -= seen
    surprise *= scale
    return np.asarray(surprise)


def density_for(surprise: float, *, mean: FloatArray, scale: FloatArray) -> FloatArray:
    """
    Find the density from which ``kernel_surprise`` reaches a surprise; a shade less, never more.

    Parameters
    ----------
    surprise
        Surprise to be reached, 0 or more.
    mean, scale
        (n,) As in ``kernel_surprise``.

    Returns
    -------
    (n,) Density; inf where no density is surprising.
    """
    expected = mean * scale
    possible = expected > 0.0
    asked = np.divide(surprise, expected, out=np.zeros_like(expected), where=possible)
    ratio = 1.0 + np.sqrt(2.0 * asked) + asked  # lies above the root of x ln x - x + 1 = asked, which is convex
    for _ in range(STEPS_TO_BAR):
        slope = np.log(ratio)
        over = ratio * slope - ratio + 1.0 - asked
        ratio = np.maximum(ratio - np.divide(over, slope, out=np.zeros_like(ratio), where=slope > 0.0), 1.0)
    return np.where(possible, mean * ratio * (1.0 - SLACK), np.inf)


@dataclass(frozen=True)
class Yardstick:
    """
    A kernel with what chance alone would show through it.

    Parameters
    ----------
    kernel
        (n, n) Kernel matrix.
    mean, scale
        (n,) Mean density under scattering, and effective count per unit of density.
    rows
        The kernel in slices of rows.
    """

    kernel: sparse.csr_array
    mean: FloatArray
    scale: FloatArray
    rows: tuple[tuple[slice, sparse.csr_array], ...]

    @classmethod
    def of(cls, kernel: sparse.csr_array, mean: FloatArray, scale: FloatArray) -> Yardstick:
        """
        Slice a kernel for quick work.

        Parameters
        ----------
        kernel, mean, scale
            As in the class.
        """
        n = kernel.shape[0]
        slices = [slice(start, min(start + ROWS_AT_ONCE, n)) for start in range(0, n, ROWS_AT_ONCE)]
        return cls(kernel, mean, scale, tuple((part, _rows(kernel, part)) for part in slices))

    def scaled(self, factor: float) -> Yardstick:
        """
        The same yardstick in other units of surprise.

        Parameters
        ----------
        factor
            What surprise is multiplied by.
        """
        return replace(self, scale=self.scale * factor)

    def surprise(self, counts: FloatArray) -> FloatArray:
        """
        Surprise at every stretch.

        Parameters
        ----------
        counts
            (n,) or (n, k) Weighted records on each stretch.

        Returns
        -------
        Array of the shape of ``counts``.
        """
        by_column = (slice(None), None) if counts.ndim == 2 else (slice(None),)
        density = np.asarray(self.kernel @ counts, dtype=np.float64)
        return np.maximum(kernel_surprise(density, mean=self.mean[by_column], scale=self.scale[by_column]), 0.0)

    def surprise_at(self, stretch: IntArray, counts: FloatArray, left: FloatArray) -> FloatArray:
        """
        Surprise at some stretches of other counts, of which chance expects a share of what it expected.

        Parameters
        ----------
        stretch
            (s,) Stretches.
        counts
            (n, k) Weighted records on each stretch.
        left
            (k,) Their sum as a share of that of the records the yardstick was made for.

        Returns
        -------
        (s, k) Surprise.
        """
        density = np.asarray(self.kernel[stretch] @ counts, dtype=np.float64)
        mean = self.mean[stretch, None] * np.maximum(left, 1e-9)
        return np.maximum(kernel_surprise(density, mean=mean, scale=self.scale[stretch, None]), 0.0)

    def highest(self, counts: FloatArray, bar: FloatArray | None, *, each: Each = map) -> tuple[FloatArray, IntArray]:
        """
        Largest surprise of each draw, and how many draws reach a density at each stretch.

        Parameters
        ----------
        counts
            (n, draws) Weighted records on each stretch.
        bar
            (n,) Densities to be reached, or None where nobody asks.
        each
            What applies a function to the slices of rows: ``map``, or that of a pool of threads.

        Returns
        -------
        (draws,) Largest surprises, and (n,) numbers of draws.
        """
        highest = np.zeros(counts.shape[1])
        reached = np.zeros(len(self.mean), dtype=np.int64)

        def look(slice_of_rows: tuple[slice, sparse.csr_array]) -> FloatArray:
            part, kernel = slice_of_rows
            density = np.asarray(kernel @ counts, dtype=np.float64)
            if bar is not None:
                reached[part] = (density >= bar[part, None]).sum(axis=1)
            return _largest(density, self.mean[part], self.scale[part], float(highest.min(initial=np.inf)))

        for of_part in each(look, self.rows):
            np.maximum(highest, of_part, out=highest)
        return highest, reached


def _rows(kernel: sparse.csr_array, part: slice) -> sparse.csr_array:
    """Some rows of a matrix, without a copy of what they hold."""
    bounds = kernel.indptr[part.start : part.stop + 1]
    held = slice(bounds[0], bounds[-1])
    rows = sparse.csr_array((part.stop - part.start, kernel.shape[1]))
    # set one by one: the constructor copies what is less than half of the array it is cut from
    rows.data, rows.indices, rows.indptr = kernel.data[held], kernel.indices[held], bounds - bounds[0]
    return rows


def _largest(density: FloatArray, mean: FloatArray, scale: FloatArray, above: float) -> FloatArray:
    """(draws,) Largest surprise of each column; 0 for those that do not reach ``above``, which is not told apart."""
    row, draw = np.nonzero(density >= density_for(above, mean=mean, scale=scale)[:, None])
    surprise = kernel_surprise(density[row, draw], mean=mean[row], scale=scale[row])
    largest = np.zeros(density.shape[1])
    np.maximum.at(largest, draw, surprise)
    return largest
