"""Rounds against every order, and what they may cost."""

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from round_problems import slow_round, small_problem

from roadwatch.rounds.routes import MOST_EXACT, Routes, shortest_round


@given(seed=st.integers(0, 10_000), n=st.integers(1, 6))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_a_round_is_as_short_as_the_best_of_all_orders(seed, n):
    problem = small_problem(seed, n_nests=n)
    order, minutes = shortest_round(problem.drive, problem.drive_from_start[0])
    assert sorted(order) == list(range(n))
    assert minutes == pytest.approx(slow_round(problem, 0, tuple(range(n))))


def test_one_nest_is_there_and_back():
    assert shortest_round(np.zeros((1, 1)), np.array([7.0])) == ([0], 14.0)


def test_no_nest_takes_no_time():
    assert shortest_round(np.zeros((0, 0)), np.zeros(0)) == ([], 0.0)


def test_nests_along_a_road_take_the_way_to_the_last_and_back():
    x = np.array([3.0, 1.0, 2.0, 4.0])
    _, minutes = shortest_round(np.abs(x[:, None] - x), x)
    assert minutes == 8  # by hand: out to 4 and back


def test_a_start_that_is_not_known_leaves_the_ends_open():
    x = np.array([5.0, 0.0, 2.0])
    _, minutes = shortest_round(np.abs(x[:, None] - x), np.zeros(3))
    assert minutes == 5  # by hand: from one end to the other


@pytest.mark.parametrize("seed", range(5))
def test_longer_rounds_lie_between_the_shortest_tree_and_twice_it(seed):
    problem = small_problem(seed, n_nests=MOST_EXACT + 4)
    order, minutes = shortest_round(problem.drive, problem.drive_from_start[0])
    graph = nx.Graph()
    for a in range(len(order)):
        graph.add_edge("start", a, weight=problem.drive_from_start[0, a])
        for b in range(a):
            graph.add_edge(a, b, weight=problem.drive[a, b])
    tree = nx.minimum_spanning_tree(graph).size(weight="weight")  # networkx: no round is shorter than the tree
    assert sorted(order) == list(range(len(order)))
    assert tree <= minutes <= 2 * tree


def test_minutes_of_a_day_hold_drive_and_work():
    problem = small_problem(2, n_nests=3)
    routes = Routes(problem)
    drive = slow_round(problem, 0, (0, 2))
    assert routes.minutes_of(0, [0, 2]) == pytest.approx(drive + problem.at_nest[[0, 2]].sum())
    assert routes.minutes_of(0, []) == 0


def test_a_day_that_ends_on_the_minute_fits_and_a_shorter_one_does_not():
    base = small_problem(4, n_nests=2, per_day=2)
    needed = Routes(base).minutes_of(0, [0, 1])
    assert Routes(small_problem(4, n_nests=2, per_day=2, day_minutes=np.array([needed]))).fits(0, [0, 1])
    assert not Routes(small_problem(4, n_nests=2, per_day=2, day_minutes=np.array([needed - 0.1]))).fits(0, [0, 1])


def test_more_nests_than_a_day_allows_do_not_fit_though_there_is_time():
    problem = small_problem(4, n_nests=3, per_day=2, day_minutes=np.array([np.inf]))
    assert not Routes(problem).fits(0, [0, 1, 2])
