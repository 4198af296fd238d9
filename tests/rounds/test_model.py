"""The linear program of a plan: bounds that hold, cuts, and limits that no clock sets."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from round_problems import best_by_search, slow_round, small_problem

from roadwatch.rounds.model import Effort, Master, Solved, least_drive, worth_of
from roadwatch.rounds.problem import Need, Timetable
from roadwatch.rounds.routes import Routes
from roadwatch.rounds.solve import FEW_VISITS, TO_A_GAP, effort_for

EXACT = Effort(gap=0.0, n_nodes=1000, n_rounds=1, seconds=np.inf)


def master_of(problem):
    return Master(problem, Routes(problem))


def test_least_drive_by_hand():
    problem = small_problem(
        n_nests=2, drive=np.array([[0.0, 4.0], [4.0, 0.0]]), drive_from_start=np.array([[10.0, 12.0]])
    )
    # half of 4 + 10 and half of 4 + 12; the round through both is 10 + 4 + 12 = 26, one alone 20 or 24
    assert least_drive(problem, 0).tolist() == [7.0, 8.0]


@given(seed=st.integers(0, 10_000))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_no_round_undercuts_the_least_drive_of_its_nests(seed):
    problem = small_problem(seed, n_nests=5)
    least = least_drive(problem, 0)
    for size in range(1, 6):
        for nests in combinations(range(5), size):
            assert least[list(nests)].sum() <= slow_round(problem, 0, nests) + 1e-9


@given(seed=st.integers(0, 10_000))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_the_bound_is_above_every_plan_there_is(seed):
    problem = small_problem(seed, n_nests=3, n_days=3, n_people=1)
    solved = master_of(problem).most_worth(EXACT, shortage=0.0)
    assert solved.bound >= best_by_search(problem)[1] - 1e-6


@given(seed=st.integers(0, 10_000))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_the_least_shortage_is_below_that_of_every_plan(seed):
    needs = (Need(0, 0, 0, 0.3, "cage"), Need(1, 0, 0, 0.2, "cage"), Need(2, 1, 2, 1.0, "open", by_opener=True))
    problem = small_problem(seed, n_nests=3, n_days=3, n_people=1, needs=needs)
    assert master_of(problem).least_shortage(EXACT).bound <= best_by_search(problem)[0] + 1e-6


def test_a_forbidden_set_is_not_planned_on_one_day_and_is_forbidden_once():
    problem = small_problem(
        n_nests=2,
        n_days=1,
        delay_days=0,
        chance=np.array([[0.6], [0.5]]),
        available=np.ones((1, 1), dtype=bool),
        day_minutes=np.array([np.inf]),
        per_day=2,
    )
    master = master_of(problem)
    assert master.most_worth(EXACT, shortage=0.0).timetable.person.tolist() == [[0], [0]]
    assert master.forbid(0, [0, 1])
    assert not master.forbid(0, [1, 0])
    assert master.n_cuts == 1
    assert master.most_worth(EXACT, shortage=0.0).timetable.person.tolist() == [[0], [-1]]  # 0.6 is more than 0.5


def test_a_visit_of_no_use_has_no_variable():
    problem = small_problem(n_nests=2, n_days=2, chance=np.array([[0.0, 0.0, 0.0], [0.0, 0.5, 0.0]]))
    assert (master_of(problem).column[0] == -1).all()


def test_without_a_variable_nobody_comes():
    problem = small_problem(n_nests=2, n_days=2, chance=np.zeros((2, 3)))
    solved = master_of(problem).most_worth(EXACT, shortage=0.0)
    assert (solved.timetable.person == -1).all()
    assert solved.bound == 0


def test_a_solve_without_a_plan_is_worth_less_than_any():
    problem = small_problem(n_nests=1, n_days=1)
    assert worth_of(problem, Solved(None, 0.0, by_clock=False)) == -np.inf
    nobody = Timetable(np.full((1, 1), -1))
    assert worth_of(problem, Solved(nobody, 0.0, by_clock=False)) == 0


def test_effort_is_set_by_nodes_and_rounds_and_never_by_the_clock():
    # by hand: 400,000 nodes and 12,000 rounds shared out by visits, at least 100 and 8
    assert effort_for(400) == Effort(gap=0.0, n_nodes=1000, n_rounds=30, seconds=np.inf)
    assert effort_for(FEW_VISITS) == Effort(gap=0.0, n_nodes=266, n_rounds=8, seconds=np.inf)
    assert effort_for(0).n_nodes == 400_000
    assert effort_for(FEW_VISITS + 1) is TO_A_GAP


@pytest.mark.parametrize("n_nodes", [0, 1])
def test_a_solve_of_one_node_still_gives_a_bound_and_says_how_many_it_took(n_nodes):
    problem = small_problem(3, n_nests=6, n_days=4, n_people=2)
    solved = master_of(problem).most_worth(Effort(0.0, n_nodes, 1, np.inf), shortage=0.0)
    assert np.isfinite(solved.bound)
    assert 0 <= solved.n_nodes <= 1
    assert not solved.by_clock
