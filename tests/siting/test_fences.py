"""Plans are the best there are: against every set of runs tried one by one, against each other, and by hand."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from scipy.optimize import milp
from siting.fence_oracle import best_by_trying, worth
from siting.problems import question, questions

from roadwatch.errors import NotEnoughDataError
from roadwatch.siting.fence_curve import curve_of
from roadwatch.siting.fence_milp import solve_fences
from roadwatch.siting.fence_problem import Prices
from roadwatch.siting.fence_table import fence_table, plans_of
from roadwatch.siting.fences import chosen_shares, joined_runs, plan_fences


def tried(problem):
    prices = problem.prices

    def paid(runs):
        return prices.budget is None or prices.of(sum(b - a for a, b in runs), len(runs)) <= prices.budget + 1e-9

    return best_by_trying(
        problem.line,
        problem.deaths[0],
        most_cells=problem.most_cells,
        least_cells=problem.least_cells,
        most_runs=problem.most_runs,
        middle=problem.middle[0],
        least=problem.middle_cells,
        end=problem.end[0],
        cost=paid,
    )


def check_limits(problem, runs):
    assert all(problem.line[a] == problem.line[b - 1] and b - a >= problem.least_cells for a, b in runs)
    assert all(a[1] <= b[0] for a, b in itertools.pairwise(runs))
    assert sum(b - a for a, b in runs) <= problem.most_cells
    assert problem.most_runs is None or len(runs) <= problem.most_runs
    if problem.prices.budget is not None:
        assert (
            problem.prices.of(sum(b - a for a, b in runs) * problem.cell_m, len(runs)) <= problem.prices.budget + 1e-6
        )


@given(questions())
@settings(max_examples=120, deadline=None)
def test_both_ways_avert_as_much_as_the_best_of_all_sets_of_runs(problem):
    best = tried(problem)
    plan, solved = plan_fences(problem), solve_fences(problem)
    assert plan.averted.sum() == pytest.approx(best, abs=1e-9)
    assert solved.value == pytest.approx(best, abs=1e-6)
    assert plan.optimal
    assert solved.gap == 0.0
    check_limits(problem, plan.runs)
    check_limits(problem, solved.runs)


@given(questions(money=True))
@settings(max_examples=80, deadline=None)
def test_a_budget_of_money_is_kept_and_used_best(problem):
    best = tried(problem)
    plan = plan_fences(problem)
    assert plan.averted.sum() == pytest.approx(best, abs=1e-9)
    assert solve_fences(problem).value == pytest.approx(best, abs=1e-6)
    check_limits(problem, plan.runs)


@given(questions())
@settings(max_examples=60, deadline=None)
def test_what_a_run_averts_is_what_its_cells_add_up_to(problem):
    plan = plan_fences(problem)
    by_hand = [
        worth(problem.deaths[0], a, b, problem.middle[0], problem.middle_cells, problem.end[0]) for a, b in plan.runs
    ]
    assert plan.averted == pytest.approx(by_hand)


@given(questions())
@settings(max_examples=60, deadline=None)
def test_the_direction_of_the_road_does_not_matter(problem):
    turned = replace(problem, deaths=problem.deaths[:, ::-1], line=(2 - problem.line)[::-1])
    assert plan_fences(turned).averted.sum() == pytest.approx(plan_fences(problem).averted.sum())


@given(questions())
@settings(max_examples=60, deadline=None)
def test_more_fence_more_runs_and_shorter_runs_never_avert_less(problem):
    first = plan_fences(problem).averted.sum() - 1e-9
    n = problem.deaths.shape[1]
    assert plan_fences(replace(problem, most_cells=min(problem.most_cells + 1, n))).averted.sum() >= first
    assert plan_fences(replace(problem, most_runs=problem.most_runs + 1)).averted.sum() >= first
    assert plan_fences(replace(problem, most_runs=None)).averted.sum() >= first
    assert plan_fences(replace(problem, least_cells=1)).averted.sum() >= first


@given(questions())
@settings(max_examples=40, deadline=None)
def test_every_entry_of_the_table_can_be_read_back_as_runs_worth_it(problem):
    table = fence_table(problem)
    states = [(0, r, k) for r in range(table.value.shape[1]) for k in range(table.value.shape[2])]
    for (_, runs, cells), plan in zip(states, plans_of(table, states), strict=True):
        check_limits(replace(problem, most_runs=runs, most_cells=cells), plan)
        assert problem.value_of(plan).sum() == pytest.approx(table.value[0, runs, cells], abs=1e-9)


# Runs, cells and least cells allowed, and by hand the most that the row 0 1 4 5 0 0 6 3 0 1 lets them avert:
# 1+4+5; 4+5 and 6+3; 1+4+5 and 6+3; 1+4+5+0+0+6+3; 5+0+0+6.
WORKED = [((1, 3, 2), 10.0), ((2, 4, 2), 18.0), ((2, 5, 2), 19.0), ((1, 7, 2), 19.0), ((2, 4, 3), 11.0)]


@pytest.mark.parametrize(("limits", "total"), WORKED)
def test_a_row_of_ten_cells_worked_by_hand(limits, total):
    runs, cells, least = limits
    row = [0, 1, 4, 5, 0, 0, 6, 3, 0, 1]
    plan = plan_fences(question(row, most_runs=runs, most_cells=cells, least_cells=least))
    assert plan.averted.sum() == total


def test_a_fence_is_not_torn_into_islands_by_taking_the_worst_cells_first():
    row = [5, 0, 5, 0, 5, 0, 0, 4, 4, 4]
    plan = plan_fences(question(row, most_runs=1, most_cells=3))
    assert plan.runs == [(7, 10)]
    assert plan.averted.sum() == 12.0


def test_a_run_stops_where_the_road_is_broken():
    plan = plan_fences(question([9, 9], line=np.array([0, 1]), most_runs=1, least_cells=1))
    assert plan.averted.sum() == 9.0
    assert plan_fences(question([9, 9], line=np.array([0, 1]), most_runs=2, least_cells=2)).runs == []


def test_ends_that_avert_nothing_make_short_fences_worthless():
    assert plan_fences(question([5, 5], end=(0.0,))).averted.sum() == 0.0
    assert plan_fences(question([1, 5, 1], end=(0.0,))).averted.sum() == 5.0


def test_no_cell_gives_no_plan():
    plan = plan_fences(question(np.zeros((1, 0)), most_cells=3))
    assert plan.runs == []
    assert plan.optimal


def test_many_sets_of_rates_at_once_give_what_each_gives_alone():
    rng = np.random.default_rng(4)
    rates = rng.gamma(0.3, 1.0, (23, 40))
    line = np.arange(40) // 11
    problem = question(rates, line=line, end=(0.2, 0.7), most_cells=9, most_runs=2, least_cells=2)
    share = np.zeros(40)
    for row in rates:
        alone = question(row, line=line, end=(0.2, 0.7), most_cells=9, most_runs=2, least_cells=2)
        for a, b in plan_fences(alone).runs:
            share[a:b] += 1 / 23
    seen = []
    found = chosen_shares(problem, progress=lambda done, of: seen.append((done, of)))
    assert found == pytest.approx(share)
    assert seen == [(20, 23), (23, 23)]


def test_the_curve_never_falls_and_each_step_is_the_best_of_its_length():
    rng = np.random.default_rng(5)
    problem = question(rng.gamma(0.2, 1.0, 30), end=(0.0,), most_cells=10, most_runs=2, least_cells=2)
    curve = curve_of(problem)
    assert (np.diff(curve.averted) >= 0.0).all()
    assert curve.cells[0] == 0
    assert curve.cells[-1] == 20
    assert 10 in curve.cells
    for cells, averted, runs in zip(curve.cells[1:], curve.averted[1:], curve.plans[1:], strict=True):
        alone = plan_fences(replace(problem, most_cells=int(cells))) if cells >= 2 else None
        assert averted == pytest.approx(alone.averted.sum() if alone else 0.0)
        assert problem.value_of(runs).sum() == pytest.approx(averted)


def test_the_curve_says_whether_it_bends_down():
    assert curve_of(question([5, 4, 3, 2, 1], most_cells=2)).bends_down
    assert not curve_of(question([5, 5, 5, 5], end=(0.0,), most_cells=4)).bends_down


def test_runs_share_a_passage_and_another_is_made_only_where_it_pays():
    # Two lines: a passage at their crossing serves cells 2 and 3; the second serves only cell 0. Reckoned by hand:
    # with 10 to spend at 1 a metre and 7 a passage, cells 2 and 3 cost 9 and avert 6; cell 0 and its passage cost 8.
    passage = np.array([[0, 0, 1, 1, 0], [1, 0, 0, 0, 0]], dtype=bool)
    problem = question(
        [5, 9, 3, 3, 9], line=np.array([0, 0, 0, 1, 1]), passage=passage, prices=Prices(1.0, 0.0, 7.0, budget=10.0)
    )
    plan = plan_fences(problem)
    assert plan.runs == [(2, 3), (3, 4)]
    assert plan.passages == (0,)
    richer = plan_fences(replace(problem, prices=Prices(1.0, 0.0, 7.0, budget=17.0)))
    assert richer.passages == (0, 1)
    assert richer.averted.sum() == 11.0


def test_without_a_price_passages_only_say_where_a_fence_may_stand():
    passage = np.array([[0, 0, 1, 1, 0]], dtype=bool)
    plan = plan_fences(question([5, 9, 3, 3, 9], passage=passage, most_runs=1))
    assert plan.runs == [(2, 4)]


@pytest.fixture
def coupled():
    rng = np.random.default_rng(6)
    passage = rng.random((40, 400)) < 0.05
    return question(
        rng.gamma(0.3, 1.0, 400), end=(0.0,), most_cells=60, most_runs=6, passage=passage,
        prices=Prices(1.0, 1.0, 6.0, budget=70.0),
    )  # fmt: skip


def test_a_plan_with_shared_passages_keeps_its_limits_and_says_whether_it_is_proven(coupled):
    full = plan_fences(coupled)
    assert full.optimal == (full.gap == 0.0)
    check_limits(replace(coupled, prices=Prices()), full.runs)


def test_a_search_stopped_before_its_proof_states_its_gap(coupled, monkeypatch):
    def stopped_early(*asked, options, **more):
        return milp(*asked, options={"mip_rel_gap": 0.9}, **more)

    best = plan_fences(coupled)
    monkeypatch.setattr("roadwatch.siting.fence_milp.milp", stopped_early)
    early = plan_fences(coupled)
    assert not early.optimal
    assert early.gap > 0.0
    check_limits(replace(coupled, prices=Prices()), early.runs)
    # HiGHS gives the gap as a share of the value found: no plan can avert more than so much above it.
    assert early.averted.sum() <= best.averted.sum() <= early.averted.sum() * (1.0 + early.gap) + 1e-6


def test_no_plan_in_the_time_is_said(coupled):
    with pytest.raises(NotEnoughDataError, match="no fence plan was found within 0 s"):
        plan_fences(coupled, seconds=0.0)


@given(questions())
@settings(max_examples=60, deadline=None)
def test_runs_that_touch_are_told_as_one(problem):
    free = replace(problem, most_runs=None, end=problem.end[:, :0], end_rows=())
    for runs in (plan_fences(free).runs, *curve_of(free).plans):
        touching = [a[1] for a, b in itertools.pairwise(runs) if a[1] == b[0]]
        assert all(free.line[cell - 1] != free.line[cell] for cell in touching)


def test_joining_runs_keeps_those_of_two_roads_apart():
    asked = question([1, 1, 1, 1], line=np.array([0, 0, 1, 1]))
    assert joined_runs(asked, [(0, 1), (1, 2), (2, 3), (3, 4)]) == [(0, 2), (2, 4)]
    assert joined_runs(asked, []) == []
