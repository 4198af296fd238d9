"""Plans are made to fit, and what remains of the hours is used."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from round_problems import slow_fits, small_problem

from roadwatch.rounds.mending import FIRST_OF_ALL, Ledger, fill_up, lighten
from roadwatch.rounds.problem import Need, Timetable, shortage, worth
from roadwatch.rounds.routes import Routes

NEEDS = (Need(0, 0, 1, 0.5, "cage"), Need(1, 1, 2, 1.0, "open", by_opener=True), Need(2, 2, 2, 0.01, "outcome"))


def score(problem, timetable):
    return worth(problem, timetable) - FIRST_OF_ALL * shortage(problem, timetable)


@given(seed=st.integers(0, 10_000))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_an_overfull_plan_is_made_to_fit_and_filling_never_makes_it_worse(seed):
    problem = small_problem(seed, n_nests=5, n_days=4, n_people=2, needs=NEEDS)
    person = np.random.default_rng(seed).integers(0, 2, (5, 4))
    person[:, ~problem.available.any(axis=0)] = -1
    person = np.where(problem.available[np.maximum(person, 0), np.arange(4)], person, -1)
    lighter = lighten(problem, Routes(problem), Timetable(person))
    fuller = fill_up(problem, Routes(problem), lighter)
    assert slow_fits(problem, lighter)
    assert slow_fits(problem, fuller)
    assert score(problem, fuller) >= score(problem, lighter) - 1e-9


@given(seed=st.integers(0, 10_000))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_the_ledgers_gain_is_the_difference_of_whole_plans(seed):
    problem = small_problem(seed, n_nests=3, n_days=4, n_people=2, needs=NEEDS)
    rng = np.random.default_rng(seed)
    before = rng.integers(-1, 2, (3, 4))
    unit, day, person = int(rng.integers(3)), int(rng.integers(4)), int(rng.integers(-1, 2))
    after = before.copy()
    after[unit, day] = person
    gain = Ledger(problem, Timetable(before)).gain(unit, day, person)
    assert gain == pytest.approx(score(problem, Timetable(after)) - score(problem, Timetable(before)), abs=1e-6)


def test_a_visit_that_adds_nothing_is_dropped():
    problem = small_problem(n_nests=1, n_days=3, chance=np.zeros((1, 4)), available=np.ones((1, 3), dtype=bool))
    assert not fill_up(problem, Routes(problem), Timetable(np.zeros((1, 3), int))).is_visited.any()


def test_a_better_visit_takes_the_place_of_another_where_only_one_has_room():
    chance = np.array([[0.0, 0.1], [0.0, 0.9]])
    problem = small_problem(
        n_nests=2, n_days=1, chance=chance, per_day=1, available=np.ones((1, 1), dtype=bool),
        day_minutes=np.array([np.inf]),
    )  # fmt: skip
    filled = fill_up(problem, Routes(problem), Timetable(np.array([[0], [-1]])))
    assert filled.person.tolist() == [[-1], [0]]


def test_nobody_comes_on_a_day_that_is_not_theirs():
    problem = small_problem(n_nests=2, n_days=3, available=np.array([[False, True, False]]))
    filled = fill_up(problem, Routes(problem), Timetable(np.full((2, 3), -1)))
    assert not filled.is_visited[:, [0, 2]].any()
