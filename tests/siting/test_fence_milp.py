"""The programme agrees with the table on questions too large to try by hand."""

import numpy as np
import pytest
from siting.problems import question

from roadwatch.siting.fence_milp import solve_fences
from roadwatch.siting.fence_problem import Prices
from roadwatch.siting.fences import plan_fences


@pytest.mark.parametrize("seed", range(6))
def test_both_ways_agree_on_a_network_of_three_hundred_cells(seed):
    rng = np.random.default_rng(seed)
    problem = question(
        rng.gamma(0.1, 1.0, 300),
        line=np.sort(rng.integers(0, 25, 300)),
        middle=(0.5, 0.8),
        middle_cells=(0, 12),
        end=(0.0, 0.4),
        least_cells=3,
        most_cells=40,
        most_runs=4,
        prices=Prices(1.0, 2.0, budget=48.0),
    )
    assert solve_fences(problem).value == pytest.approx(plan_fences(problem).averted.sum(), rel=1e-6)


def test_a_solved_plan_is_worth_what_its_runs_add_up_to():
    problem = question(np.random.default_rng(9).gamma(0.1, 1.0, 120), end=(0.3,), most_cells=20, most_runs=3)
    solved = solve_fences(problem)
    assert problem.value_of(solved.runs).sum() == pytest.approx(solved.value, rel=1e-6)
    assert solved.passages == ()
