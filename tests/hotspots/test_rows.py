"""Rows of sparse matrices against what scipy makes of the same cells."""

import numpy as np
import pytest
from scipy import sparse

from roadwatch.hotspots.rows import Stack, blocks_of_rows, rows_of, summed


@pytest.fixture
def matrix():
    return sparse.csr_array(sparse.random_array((300, 200), density=0.05, rng=np.random.default_rng(4), format="csr"))


def test_slices_of_rows_hold_the_matrix_and_no_copy_of_it(matrix):
    rows = [rows_of(matrix, slice(start, min(start + 128, 300))) for start in range(0, 300, 128)]
    assert abs(sparse.vstack(rows) - matrix).max() == 0.0
    assert all(np.shares_memory(part.data, matrix.data) for part in rows)


def test_a_slice_multiplies_like_the_whole(matrix):
    counts = np.random.default_rng(1).random((200, 7))
    assert (rows_of(matrix, slice(40, 90)) @ counts).tolist() == (matrix @ counts)[40:90].tolist()


def test_a_slice_of_single_precision_stays_so(matrix):
    assert rows_of(matrix.astype(np.float32), slice(0, 10)).dtype == np.float32


def test_cells_are_summed_as_scipy_sums_them():
    rng = np.random.default_rng(2)
    value, row, column = rng.random(5000), rng.integers(0, 40, 5000), rng.integers(0, 60, 5000)
    ours = summed(value, row, column, (40, 60))
    theirs = sparse.coo_array((value, (row, column)), shape=(40, 60)).tocsr()
    assert ours.indptr.tolist() == theirs.indptr.tolist()
    assert ours.indices.tolist() == theirs.indices.tolist()
    assert ours.data == pytest.approx(theirs.data, rel=1e-14)
    assert ours.has_canonical_format


def test_cells_in_any_order_by_hand():
    made = summed(np.array([1.0, 2.0, 4.0, 8.0]), np.array([1, 0, 1, 1]), np.array([2, 0, 0, 2]), (3, 3))
    assert made.toarray().tolist() == [[2.0, 0.0, 0.0], [4.0, 0.0, 9.0], [0.0, 0.0, 0.0]]


def test_no_cells_make_an_empty_matrix():
    none = np.array([], dtype=int)
    made = summed(np.array([]), none, none, (2, 5))
    assert (made.shape, made.nnz) == ((2, 5), 0)


def test_blocks_come_out_one_under_another(matrix, monkeypatch):
    for cells in (1, 100, 10**9):
        monkeypatch.setattr("roadwatch.hotspots.rows.CELLS_AT_ONCE", cells)
        stack = Stack(200)
        for start in range(0, 300, 70):
            stack.add(matrix[start : start + 70])
        assert abs(stack.whole() - matrix).max() == 0.0


def test_no_blocks_make_no_rows():
    assert Stack(7).whole().shape == (0, 7)


def test_blocks_of_rows_go_through_the_matrix_once(matrix, monkeypatch):
    monkeypatch.setattr("roadwatch.hotspots.rows.ROWS_AT_ONCE", 128)
    parts = list(blocks_of_rows(matrix))
    assert [(part.start, part.stop) for part, _ in parts] == [(0, 128), (128, 256), (256, 300)]
    assert abs(sparse.vstack([rows for _, rows in parts]) - matrix).max() == 0.0
