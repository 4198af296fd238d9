"""How far what is met lies from what is expected, against formulas for two nests and for many."""

import numpy as np
import pytest
from round_problems import small_problem

from roadwatch.hatch.chances import DayChances
from roadwatch.rounds.interval import met_interval
from roadwatch.rounds.problem import Timetable


def interval(p_met, *, n_nests=1, seed=1):
    """One day, everybody visited; each nest's hatchlings come up on it with a chance, else later."""
    chance = np.full((n_nests, 1), p_met)
    problem = small_problem(n_nests=n_nests, n_days=1, delay_days=0, chance=chance)
    chances = [DayChances(row, 0.0, 1 - p_met, 0.0) for row in chance]
    visited = Timetable(np.zeros((n_nests, 1), dtype=int))
    return met_interval(problem, visited, chances, rng=np.random.default_rng(seed))


@pytest.mark.parametrize(("p_met", "expected"), [(0.0, (0, 0)), (1.0, (1, 1)), (0.5, (0, 1))])
def test_one_nest_is_met_or_not(p_met, expected):
    assert interval(p_met) == expected


def test_many_nests_spread_as_sheppards_formula_says_for_a_fifth_in_common():
    # Two nests of even chance that share 0.2 of their variance are both early with 1/4 + asin(0.2) / (2 pi) (Sheppard
    # 1899, from memory): covariance 0.03205. Forty of them: variance 40 / 4 + 40 * 39 * 0.03205 = 60.0, sd 7.75.
    low, high = interval(0.5, n_nests=40)
    assert low == pytest.approx(20 - 1.96 * 7.75, abs=1.5)
    assert high == pytest.approx(20 + 1.96 * 7.75, abs=1.5)


def test_weather_in_common_makes_it_wider_than_nests_apart_would_be():
    low, high = interval(0.5, n_nests=40)
    assert high - low > 2 * 1.96 * np.sqrt(40 / 4)  # forty tosses of a coin


def test_what_comes_up_before_or_after_the_plan_is_not_met():
    problem = small_problem(n_nests=1, n_days=1, delay_days=0, chance=np.array([[0.0]]))
    for outside in (DayChances(np.zeros(1), 1.0, 0.0, 0.0), DayChances(np.zeros(1), 0.0, 0.0, 1.0)):
        visited = Timetable(np.zeros((1, 1), dtype=int))
        assert met_interval(problem, visited, [outside], rng=np.random.default_rng(1)) == (0, 0)


def test_without_a_visit_nothing_is_met():
    problem = small_problem(n_nests=1, n_days=1, delay_days=0, chance=np.array([[1.0]]))
    nobody = Timetable(np.full((1, 1), -1))
    chances = [DayChances(np.ones(1), 0.0, 0.0, 0.0)]
    assert met_interval(problem, nobody, chances, rng=np.random.default_rng(1)) == (0, 0)
