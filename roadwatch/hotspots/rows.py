"""Rows of sparse matrices: cut without a copy, and made without sorting."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from scipy import sparse

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np
    import numpy.typing as npt

    from roadwatch.roads.arrays import FloatArray

ROWS_AT_ONCE = 8192
"""Rows of a block."""

CELLS_AT_ONCE = 1_000_000
"""Cells of loose blocks that are put together."""


def rows_of(matrix: sparse.csr_array, part: slice) -> sparse.csr_array:
    """
    Cut rows out of a matrix, without a copy of what they hold.

    Parameters
    ----------
    matrix
        (n, m) Matrix.
    part
        Rows, from start to stop.
    """
    bounds = matrix.indptr[part.start : part.stop + 1]
    held = slice(bounds[0], bounds[-1])
    rows = sparse.csr_array((part.stop - part.start, matrix.shape[1]), dtype=matrix.dtype)
    # set one by one: the constructor copies what is less than half of the array it is cut from
    rows.data, rows.indices, rows.indptr = matrix.data[held], matrix.indices[held], bounds - bounds[0]
    return rows


def blocks_of_rows(matrix: sparse.csr_array) -> Iterator[tuple[slice, sparse.csr_array]]:
    """
    Go through a matrix by blocks of rows, so that what is made of each stays small.

    Parameters
    ----------
    matrix
        (n, m) Matrix.

    Yields
    ------
    Rows from start to stop, and what the matrix holds there, not copied.
    """
    for start in range(0, matrix.shape[0], ROWS_AT_ONCE):
        part = slice(start, min(start + ROWS_AT_ONCE, matrix.shape[0]))
        yield part, rows_of(matrix, part)


def summed(
    value: FloatArray, row: npt.NDArray[np.integer], column: npt.NDArray[np.integer], shape: tuple[int, int]
) -> sparse.csr_array:
    """
    Make a matrix of values, those of one cell added up: as scipy does it, but by two passes in place of a sort.

    Parameters
    ----------
    value, row, column
        (k,) Values and their cells, in any order, a cell more than once.
    shape
        Shape of the matrix.

    Returns
    -------
    Matrix of that shape, each cell stored once, in order.
    """
    loose = sparse.coo_array((value, (row, column)), shape=shape)
    loose.has_canonical_format = True  # it need not be: told so, scipy leaves the sorting and the sums to what follows
    by_row = loose.tocsc().tocsr()  # out of columns, rows come sorted
    by_row.has_sorted_indices, by_row.has_canonical_format = True, False
    by_row.sum_duplicates()
    return sparse.csr_array(by_row)


@dataclass
class Stack:
    """
    Blocks of rows put one under another.

    Small arrays that are held long leave holes in memory when they are let go; so blocks are put together as they come.

    Parameters
    ----------
    n_columns
        Columns of the matrix.
    """

    n_columns: int
    _loose: list[sparse.csr_array] = field(default_factory=list)
    _firm: list[sparse.csr_array] = field(default_factory=list)

    def add(self, block: sparse.csr_array) -> None:
        """
        Put a block under the others.

        Parameters
        ----------
        block
            (k, n_columns) Rows.
        """
        self._loose.append(block)
        if sum(one.nnz for one in self._loose) >= CELLS_AT_ONCE:
            self._firm.append(sparse.csr_array(sparse.vstack(self._loose, format="csr")))
            self._loose.clear()

    def whole(self) -> sparse.csr_array:
        """Give all rows as one matrix, and let the blocks go."""
        blocks = [*self._firm, *self._loose]
        self._firm.clear()
        self._loose.clear()
        return (
            sparse.csr_array(sparse.vstack(blocks, format="csr")) if blocks else sparse.csr_array((0, self.n_columns))
        )
