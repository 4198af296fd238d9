"""How surprising a density is where chance would put another: the kernel log-likelihood ratio."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hotspots.ceilings import SINGLE, Ceiling, density_at
from roadwatch.hotspots.rows import rows_of

if TYPE_CHECKING:
    import numpy.typing as npt
    from scipy import sparse

    from roadwatch.roads.arrays import FloatArray, IntArray

SAME_SURPRISE = 1e-9
"""What falls short of the observed by less than this share counts as reaching it (rounding)."""

ROWS_AT_ONCE = 1024
"""Stretches worked on at a time, so that what is being worked on stays near the processor."""

GROUPS_AT_ONCE = 4096
"""Groups of stretches worked on at a time."""

FIRST_BAR = 6.0
"""A surprise that the largest of a map often reaches: stretches that come nearest to it are looked at first."""

STEPS_TO_BAR = 5
"""Newton steps towards the density that a surprise asks for; they close in on it to rounding."""

SLACK = 1e-9
"""Share by which that density is lowered, so that rounding drops no candidate."""


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
    ceiling
        What rules most stretches out when the largest surprise is looked for.
    """

    kernel: sparse.csr_array
    mean: FloatArray
    scale: FloatArray
    ceiling: Ceiling

    @classmethod
    def of(
        cls, kernel: sparse.csr_array, mean: FloatArray, scale: FloatArray, *, ceiling: Ceiling | None = None
    ) -> Yardstick:
        """
        Make a yardstick of a kernel.

        Parameters
        ----------
        kernel, mean, scale
            As in the class.
        ceiling
            That of the kernel; None makes it.
        """
        return cls(kernel, mean, scale, Ceiling.of(kernel) if ceiling is None else ceiling)

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

    def highest(self, counts: FloatArray, *, single: npt.NDArray[np.float32] | None = None) -> FloatArray:
        """
        Largest surprise of each draw: that of the whole product, of which only what may be largest is computed.

        Parameters
        ----------
        counts
            (n, draws) Weighted records on each stretch, none negative.
        single
            The same in single precision, where it is at hand.

        Returns
        -------
        (draws,) Largest surprises, 0 where nothing is surprising.
        """
        mean, scale = self._of_groups()
        single = counts.astype(np.float32) if single is None else single
        highest = np.zeros(counts.shape[1])
        draws = np.arange(counts.shape[1])
        for start in range(0, len(mean), GROUPS_AT_ONCE):
            part = slice(start, min(start + GROUPS_AT_ONCE, len(mean)))
            top = rows_of(self.ceiling.above, part) @ single
            if not highest.any():
                bar = density_for(FIRST_BAR, mean=mean[part], scale=scale[part])
                best = np.argmax(top * (1.0 / bar).astype(np.float32)[:, None], axis=0)
                self._raise(highest, counts, best + start, draws, top[best, draws])
            bar = density_for(float(highest.min(initial=np.inf)), mean=mean[part], scale=scale[part]) * (1.0 - SINGLE)
            cell = np.flatnonzero(top >= bar.astype(np.float32)[:, None])  # of the flat array: far quicker
            density = top.ravel()[cell].astype(np.float64)
            group, draw = start + cell // len(draws), cell % len(draws)
            most = kernel_surprise(density, mean=mean[group], scale=scale[group])
            order = np.lexsort((most, draw))
            best = order[np.r_[np.diff(draw[order]) != 0, True][: len(order)]]  # the last of each draw
            self._raise(highest, counts, group[best], draw[best], density[best])
            left = most > highest[draw]
            left[best] = False
            self._raise(highest, counts, group[left], draw[left], density[left])
        return highest

    def _of_groups(self) -> tuple[FloatArray, FloatArray]:
        """(groups,), (groups,) Mean and scale with which no stretch of a group is more surprising than its ceiling."""
        is_possible = self.scale > 0.0
        mean = self.ceiling.by_group(np.where(is_possible, self.mean, np.inf), np.minimum)
        scale = self.ceiling.by_group(np.where(is_possible, self.scale, 0.0), np.maximum)
        return np.where(scale > 0.0, mean, 1.0), scale

    def reaching(self, counts: FloatArray, bar: FloatArray) -> IntArray:
        """
        Count the draws that reach a density at each stretch.

        Parameters
        ----------
        counts
            (n, draws) Weighted records on each stretch.
        bar
            (n,) Densities to be reached; -inf where all do, which costs nothing.

        Returns
        -------
        (n,) Numbers of draws.
        """
        reached = np.full(len(bar), counts.shape[1], dtype=np.int64)
        asked = np.flatnonzero(bar > -np.inf)
        kernel = self.kernel[asked]
        for start in range(0, len(asked), ROWS_AT_ONCE):
            part = slice(start, min(start + ROWS_AT_ONCE, len(asked)))
            density = rows_of(kernel, part) @ counts
            reached[asked[part]] = (density >= bar[asked[part], None]).sum(axis=1)
        return reached

    def _raise(
        self, highest: FloatArray, counts: FloatArray, group: IntArray, draw: IntArray, most: FloatArray
    ) -> None:
        """Raise the largest surprise of draws to those of the stretches of some groups, of density at most ``most``."""
        one, stretch = self.ceiling.stretches_of(group)
        mean, scale, of_draw = self.mean[stretch], self.scale[stretch], draw[one]
        left = np.flatnonzero(kernel_surprise(most[one], mean=mean, scale=scale) > highest[of_draw])
        density = density_at(self.kernel, stretch[left], counts, of_draw[left])
        surprise = kernel_surprise(density, mean=mean[left], scale=scale[left])
        np.maximum.at(highest, of_draw[left], surprise)
