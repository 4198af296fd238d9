"""Runs as rows: places, lines, costs and intervals."""

import numpy as np
import pytest
from siting.problems import question
from small_networks import network_of

from roadwatch.roads.stretches import cut_stretches, stretch_table
from roadwatch.siting.fence_cells import cut_cells
from roadwatch.siting.fence_problem import Prices
from roadwatch.siting.fence_runs import COLUMNS, Outlook, describe_runs, interval, line_of


def described(prices=None, **attributes):
    network = network_of({"A": [(0, 0), (300, 0), (300, 720)]}, **attributes)
    cells = cut_cells(stretch_table(network, cut_stretches(network)), network, closed={})
    n = len(cells.road)
    problem = question(np.arange(n), cell_m=50.0, prices=prices or Prices())
    drawn = question([np.arange(n) * k for k in np.linspace(0.5, 1.5, 101)], cell_m=50.0)
    outlook = Outlook(problem, drawn, np.linspace(0, 1, n), np.r_[1.0, np.zeros(n - 1)])
    return describe_runs([(0, 4), (6, 10)], cells, network, outlook), network


def test_the_run_that_averts_most_comes_first():
    table, _ = described()
    assert table.columns.tolist() == COLUMNS
    assert table["from_m"].tolist() == [300.0, 0.0]
    assert table["averted_per_year"].tolist() == [6 + 7 + 8 + 9, 0 + 1 + 2 + 3]
    assert table["run"].tolist() == [1, 2]


def test_the_interval_holds_the_middle_95_percent_of_the_draws():
    table, _ = described()
    assert table[["averted_low", "averted_high"]].iloc[0].tolist() == pytest.approx([30 * 0.525, 30 * 1.475])
    assert interval(np.arange(101.0), coverage=0.9) == pytest.approx((5.0, 95.0))


def test_without_a_price_cost_stays_blank_and_with_one_it_has_an_interval():
    table, _ = described()
    assert table[["cost", "cost_per_averted_low", "cost_per_averted_high"]].isna().all().all()
    priced, _ = described(Prices(10.0, 500.0))
    row = priced.iloc[0]
    assert row["cost"] == 200 * 10 + 2 * 500
    assert row["cost_per_averted_low"] == pytest.approx(3000 / (30 * 1.475))
    assert row["cost_per_averted_high"] == pytest.approx(3000 / (30 * 0.525))


def test_passages_and_shares_are_those_of_the_run():
    table, _ = described()
    assert table["passages"].tolist() == [0, 1]
    assert table["chosen_share"].iloc[1] == pytest.approx(np.linspace(0, 1, 20)[:4].mean())


def test_mileposts_run_with_the_layer_or_say_why_not():
    table, _ = described(from_measure=[2.0], to_measure=[3.02], measure_unit=["mile"])
    assert table["milepost_to"].iloc[1] - table["milepost_from"].iloc[1] == pytest.approx(0.2, abs=0.001)
    bare, _ = described()
    assert bare["milepost_from"].isna().all()
    assert bare["why_no_milepost"].str.contains("gives no measures").all()


def test_a_line_follows_the_road_around_its_bend():
    _, network = described()
    line = line_of(network, "A", 0, 250.0, 350.0)
    assert line.length == pytest.approx(100.0)
    assert len(line.coords) == 3
    assert line_of(network_of({"A": [(300, 0), (0, 0)]}), "A", 0, 10.0, 60.0).length == pytest.approx(50.0)


def test_deaths_have_an_interval_from_the_same_draws():
    table, _ = described()
    # 101 draws of .5 to 1.5 times 6 + 7 + 8 + 9 deaths: the middle 95 % end at .525 and 1.475.
    assert table["deaths_per_year"].iloc[0] == 30.0
    assert table[["deaths_low", "deaths_high"]].iloc[0].tolist() == pytest.approx([30 * 0.525, 30 * 1.475])


def test_a_road_that_begins_at_milepost_0_is_written_so():
    table, _ = described(from_measure=[1e-15], to_measure=[1.02], measure_unit=["mile"])
    assert table["milepost_from"].iloc[1] == 0.0


@pytest.mark.parametrize(("from_m", "to_m"), [(100.0, 450.0), (310.0, 390.0), (0.0, 620.0), (250.0, 300.0)])
@pytest.mark.parametrize("turned", [False, True])
def test_a_line_over_several_pieces_of_road_is_as_long_as_its_metres(from_m, to_m, turned):
    # side roads cut the road into three pieces at 300 and 500 m; its metres run from the west either way
    road = [(0, 0), (300, 0), (500, 0), (800, 0)]
    sides = {"B": [(300, 0), (300, 200)], "C": [(500, 0), (500, 200)]}
    network = network_of({"A": road[::-1] if turned else road, **sides})
    line = line_of(network, "A", 0, from_m, to_m)
    # the grid's scale is 4 in 10,000
    assert line.length == pytest.approx(to_m - from_m, rel=1e-3)
    x = np.array(line.coords)[:, 0]
    assert (np.diff(x) >= 0.0).all()
    west = network.edges[network.edges["road"] == "A"].total_bounds[0]
    assert x[[0, -1]] - west == pytest.approx([from_m, to_m], abs=0.5)
