"""Ceilings: no stretch of a group exceeds them, in any draw, and single densities are those of the whole product."""

import numpy as np
import pytest
from scipy import sparse

from roadwatch.hotspots.ceilings import MOST_IN_GROUP, Ceiling, density_at
from roadwatch.hotspots.density import kernel_matrix
from roadwatch.roads.stretches import cut_stretches


@pytest.fixture
def kernel(county):
    network = county(4, 400.0)
    return kernel_matrix(network, cut_stretches(network))


@pytest.fixture
def scattered():
    """A matrix in which neighbouring rows have nothing to do with each other, some entries negative."""
    rng = np.random.default_rng(4)
    random = sparse.random_array((300, 300), density=0.05, rng=rng, format="csr")
    random.data -= 0.2
    return sparse.csr_array(random)


def group_of(ceiling):
    return np.repeat(np.arange(len(ceiling.first) - 1), np.diff(ceiling.first))


def test_no_density_exceeds_its_ceiling_in_single_precision(kernel):
    ceiling = Ceiling.of(kernel)
    rng = np.random.default_rng(1)
    counts = rng.poisson(0.3, (kernel.shape[0], 400)) * rng.choice([0.1, 0.7, 0.95], (kernel.shape[0], 400))
    top = (ceiling.above @ counts.astype(np.float32)).astype(float)
    assert (top[group_of(ceiling)] >= kernel @ counts).all()


def test_a_ceiling_holds_where_entries_are_negative(scattered):
    ceiling = Ceiling.of(scattered)
    counts = np.random.default_rng(1).poisson(0.3, (300, 400)).astype(float)
    top = (ceiling.above @ counts.astype(np.float32)).astype(float)
    assert (top[group_of(ceiling)] >= scattered @ counts - 1e-12).all()


def test_a_ceiling_is_the_largest_entry_of_each_column(kernel):
    ceiling = Ceiling.of(kernel)
    dense = kernel.toarray()
    for group, (low, high) in enumerate(zip(ceiling.first[:-1], ceiling.first[1:], strict=True)):
        assert ceiling.above[[group]].toarray()[0] == pytest.approx(dense[low:high].max(axis=0), rel=1e-4)


def test_every_stretch_is_in_one_small_group(kernel):
    first = Ceiling.of(kernel).first
    assert (first[0], first[-1]) == (0, kernel.shape[0])
    assert set(np.diff(first)) <= set(range(1, MOST_IN_GROUP + 1))
    assert len(first) - 1 < 0.7 * kernel.shape[0]  # roads of 400 m are cut into many stretches, most of them in pairs


def test_stretches_that_do_not_touch_stand_under_ceilings_of_their_own():
    apart = Ceiling.of(sparse.csr_array(np.eye(4)))
    assert apart.first.tolist() == [0, 1, 2, 3, 4]
    together = sparse.csr_array(np.array([[1.0, 0.9, 0.0], [0.9, 1.0, 0.1], [0.0, 0.1, 1.0]]))
    assert Ceiling.of(together).first.tolist() == [0, 2, 3]


def test_one_stretch_alone_has_a_ceiling():
    assert Ceiling.of(sparse.csr_array(np.array([[0.5]]))).above.toarray() == pytest.approx(np.array([[0.5]]), rel=1e-5)


def test_smallest_and_largest_by_group():
    together = sparse.csr_array(np.array([[1.0, 0.9, 0.0], [0.9, 1.0, 0.1], [0.0, 0.1, 1.0]]))
    ceiling = Ceiling.of(together)
    assert ceiling.by_group(np.array([3.0, 2.0, 5.0]), np.minimum).tolist() == [2.0, 5.0]
    assert ceiling.by_group(np.array([3.0, 2.0, 5.0]), np.maximum).tolist() == [3.0, 5.0]
    one, stretch = ceiling.stretches_of(np.array([1, 0, 0]))
    assert (one.tolist(), stretch.tolist()) == ([0, 1, 1, 2, 2], [2, 0, 1, 0, 1])


def test_single_densities_are_those_of_the_whole_product_to_the_last_digit(kernel):
    rng = np.random.default_rng(2)
    counts = rng.poisson(0.3, (kernel.shape[0], 30)) * 0.7
    stretch, column = rng.integers(kernel.shape[0], size=2000), rng.integers(30, size=2000)
    whole = kernel @ counts
    assert density_at(kernel, stretch, counts, column).tolist() == whole[stretch, column].tolist()


def test_the_density_of_a_stretch_that_no_record_reaches_is_nothing():
    empty = sparse.csr_array((3, 3))
    assert density_at(empty, np.array([0, 2]), np.ones((3, 2)), np.array([0, 1])).tolist() == [0.0, 0.0]
    assert density_at(empty, np.array([], int), np.ones((3, 2)), np.array([], int)).tolist() == []
