"""What a plan says of itself."""

from dataclasses import replace

import numpy as np
import pytest
from siting.problems import question
from small_networks import network_of

from roadwatch.roads.stretches import cut_stretches, stretch_table
from roadwatch.siting.efficacy import fence_efficacy
from roadwatch.siting.fence_brief import CAUTIONS
from roadwatch.siting.fence_cells import cut_cells
from roadwatch.siting.fence_curve import curve_of
from roadwatch.siting.fence_problem import Prices
from roadwatch.siting.fence_words import (
    brief_efficacy_words,
    cell_words,
    efficacy_words,
    passage_words,
    plan_words,
    price_words,
)
from roadwatch.siting.fences import FencePlan


@pytest.mark.parametrize("tell", [efficacy_words, brief_efficacy_words])
def test_efficacies_come_with_interval_and_source(tell):
    told = " ".join(tell(fence_efficacy()))
    assert "89% (53% to 99%; markle2017)" in told or "89% of deaths (53% to 99%; markle2017)" in told
    assert "100 m" in told
    assert "markle2017" in told


def test_each_length_class_is_told():
    first, second = efficacy_words(fence_efficacy("large_mammals"))
    assert "runs up to 5000 m" in first
    assert "runs of 5000 m and more" in second


def test_a_plan_is_proven_or_its_gap_stated():
    curve = curve_of(question([5, 4, 3]))
    proven = FencePlan([(0, 3)], np.ones(1), (), optimal=True, gap=0.0)
    assert plan_words(proven, curve)[0].startswith("Proven")
    assert "averts no more than the one before" in plan_words(proven, curve)[1]
    open_ = FencePlan([(0, 3)], np.ones(1), (), optimal=False, gap=0.031)
    assert "up to 3.1% more" in plan_words(open_, curve)[0]


def test_closed_road_and_unknown_search_are_said():
    network = network_of({"A": [(0, 0), (1020, 0)]})
    cells = cut_cells(stretch_table(network, cut_stretches(network)), network, closed={})
    told = " ".join(cell_words(cells, basis="unknown"))
    assert "1.0 km of road were open" in told
    assert "Where people looked is unknown" in told
    assert "unknown, not safe" in told
    assert "usual search effort" in " ".join(cell_words(cells, basis="search"))


def test_prices_are_explained_or_missed():
    assert "none is assumed" in price_words(Prices())
    assert "both sides" in price_words(Prices(1.0))


def test_the_cautions_name_leave_codes_passages_and_doubt():
    told = " ".join(CAUTIONS)
    for word in ("road authority", "traffic control", "local codes", "licensed engineers", "passages", "not why"):
        assert word in told


def test_a_sheet_names_the_work_behind_the_efficacy_and_how_far_it_was_read():
    told = brief_efficacy_words(fence_efficacy())
    assert told[-1].startswith("markle2017: Markle, C. E.")
    assert told[-1].endswith("(known from: abstract)")


def plan_of(*runs, passages=()):
    return FencePlan(list(runs), np.ones(len(runs)), passages, optimal=True, gap=0.0)


def test_a_plan_without_a_run_is_not_called_the_best_fence():
    told = plan_words(plan_of(), curve_of(question([5, 4, 3])))
    assert told[0] == "No fence is planned: no run fits within the limits and averts a death."


@pytest.mark.parametrize(
    ("runs", "begins"),
    [
        ([(2, 4)], "1 of 1 run has no passage"),
        ([(0, 2), (2, 4)], "1 of 2 runs has no passage"),
        ([(2, 4), (4, 6)], "2 of 2 runs have no passage"),
    ],
)
def test_runs_without_a_passage_are_counted(runs, begins):
    (told,) = passage_words(plan_of(*runs), np.array([1.0, 0, 0, 0, 0, 0]), Prices())
    assert told.startswith(begins)


def test_nothing_is_said_of_passages_where_each_run_has_one():
    assert passage_words(plan_of((0, 2)), np.ones(6), Prices()) == ()


@pytest.mark.parametrize(
    ("passages", "begins"),
    [((4,), "1 passage is made ready for 2500 in all"), ((1, 4), "2 passages are made ready for 5000 in all")],
)
def test_priced_passages_are_summed_and_said_to_be_outside_the_cost_of_runs(passages, begins):
    (told,) = passage_words(plan_of((0, 2), passages=passages), np.ones(6), Prices(1.0, per_passage=2500.0))
    assert told.startswith(begins)
    assert "the cost of a run and its cost per death averted do not" in told
    assert "The budget, the curve and its cost, and chosen_share hold this sum" in told


def test_a_reader_who_compares_with_hotspots_is_told_why_the_numbers_differ():
    network = network_of({"A": [(0, 0), (1020, 0)]})
    cells = cut_cells(stretch_table(network, cut_stretches(network)), network, closed={})
    assert "shows more deaths in 'roadwatch hotspots' than here" in cell_words(cells, basis="search")[-1]


@pytest.mark.parametrize(
    ("gap", "told"),
    [
        (0.0, "More fence never averts less."),
        (0.012, "The curve is not proven: other plans could avert up to 1.2% more."),
        (np.inf, "For some lengths no plan was found in time"),
    ],
)
def test_a_curve_that_is_not_proven_says_so(gap, told):
    curve = replace(curve_of(question([5, 4, 3])), gap=gap)
    assert told in plan_words(plan_of((0, 2)), curve)[1]


def test_a_budget_says_how_the_curve_takes_it():
    assert "beyond it the curve lets the budget grow with the length" in price_words(Prices(1.0, budget=10.0))
    assert "budget" not in price_words(Prices(1.0))


def test_a_sheet_tells_ends_beside_middles_in_one_sentence():
    first = brief_efficacy_words(fence_efficacy())[0]
    assert "avert 89% (53% to 99%; markle2017). Within 100 m of an end 0% of that is left" in first
