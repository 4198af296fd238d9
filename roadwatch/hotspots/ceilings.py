"""The largest surprise of each scattering, without looking at every stretch: ceilings rule most of them out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import sparse

from roadwatch.hotspots.paths import ranks
from roadwatch.hotspots.rows import Stack

if TYPE_CHECKING:
    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray

MOST_IN_GROUP = 2
"""Stretches under one ceiling; with more of them it is quicker to compute and rules out less."""

NEIGHBOURS_SHARE = 0.5
"""Stretches are grouped where a record on one leaves at least this share of its own density on the next."""

GROUPS_AT_ONCE = 4096
"""Groups whose ceilings are made at a time."""

CELLS_AT_ONCE = 256
"""Single densities added up at a time, so that what is being worked on stays near the processor."""

SINGLE = 2.0**-23
"""Largest error, as a share, of one rounding to single precision, twice over."""


@dataclass(frozen=True)
class Ceiling:
    """
    What no stretch of a group of neighbours can exceed, in single precision and rounded up.

    Parameters
    ----------
    kernel
        (n, n) Kernel matrix.
    above
        (groups, n) Largest entry in each column of each group's rows, and 0 where all are negative.
    first
        (groups + 1,) First stretch of each group, and n.
    """

    kernel: sparse.csr_array
    above: sparse.csr_array
    first: IntArray

    @classmethod
    def of(cls, kernel: sparse.csr_array) -> Ceiling:
        """
        Put ceilings on groups of neighbouring stretches.

        Parameters
        ----------
        kernel
            (n, n) Kernel matrix, no cell of which is stored twice.
        """
        first = _first_of_groups(kernel)
        size = np.diff(first)
        raise_by = 1.0 + (int(np.diff(kernel.indptr).max(initial=0)) * MOST_IN_GROUP + 4) * SINGLE
        stack = Stack(kernel.shape[1])
        for start in range(0, len(size), GROUPS_AT_ONCE):
            part = slice(start, start + GROUPS_AT_ONCE)
            above = kernel[first[:-1][part]]
            for step in range(1, int(size[part].max())):
                above = above.maximum(kernel[first[:-1][part] + np.minimum(step, size[part] - 1)])
            raised = (np.maximum(above.data, 0.0) * raise_by).astype(np.float32)
            stack.add(sparse.csr_array((raised, above.indices, above.indptr), shape=above.shape))
        return cls(kernel, stack.whole(), first)

    def by_group(self, values: FloatArray, ufunc: np.ufunc) -> FloatArray:
        """
        Smallest or largest value of each group.

        Parameters
        ----------
        values
            (n,) One value a stretch.
        ufunc
            ``np.minimum`` or ``np.maximum``.
        """
        return np.asarray(ufunc.reduceat(values, self.first[:-1]), dtype=np.float64)

    def stretches_of(self, group: IntArray) -> tuple[IntArray, IntArray]:
        """
        List the stretches of some groups.

        Parameters
        ----------
        group
            (k,) Groups.

        Returns
        -------
        (m,), (m,) Place in ``group``, and stretch.
        """
        size = np.diff(self.first)[group]
        one = np.repeat(np.arange(len(group)), size)
        return one, self.first[group][one] + ranks(size)


def density_at(kernel: sparse.csr_array, stretch: IntArray, counts: FloatArray, column: IntArray) -> FloatArray:
    """
    Density at single stretches of single columns, added up in the order in which a whole product adds it up.

    Parameters
    ----------
    kernel
        (n, n) Kernel matrix.
    stretch, column
        (k,) Stretch and column asked for.
    counts
        (n, columns) Weighted records on each stretch.

    Returns
    -------
    (k,) Density.
    """
    density = np.empty(len(stretch))
    flat = counts.ravel()
    for start in range(0, len(stretch), CELLS_AT_ONCE):
        part = slice(start, start + CELLS_AT_ONCE)
        begin = kernel.indptr[stretch[part]].astype(np.int64)
        size = kernel.indptr[stretch[part] + 1] - begin
        one = np.repeat(np.arange(len(size)), size)
        entry = begin[one] + ranks(size)
        of_cell = flat[kernel.indices[entry].astype(np.int64) * counts.shape[1] + column[part][one]]
        density[part] = np.bincount(one, kernel.data[entry] * of_cell, len(size))
    return density


def _first_of_groups(kernel: sparse.csr_array) -> IntArray:
    """(groups + 1,) Where groups begin: unbroken runs of neighbours, each cut into equal parts."""
    n = kernel.shape[0]
    is_next: BoolArray = kernel.diagonal(1) >= NEIGHBOURS_SHARE * kernel.diagonal()[:-1]
    start = np.r_[0, 1 + np.flatnonzero(~is_next)]
    size = np.diff(np.r_[start, n])
    place = ranks(size)
    parts = np.repeat(-(-size // MOST_IN_GROUP), size)
    part = place * parts // np.repeat(size, size)
    is_first = np.r_[True, (np.diff(part) != 0) | (place[1:] == 0)]
    return np.asarray(np.r_[np.flatnonzero(is_first), n], dtype=np.int64)
