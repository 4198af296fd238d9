"""The table of best plans: what its axes mean, and which entry is taken."""

import numpy as np
import pytest
from siting.problems import question

from roadwatch.siting.fence_table import GROUP_CELLS, fence_table, least_state, plans_of


def test_nothing_averts_nothing():
    table = fence_table(question([3, 4, 5], most_runs=2))
    assert (table.value[0, 0] == 0.0).all()
    assert (table.value[0, :, 0] == 0.0).all()


def test_one_run_of_each_length_by_hand():
    table = fence_table(question([3, 0, 4, 5], most_runs=2))
    assert table.value[0, 1].tolist() == [0.0, 5.0, 9.0, 9.0, 12.0]
    assert table.value[0, 2].tolist() == [0.0, 5.0, 9.0, 12.0, 12.0]


def test_plans_are_read_back_over_the_borders_of_groups():
    rng = np.random.default_rng(3)
    n = 3 * GROUP_CELLS
    rates = rng.gamma(0.2, 1.0, (2, n))
    problem = question(rates, line=np.arange(n) // 17, most_runs=6, most_cells=30, least_cells=2)
    table = fence_table(problem)
    assert len(table.groups) > 2
    for of, plan in enumerate(plans_of(table, [(0, 6, 30), (1, 6, 30)])):
        assert problem.value_of(plan)[of].sum() == pytest.approx(table.value[of, 6, 30])


def test_the_shortest_and_then_fewest_runs_that_reach_the_best_are_taken():
    value = np.array([[0.0, 0.0, 0.0], [0.0, 5.0, 7.0], [0.0, 5.0, 7.0]])
    assert least_state(value, runs_limited=True).tolist() == [1, 2]
    allowed = np.array([[True, True, False]] * 3)
    assert least_state(value, runs_limited=True, allowed=allowed).tolist() == [1, 1]


def test_roads_too_short_for_a_run_are_passed_over():
    table = fence_table(question([9, 9, 1, 1, 1], line=np.array([0, 0, 1, 1, 1]), least_cells=3))
    assert table.groups == [[(2, 5)]]
    assert table.value.max() == 3.0
