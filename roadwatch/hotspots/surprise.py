"""How surprising a density is where chance would put another: the kernel log-likelihood ratio."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from scipy import sparse

    from roadwatch.roads.arrays import FloatArray, IntArray

SAME_SURPRISE = 1e-9
"""What falls short of the observed by less than this share counts as reaching it (rounding)."""

ROWS_AT_ONCE = 1024
"""Stretches worked on at a time, so that what is being worked on stays near the processor."""


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
        slices = [slice(start, start + ROWS_AT_ONCE) for start in range(0, kernel.shape[0], ROWS_AT_ONCE)]
        return cls(kernel, mean, scale, tuple((part, kernel[part]) for part in slices))

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
            surprise = kernel_surprise(density, mean=self.mean[part, None], scale=self.scale[part, None])
            return np.asarray(surprise.max(axis=0), dtype=np.float64)

        for of_part in each(look, self.rows):
            np.maximum(highest, of_part, out=highest)
        return highest, reached
