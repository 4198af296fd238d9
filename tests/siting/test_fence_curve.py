"""The curve within the money: every point against all sets of runs tried one by one, passages paid."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from siting.fence_oracle import best_by_trying
from siting.passage_oracle import fewest_by_trying
from siting.problems import question, questions

from roadwatch.errors import NotEnoughDataError
from roadwatch.siting.fence_curve import curve_of
from roadwatch.siting.fence_milp import solve_fences
from roadwatch.siting.fence_problem import Prices
from roadwatch.siting.fences import chosen_shares, openly, plan_fences, reached, solve_shared


def bought(problem, runs, budget):
    """Whether runs lie within reach and can be paid with the fewest passages that serve them all."""
    cells = [cell for start, stop in runs for cell in range(start, stop)]
    if problem.passage is not None and not problem.passage[:, cells].any(axis=0).all():
        return False
    n = 0 if problem.passage is None else fewest_by_trying(problem.passage, cells)
    return float(problem.prices.of(len(cells) * problem.cell_m, len(runs), n)) <= budget + 1e-9


def tried(problem, cells, budget):
    return best_by_trying(
        problem.line,
        problem.deaths[0],
        most_cells=cells,
        least_cells=problem.least_cells,
        most_runs=problem.most_runs or 3,
        middle=problem.middle[0],
        least=problem.middle_cells,
        end=problem.end[0],
        cost=lambda runs: bought(problem, runs, budget),
    )


@st.composite
def coupled(draw):
    """Small questions whose runs share priced passages."""
    n = draw(st.integers(3, 8))
    p = draw(st.integers(1, 3))
    reach = draw(st.lists(st.lists(st.booleans(), min_size=n, max_size=n), min_size=p, max_size=p))
    prices = Prices(
        1.0, float(draw(st.integers(0, 2))), float(draw(st.integers(1, 6))), float(draw(st.integers(1, 16)))
    )
    return question(
        draw(st.lists(st.integers(0, 9), min_size=n, max_size=n)),
        line=np.sort(draw(st.lists(st.integers(0, 1), min_size=n, max_size=n))),
        end=draw(st.sampled_from([(), (0.0,), (0.5,)])),
        least_cells=1,
        most_cells=draw(st.integers(1, n)),
        most_runs=draw(st.integers(1, 3)),
        prices=prices,
        passage=np.array(reach, dtype=bool),
    )


@given(coupled())
@settings(max_examples=60, deadline=None)
def test_with_priced_passages_every_point_is_the_best_that_the_money_buys(problem):
    curve, budget = curve_of(problem, steps=4), problem.prices.budget
    for cells, averted in zip(curve.cells, curve.averted, strict=True):
        money = budget * max(cells / problem.most_cells, 1.0)
        assert averted == pytest.approx(tried(problem, int(cells), money), abs=1e-6)
    assert curve.gap == 0.0


@given(coupled())
@settings(max_examples=60, deadline=None)
def test_with_priced_passages_the_plan_is_the_best_and_buys_the_fewest_passages(problem):
    plan = plan_fences(problem)
    assert plan.averted.sum() == pytest.approx(tried(problem, problem.most_cells, problem.prices.budget), abs=1e-6)
    cells = [cell for start, stop in plan.runs for cell in range(start, stop)]
    assert len(plan.passages) == fewest_by_trying(problem.passage, cells)
    assert plan.optimal


@given(coupled())
@settings(max_examples=30, deadline=None)
def test_with_priced_passages_the_share_of_one_set_of_rates_is_its_own_plan(problem):
    # two equally good plans may differ in cells, but not in what they avert
    fenced = chosen_shares(problem)
    assert set(np.unique(fenced)) <= {0.0, 1.0}
    assert not fenced[~problem.passage.any(axis=0)].any()
    if not len(problem.end[0]):
        assert float(fenced @ problem.deaths[0]) * problem.middle[0, 0] == pytest.approx(
            plan_fences(problem).averted.sum(), abs=1e-6
        )


@given(questions(money=True))
@settings(max_examples=60, deadline=None)
def test_under_a_budget_every_point_is_the_best_that_the_money_buys(problem):
    curve = curve_of(problem, steps=3)
    for cells, averted, runs in zip(curve.cells, curve.averted, curve.plans, strict=True):
        money = problem.prices.budget * max(cells / problem.most_cells, 1.0)
        assert averted == pytest.approx(tried(problem, int(cells), money), abs=1e-9)
        assert problem.value_of(runs).sum() == pytest.approx(averted)
    assert (np.diff(curve.averted) >= -1e-9).all()


@given(questions(money=True))
@settings(max_examples=40, deadline=None)
def test_the_curve_meets_the_plan_at_the_length_asked_for(problem):
    curve = curve_of(problem)
    at = curve.averted[curve.cells == problem.most_cells][0]
    assert at == pytest.approx(plan_fences(problem).averted.sum(), abs=1e-9)


def test_a_passage_that_the_money_does_not_reach_leaves_the_curve_flat():
    # A metre costs 1, a passage 100: with 10 to spend nothing can be built, at twice the length neither (20).
    problem = question(
        [5, 5, 5, 5, 5, 5], most_cells=3, passage=np.ones((1, 6), dtype=bool), prices=Prices(1.0, 0.0, 100.0, 10.0)
    )
    assert curve_of(problem).averted.tolist() == [0.0] * len(curve_of(problem).cells)
    assert plan_fences(problem).runs == []


def test_beyond_the_length_asked_for_the_money_grows_with_it():
    # 3 cells at 1 and a passage at 4 for 7; at 6 cells there are 14: 6 cells and the passage cost 10.
    problem = question(
        [5, 5, 5, 5, 5, 5], most_cells=3, passage=np.ones((1, 6), dtype=bool), prices=Prices(1.0, 0.0, 4.0, 7.0)
    )
    curve = curve_of(problem, steps=2)
    assert dict(zip(curve.cells.tolist(), curve.averted.tolist(), strict=True)) == {0: 0.0, 3: 15.0, 6: 30.0}


def test_without_a_budget_the_price_of_a_passage_changes_no_plan_and_no_curve():
    passage = np.array([[0, 1, 1, 1, 0, 0]], dtype=bool)
    free = question([5, 1, 9, 2, 5, 5], most_cells=2, passage=passage)
    priced = replace(free, prices=Prices(1.0, 0.0, 50.0))
    assert curve_of(priced).averted.tolist() == curve_of(free).averted.tolist()
    assert plan_fences(priced).runs == plan_fences(free).runs
    assert plan_fences(priced).passages == (0,)
    assert plan_fences(free).passages == ()


def test_cells_out_of_reach_of_every_passage_leave_nothing_to_plan():
    none = question([5, 5], passage=np.zeros((1, 2), dtype=bool), prices=Prices(1.0, 0.0, 1.0, 9.0))
    assert plan_fences(none).runs == []
    assert curve_of(none).averted.max() == 0.0
    assert chosen_shares(none).tolist() == [0.0, 0.0]


@pytest.fixture
def shared():
    return question(
        [5, 5, 5, 5, 5, 5], most_cells=3, passage=np.ones((1, 6), dtype=bool), prices=Prices(1.0, 0.0, 4.0, 7.0)
    )


def test_where_no_plan_is_found_in_time_the_shorter_one_stands_and_nothing_is_called_proven(shared, monkeypatch):
    def stops_at_long_ones(problem, **asked):
        if problem.most_cells > 3:
            raise NotEnoughDataError("no fence plan was found within 1 s")
        return solve_shared(problem, **asked)

    monkeypatch.setattr("roadwatch.siting.fence_curve.solve_shared", stops_at_long_ones)
    curve = curve_of(shared, steps=2)
    assert curve.averted.tolist() == [0.0, 15.0, 15.0]
    assert np.isinf(curve.gap)


def test_draws_without_a_plan_in_time_are_left_out_of_the_share(shared, monkeypatch):
    drawn = replace(shared, deaths=np.tile(shared.deaths, (4, 1)), middle=np.ones((4, 1)), end=np.zeros((4, 0)))
    seen = []

    def every_other(problem, **asked):
        seen.append(problem)
        if len(seen) % 2:
            raise NotEnoughDataError("no fence plan was found within 1 s")
        return solve_shared(problem, **asked)

    monkeypatch.setattr("roadwatch.siting.fences.solve_shared", every_other)
    assert chosen_shares(drawn).sum() == pytest.approx(3.0), "three cells in each plan that was found"
    assert len(seen) == 4


def test_no_plan_of_any_draw_is_said(shared):
    shared = replace(shared, prices=Prices(1.0, 0.0, 4.0, 6.0))  # money for three cells, but not for the passage too
    with pytest.raises(NotEnoughDataError, match="no fence plan of any draw was found within 0 s"):
        chosen_shares(shared, seconds=0.0)


def test_under_a_budget_the_curve_says_whether_it_bends_down():
    # a metre costs 1 and there are 4: 5 4 3 2 falls; with ends that avert nothing the first two cells bring nothing
    falling = question([5, 4, 3, 2], most_cells=2, prices=Prices(1.0, budget=4.0))
    assert curve_of(falling, steps=4).bends_down
    assert not curve_of(replace(falling, end=np.zeros((1, 1)), end_rows=(0,)), steps=4).bends_down
    assert curve_of(question([3, 3, 3, 3], most_cells=2, prices=Prices(1.0, budget=4.0)), steps=4).bends_down


@given(coupled())
@settings(max_examples=60, deadline=None)
def test_the_way_round_the_programme_averts_as_much_as_the_programme(problem):
    asked, _ = reached(openly(problem))
    if not len(asked.line):
        return
    assert solve_shared(asked, seconds=60.0).value == pytest.approx(solve_fences(asked).value, abs=1e-6)


def test_where_the_money_reaches_every_passage_no_programme_is_needed(shared, monkeypatch):
    def never(*_, **__):
        raise AssertionError("the programme was asked")

    monkeypatch.setattr("roadwatch.siting.fences.solve_fences", never)
    plan = plan_fences(shared)
    assert plan.averted.sum() == 15.0
    assert plan.passages == (0,)
    assert plan.optimal
