"""The question in cells: metres to cells, efficacy by length and end, prices."""

import numpy as np
import pytest
from siting.problems import question

from roadwatch.errors import UsageError
from roadwatch.siting.efficacy import fence_efficacy
from roadwatch.siting.fence_problem import Prices, make_problem


def made(n=40, **changes):
    facts = {"efficacy": fence_efficacy(), "most_m": 1000.0} | changes
    return make_problem(np.zeros(n, dtype=np.int64), np.ones(n), **facts)


def test_lengths_are_rounded_so_that_no_limit_is_passed():
    problem = made(most_m=499.0, least_m=101.0)
    assert problem.most_cells == 9, "the budget down"
    assert problem.least_cells == 3, "the shortest run up"


def test_more_fence_than_road_is_all_the_road():
    assert made(most_m=1e9).most_cells == 40


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"most_m": 49.0}, "less than one stretch of 50 m"),
        ({"most_m": 100.0, "least_m": 200.0}, "less than the shortest run of 200 m"),
        ({"most_runs": 0}, "at least one run"),
    ],
)
def test_limits_that_leave_nothing_are_a_wrong_question(changes, what):
    with pytest.raises(UsageError, match=what):
        made(**changes)


def test_a_run_of_turtles_averts_89_percent_without_its_hundred_metres_at_each_end():
    problem = made()
    assert problem.value_of([(0, 10)])[0, 0] == pytest.approx(0.89 * 6)
    assert problem.value_of([(0, 4)])[0, 0] == 0.0


def test_the_length_class_of_a_run_decides_its_efficacy():
    problem = made(400, efficacy=fence_efficacy("large_mammals"), most_m=20_000.0)
    assert problem.value_of([(0, 99)])[0, 0] == pytest.approx(0.527 * 99)
    assert problem.value_of([(0, 100)])[0, 0] == pytest.approx(0.8 * 100)


def test_overlapping_ends_count_once_by_the_nearer():
    problem = question([1, 1, 1, 1, 1], end=(0.2, 0.6))
    assert problem.short_value(3)[0].tolist() == pytest.approx([1.0, 1.0, 1.0])  # 0.2 + 0.6 + 0.2
    assert problem.value_of([(0, 5)])[0, 0] == pytest.approx(0.2 + 0.6 + 1 + 0.6 + 0.2)


def test_losses_at_ends_run_inwards():
    starts, stops = question([1, 2, 4, 8], end=(0.0, 0.5)).end_losses()
    assert starts[0].tolist() == [2.0, 4.0, 8.0, 8.0]  # 1 + 2/2, 2 + 4/2, 4 + 8/2, 8
    assert stops[0].tolist() == [1.0, 2.5, 5.0, 10.0]


def test_closing_cells_breaks_the_line():
    smaller, number = question([1, 2, 3, 4]).without(np.array([False, True, False, False]))
    assert number.tolist() == [0, 2, 3]
    assert smaller.line[0] != smaller.line[1]
    assert smaller.line[1] == smaller.line[2]


def test_cost_counts_two_ends_a_run():
    assert Prices(10.0, 100.0).of(500.0, 2) == 5400.0
    assert np.isnan(Prices().of(500.0, 2)), "no price is ever assumed"


def test_a_budget_without_a_price_or_a_negative_price_is_refused():
    with pytest.raises(UsageError, match="give --cost-per-m"):
        Prices(budget=100.0)
    with pytest.raises(UsageError, match="cannot be negative"):
        Prices(-1.0)


def test_one_stretch_of_fence_is_a_question_where_runs_may_be_as_short():
    problem = made(most_m=50.0)
    assert (problem.most_cells, problem.least_cells) == (1, 1)


@pytest.mark.parametrize(("cells", "averted"), [(4, 0.0), (5, 0.89), (6, 1.78), (20, 14.24)])
def test_each_further_cell_of_a_turtle_fence_averts_its_89_percent_once_the_ends_are_paid(cells, averted):
    # one death a cell; by hand: (cells - 4) x .89
    assert made().value_of([(0, cells)])[0, 0] == pytest.approx(averted)


@pytest.mark.parametrize(("runs", "cost"), [(1, 10_200.0), (4, 10_800.0)])
def test_four_runs_of_the_same_length_cost_three_more_pairs_of_ends_than_one(runs, cost):
    assert Prices(10.0, 100.0).of(1000.0, runs) == cost


def test_passages_cost_once_each_whatever_the_runs():
    assert Prices(10.0, 0.0, 2500.0).of(1000.0, 3, 2) == 15_000.0
