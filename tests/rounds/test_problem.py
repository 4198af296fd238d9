"""What a plan meets and keeps, against walking through nests and days."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from round_problems import slow_expected, small_problem

from roadwatch.rounds.problem import Need, Timetable, covered, expected_met, is_kept, shortage, worth


@given(seed=st.integers(0, 10_000), delay=st.integers(0, 3))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_expected_meetings_equal_those_found_by_walking_through_days(seed, delay):
    problem = small_problem(seed, n_nests=3, n_days=5, n_people=2, delay_days=delay)
    person = np.random.default_rng(seed).integers(-1, 2, (3, 5))
    assert expected_met(problem, Timetable(person)) == pytest.approx(slow_expected(problem, Timetable(person)))


def test_a_visit_meets_its_own_day_and_the_delay_before_it():
    problem = small_problem(n_nests=1, n_days=4, delay_days=1)
    met = covered(problem, Timetable(np.array([[-1, -1, 0, -1]])))
    # columns are days -1, 0, 1, 2, 3: the visit on day 2 meets what came up on days 1 and 2
    assert met.tolist() == [[False, False, True, True, False]]


def test_a_first_visit_meets_what_came_up_the_day_before_the_plan():
    problem = small_problem(n_nests=1, n_days=2, delay_days=1)
    assert covered(problem, Timetable(np.array([[0, -1]]))).tolist() == [[True, True, False]]


def test_every_visit_costs_the_least_worth():
    problem = small_problem(n_nests=1, n_days=2, chance=np.zeros((1, 3)))
    assert worth(problem, Timetable(np.array([[0, 0]]))) == pytest.approx(-0.0002)  # twice 0.0001


@pytest.mark.parametrize(("person", "kept"), [(-1, False), (0, True), (1, False)])
def test_an_opening_needs_somebody_who_may_open(person, kept):
    problem = small_problem(n_nests=1, n_days=1, n_people=2, may_open=np.array([True, False]))
    assert is_kept(problem, Timetable(np.array([[person]])), Need(0, 0, 0, 1.0, "open", by_opener=True)) is kept


def test_shortage_adds_the_weights_of_what_is_not_kept():
    needs = (Need(0, 0, 0, 0.5, "cage"), Need(0, 1, 1, 0.25, "cage"), Need(0, 0, 1, 4.0, "outcome"))
    problem = small_problem(n_nests=1, n_days=2, needs=needs)
    assert shortage(problem, Timetable(np.array([[0, -1]]))) == 0.25
    assert shortage(problem, Timetable(np.array([[-1, -1]]))) == 4.75


def test_units_add_the_chances_of_their_nests():
    problem = small_problem(n_nests=3, n_days=2, unit=np.array([0, 1, 0]))
    np.testing.assert_allclose(problem.unit_chance()[0], problem.chance[0] + problem.chance[2])
    assert problem.nests_of(0) == [0, 2]
    assert problem.n_units == 2
