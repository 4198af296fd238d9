"""The planner against every plan there is, on small cases; what it proves, and what it says when it cannot."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from round_problems import best_by_search, slow_expected, slow_fits, small_problem

from roadwatch.rounds.model import Effort
from roadwatch.rounds.problem import Need, expected_met, shortage, worth
from roadwatch.rounds.solve import solve

SIZES = st.sampled_from([(2, 4, 2), (3, 3, 1), (3, 3, 2), (4, 3, 1), (5, 2, 2), (8, 1, 1), (8, 2, 1)])


@given(seed=st.integers(0, 10_000), size=SIZES, delay=st.integers(0, 2))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_the_plan_is_as_good_as_the_best_of_all_plans(seed, size, delay):
    n_nests, n_days, n_people = size
    problem = small_problem(seed, n_nests=n_nests, n_days=n_days, n_people=n_people, delay_days=delay)
    found = solve(problem)
    _, best = best_by_search(problem)  # every plan, by brute force
    assert worth(problem, found.timetable) == pytest.approx(best, abs=1e-6)
    assert found.is_optimal
    assert found.gap == pytest.approx(0, abs=1e-5)
    assert slow_fits(problem, found.timetable)
    assert found.expected == pytest.approx(slow_expected(problem, found.timetable))


@given(seed=st.integers(0, 10_000), delay=st.integers(0, 1))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_what_must_be_done_goes_first_and_is_kept_as_well_as_any_plan_keeps_it(seed, delay):
    rng = np.random.default_rng(seed)
    needs = tuple(
        Need(int(nest), first, min(first + int(rng.integers(0, 2)), 2), float(rng.uniform(0.01, 1)), duty, by_opener)
        for nest, first, duty, by_opener in [
            (0, 0, "cage", False),
            (0, 1, "cage", False),
            (1, int(rng.integers(0, 3)), "open", True),
            (2, int(rng.integers(0, 3)), "outcome", False),
        ]
    )
    problem = small_problem(seed, n_days=3, n_people=2, delay_days=delay, needs=needs)
    found = solve(problem)
    least, best = best_by_search(problem)
    assert found.shortage == pytest.approx(least, abs=1e-6)
    assert worth(problem, found.timetable) == pytest.approx(best, abs=1e-6)
    assert found.is_optimal


@given(seed=st.integers(0, 10_000))
@settings(max_examples=20, deadline=None, derandomize=True)
def test_nests_that_are_opened_together_are_visited_together_or_not_at_all(seed):
    problem = small_problem(seed, n_nests=4, n_days=2, unit=np.array([0, 1, 0, 2]), per_day=3)
    found = solve(problem)
    assert worth(problem, found.timetable) == pytest.approx(best_by_search(problem)[1], abs=1e-6)
    assert slow_fits(problem, found.timetable)


def test_a_group_larger_than_a_days_visits_gets_none():
    problem = small_problem(n_nests=3, unit=np.zeros(3, dtype=int), per_day=2)
    assert not solve(problem).timetable.is_visited.any()


def test_without_a_nest_there_is_an_empty_plan():
    found = solve(small_problem(n_nests=0, n_days=3))
    assert found.timetable.person.shape == (0, 3)
    assert (found.expected, found.bound, found.gap) == (0.0, 0.0, 0.0)


def test_a_gap_of_one_solve_is_stated_and_holds():
    problem = small_problem(7, n_nests=8, n_days=2, n_people=1, day_minutes=np.array([60.0]), per_day=3)
    quick = solve(problem, effort=Effort(gap=0.02, n_nodes=1, n_rounds=1, seconds=np.inf))
    exact = solve(problem)
    assert not quick.is_optimal
    assert quick.expected <= exact.expected + 1e-9
    assert exact.expected <= quick.bound + 1e-6
    assert slow_fits(problem, quick.timetable)


def test_no_time_at_all_still_gives_a_plan_that_fits_and_says_that_the_clock_stopped_it():
    problem = small_problem(3, n_nests=5, n_days=4, n_people=2)
    found = solve(problem, seconds_left=lambda: 0.0)
    assert slow_fits(problem, found.timetable)
    if not found.is_optimal:
        assert found.by_clock
    assert found.bound >= found.expected


def test_the_same_problem_gives_the_same_plan():
    one, two = (solve(small_problem(5, n_nests=6, n_days=5, n_people=2)).timetable.person for _ in range(2))
    np.testing.assert_array_equal(one, two)


@given(seed=st.integers(0, 10_000))
@settings(max_examples=25, deadline=None, derandomize=True)
def test_more_hours_never_meet_less(seed):
    problem = small_problem(seed, n_nests=4, n_days=3, n_people=2)
    more = small_problem(seed, n_nests=4, n_days=3, n_people=2, day_minutes=problem.day_minutes + 40)
    value = [worth(one, solve(one).timetable) for one in (problem, more)]
    assert value[1] >= value[0] - 1e-6


@given(seed=st.integers(0, 10_000))
@settings(max_examples=25, deadline=None, derandomize=True)
def test_a_longer_delay_never_meets_less(seed):
    short = small_problem(seed, n_nests=3, n_days=4, n_people=1, delay_days=0)
    padded = np.hstack([np.zeros((3, 1)), short.chance])
    longer = small_problem(seed, n_nests=3, n_days=4, n_people=1, delay_days=0)
    longer = type(longer)(**{**vars(longer), "chance": padded, "delay_days": 1})
    assert worth(longer, solve(longer).timetable) >= worth(short, solve(short).timetable) - 1e-6


def test_a_cage_is_looked_at_every_second_day_where_one_day_of_waiting_is_allowed():
    needs = tuple(Need(0, day, day + 1, 0.01, "cage") for day in range(5))
    problem = small_problem(
        n_nests=1,
        n_days=6,
        available=np.ones((1, 6), dtype=bool),
        day_minutes=np.array([np.inf]),
        needs=needs,
        chance=np.zeros((1, 7)),
    )
    found = solve(problem)
    days = np.flatnonzero(found.timetable.is_visited[0])
    assert shortage(problem, found.timetable) == 0
    assert len(days) == 3  # by hand: days 1, 3, 5 meet each pair of following days, and no two days do
    assert expected_met(problem, found.timetable) == 0
