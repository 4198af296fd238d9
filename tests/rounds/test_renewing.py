"""Single days of single people planned anew, against every choice there is."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from round_problems import slow_fits, slow_round, small_problem

from roadwatch.rounds.mending import FIRST_OF_ALL, Ledger
from roadwatch.rounds.problem import Need, Timetable, shortage, worth
from roadwatch.rounds.renewing import best_round, legs_of, renew
from roadwatch.rounds.routes import Routes

NEEDS = (Need(0, 0, 1, 0.5, "cage"), Need(1, 1, 2, 1.0, "open", by_opener=True), Need(2, 2, 2, 0.01, "outcome"))


def score(problem, timetable):
    return worth(problem, timetable) - FIRST_OF_ALL * shortage(problem, timetable)


def nobody(problem):
    return Timetable(np.full((problem.n_units, problem.n_days), -1))


def on_a_line(**changes):
    """Three nests 10, 20 and 90 minutes down one road, ten minutes at each, one day of one person."""
    at = np.array([10.0, 20.0, 90.0])
    parts = {
        "drive": np.abs(at[:, None] - at),
        "drive_from_start": at[None, :],
        "at_nest": np.full(3, 10.0),
        "available": np.ones((1, 1), dtype=bool),
        "day_minutes": np.array([60.0]),
        "per_day": 3,
    }
    return small_problem(n_nests=3, n_days=1, **(parts | changes))


@given(seed=st.integers(0, 10_000), per_day=st.integers(1, 3))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_a_round_is_the_best_of_all_sets_that_fit(seed, per_day):
    problem = small_problem(seed, n_nests=6, n_days=1, per_day=per_day)
    gains = np.random.default_rng(seed).uniform(-0.1, 1, 6)
    found = best_round(gains, legs_of(problem, Routes(problem)), problem, 0)
    sets = [one for size in range(per_day + 1) for one in combinations(range(6), size)]
    fitting = [
        one
        for one in sets
        if not one or slow_round(problem, 0, one) + problem.at_nest[list(one)].sum() <= problem.day_minutes[0]
    ]
    assert gains[found].sum() == pytest.approx(max(gains[list(one)].sum() for one in fitting))
    assert tuple(sorted(found)) in fitting


def test_two_near_nests_are_taken_where_the_hours_do_not_reach_the_far_one():
    problem = on_a_line()
    # by hand: the near two are 20 + 20 minutes of road and 20 at the nests, 60 in all; the far one alone is 190
    assert sorted(best_round(np.array([0.2, 0.3, 0.9]), legs_of(problem, Routes(problem)), problem, 0)) == [0, 1]


def test_the_far_nest_is_taken_with_those_on_the_way_where_the_hours_reach():
    problem = on_a_line(day_minutes=np.array([210.0]))
    # by hand: 180 minutes of road and 30 at the nests
    assert sorted(best_round(np.array([0.2, 0.3, 0.9]), legs_of(problem, Routes(problem)), problem, 0)) == [0, 1, 2]


def test_nothing_is_driven_to_for_no_gain():
    problem = on_a_line()
    assert best_round(np.array([0.0, -0.1, 0.0]), legs_of(problem, Routes(problem)), problem, 0) == []


def test_nests_opened_together_are_one_stop_with_the_way_between_them():
    problem = on_a_line(unit=np.array([0, 0, 1]))
    legs = legs_of(problem, Routes(problem))
    assert legs.work.tolist() == [30.0, 10.0]  # 10 + 10 minutes between them + 10, and 10
    assert legs.size.tolist() == [2, 1]
    assert legs.between[0, 1] == 70.0  # from the second of the two, 20 minutes out, to the one 90 minutes out


@given(seed=st.integers(0, 10_000))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_a_renewed_plan_fits_and_is_worth_no_less(seed):
    problem = small_problem(seed, n_nests=5, n_days=4, n_people=2, needs=NEEDS)
    begin = nobody(problem)
    once = renew(problem, Routes(problem), begin)
    twice = renew(problem, Routes(problem), once)
    assert slow_fits(problem, once)
    assert score(problem, once) >= score(problem, begin) - 1e-9
    assert score(problem, twice) >= score(problem, once) - 1e-9


def test_what_must_be_done_goes_before_what_may_be_met():
    chance = np.array([[0.0, 0.0], [0.0, 0.9], [0.0, 0.9]])
    problem = on_a_line(chance=chance, per_day=1, needs=(Need(0, 0, 0, 0.01, "outcome"),))
    assert renew(problem, Routes(problem), nobody(problem)).person.tolist() == [[0], [-1], [-1]]


@given(seed=st.integers(0, 10_000))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_gains_of_a_day_are_those_of_single_visits(seed):
    problem = small_problem(seed, n_nests=4, n_days=4, n_people=2, needs=NEEDS)
    rng = np.random.default_rng(seed)
    ledger = Ledger(problem, Timetable(rng.integers(-1, 2, (4, 4))))
    day, person = int(rng.integers(4)), int(rng.integers(2))
    gains = ledger.gains(day, person)
    for unit in range(4):
        free = ledger.person[unit, day] < 0
        assert gains[unit] == pytest.approx(ledger.gain(unit, day, person) if free else 0.0, abs=1e-9)


def test_without_nests_nothing_changes():
    problem = small_problem(n_nests=0, n_days=3)
    assert renew(problem, Routes(problem), nobody(problem)).person.shape == (0, 3)


def test_the_same_plan_comes_out_twice():
    problem = small_problem(4, n_nests=8, n_days=6, n_people=2)
    one, two = (renew(problem, Routes(problem), nobody(problem)).person for _ in range(2))
    np.testing.assert_array_equal(one, two)
