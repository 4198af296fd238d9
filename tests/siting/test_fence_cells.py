"""Cells: where a fence can stand, along the metres of each road."""

import numpy as np
import pytest
from small_networks import network_of

from roadwatch.roads.reference import road_measure
from roadwatch.roads.stretches import cut_stretches, stretch_table
from roadwatch.siting.fence_cells import cut_cells


def cells_of(network, *, closed_by=None):
    stretches = cut_stretches(network)
    table = stretch_table(network, stretches)
    closed = {} if closed_by is None else {"closed": closed_by(table).to_numpy(dtype=bool)}
    return cut_cells(table, network, closed=closed), table


def test_a_lone_road_of_1020_m_has_twenty_cells_and_a_rest():
    cells, _ = cells_of(network_of({"A": [(0, 0), (1020, 0)]}))
    assert cells.from_m.tolist() == [50.0 * k for k in range(20)]
    assert set(cells.line) == {1}
    (rest,) = cells.closed_m.values()
    assert rest == pytest.approx(20.0, abs=0.6), "the grid's scale is 4 in 10,000"


def test_every_cell_holds_fifty_metres_of_stretches():
    cells, _ = cells_of(network_of({"A": [(0, 0), (730, 0), (730, 640)], "B": [(100, -300), (100, 300)]}))
    assert np.asarray(cells.metres.sum(axis=1)).ravel() == pytest.approx(np.full(len(cells.road), 50.0))


def test_deaths_are_shared_out_by_metres_and_none_are_lost():
    cells, table = cells_of(network_of({"A": [(0, 0), (1000, 0)]}))
    per_m = np.random.default_rng(1).random(len(table))
    inside = (per_m * table["length_m"]).sum() - per_m[-1] * (table["to_m"].iloc[-1] - 50.0 * len(cells.road))
    assert (cells.metres @ per_m).sum() == pytest.approx(inside)


def test_a_junction_closes_its_cell_on_the_through_road_and_breaks_the_line():
    cells, _ = cells_of(network_of({"A": [(0, 0), (1010, 0)], "B": [(520, 0), (520, 400)]}))
    on_a = cells.from_m[cells.road == "A"]
    assert 500.0 not in on_a
    lines = cells.line[cells.road == "A"]
    assert set(lines[on_a < 500]).isdisjoint(lines[on_a > 500])
    assert cells.closed_m["around a junction"] == 50.0


def test_a_fence_may_begin_where_a_side_road_begins():
    cells, _ = cells_of(network_of({"A": [(0, 0), (1010, 0)], "B": [(520, 0), (520, 401)]}))
    assert np.sort(cells.from_m[cells.road == "B"]).tolist() == [50.0 * k for k in range(8)]


def test_a_bend_in_the_road_is_no_junction():
    cells, _ = cells_of(network_of({"A": [(0, 0), (260, 0), (260, 260)]}))
    assert len(cells.road) == 10
    assert len(set(cells.line)) == 1


def test_closed_stretches_are_left_out_with_their_length_and_break_the_line():
    cells, _ = cells_of(
        network_of({"A": [(0, 0), (1010, 0)]}), closed_by=lambda table: (table["from_m"] > 300) & (table["to_m"] < 420)
    )
    gap = np.diff(cells.from_m) > 51.0
    assert gap.sum() == 1
    assert np.diff(cells.line)[gap] > 0
    assert cells.closed_m["closed"] > 0


def test_cells_do_not_depend_on_the_direction_in_which_roads_are_drawn():
    one, _ = cells_of(network_of({"A": [(0, 0), (610, 40)], "B": [(330, 21.6), (300, 400)]}))
    other, _ = cells_of(network_of({"A": [(610, 40), (0, 0)], "B": [(300, 400), (330, 21.6)]}))
    assert one.from_m.tolist() == other.from_m.tolist()
    assert one.road.tolist() == other.road.tolist()


def test_the_middle_of_a_cell_lies_25_m_into_it():
    network = network_of({"A": [(610, 0), (0, 0)]})
    cells, _ = cells_of(network)
    edge, offset_m = cells.centres(network)
    _, _, metre = road_measure(network, edge, offset_m)
    assert metre == pytest.approx(cells.from_m + 25.0)


def test_a_road_shorter_than_a_cell_has_none():
    cells, _ = cells_of(network_of({"A": [(0, 0), (40, 0)]}))
    assert len(cells.road) == 0
    assert cells.metres.shape[0] == 0


def test_a_junction_on_the_border_of_two_cells_breaks_the_line_and_closes_none():
    # the grid's scale is 4 in 10,000: the crossing is put where the network itself measures 500 m along B, the second
    # of two roads, so that cells of another road lie before its own
    plain = network_of({"A": [(0, -900), (800, -900)], "B": [(0, 0), (1010, 0)]})
    x = 500.0 * 1010.0 / float(plain.edges.loc[plain.edges["road"] == "B", "length_m"].sum())
    cells, _ = cells_of(network_of({"A": [(0, -900), (800, -900)], "B": [(0, 0), (1010, 0)], "C": [(x, 0), (x, 300)]}))
    on_b = cells.road == "B"
    assert 450.0 in cells.from_m[on_b]
    assert 500.0 in cells.from_m[on_b]
    lines = cells.line[on_b]
    assert set(lines[cells.from_m[on_b] < 500]).isdisjoint(lines[cells.from_m[on_b] >= 500])
    assert len(set(cells.line[cells.road == "A"])) == 1
