"""Where roads meet and where they do not, each case small enough to be drawn on paper."""

import networkx as nx
import numpy as np
import pytest
import shapely

from roadwatch.roads.noding import cluster, node_lines


def noded(lines, bridge=()):
    shapes = np.array([shapely.LineString(line) for line in lines])
    return node_lines(shapes, is_bridge=np.isin(np.arange(len(shapes)), bridge))


def degrees(result):
    return sorted(np.bincount(np.r_[result.node_from, result.node_to]).tolist())


def test_roads_meet_at_shared_ends():
    result = noded([[(0, 0), (100, 0)], [(100, 0), (200, 0)], [(100, 0), (100, 90)]])
    assert degrees(result) == [1, 1, 1, 3]
    assert result.notes == ()


@pytest.mark.parametrize(("gap_m", "n_nodes"), [(0.0, 3), (0.3, 3), (0.99, 3), (1.01, 4), (5.0, 4)])
def test_ends_within_a_metre_meet(gap_m, n_nodes):
    assert len(noded([[(0, 0), (100, 0)], [(100 + gap_m, 0), (200, 0)]]).node_xy) == n_nodes


def test_roads_meet_at_a_shared_vertex_between_their_ends():
    assert degrees(noded([[(-100, 0), (0, 0), (100, 0)], [(0, -100), (0, 0), (0, 100)]])) == [1, 1, 1, 1, 4]


def test_a_shared_end_and_vertex_make_a_junction_of_three():
    result = noded([[(-100, 0), (0, 0), (100, 0)], [(0, 0), (0, 100)]])
    assert degrees(result) == [1, 1, 1, 3]
    assert result.notes == ()


def test_a_vertex_drawn_twice_in_a_row_is_no_junction():
    assert degrees(noded([[(0, 0), (50, 0), (50, 0), (100, 0)]])) == [1, 1]


def test_a_crooked_start_does_not_join_itself():
    result = noded([[(0, 0), (0.5, 0.5), (1, 0), (100, 0)]])
    assert degrees(result) == [1, 1]
    assert result.notes == ()


@pytest.mark.parametrize("order", [[0, 1, 2], [1, 0, 2], [2, 1, 0]])
def test_an_end_that_touches_two_roads_joins_both_at_the_right_place(order):
    lines = [[(-100, 0), (100, 0)], [(-300, -300), (90, 90)], [(0.3, 0.1), (0, 200)]]
    result = noded([lines[i] for i in order])
    assert degrees(result) == [1, 1, 1, 1, 1, 5]
    assert shapely.length(result.pieces.geometry).sum() == pytest.approx(200 + 390 * np.sqrt(2) + 200, abs=1.0)


@pytest.mark.parametrize(("end_y", "n_edges"), [(0.0, 3), (0.6, 3), (-0.6, 3), (1.4, 2), (-1.4, 2)])
def test_an_end_joins_the_middle_of_another_road_within_a_metre(end_y, n_edges):
    result = noded([[(-100, 0), (100, 0)], [(20, end_y), (20, 90)]])
    assert len(result.pieces.geometry) == n_edges
    is_joined = n_edges == 3
    assert ("road ends that touch the middle of a road within 1 m, joined to it: 1" in result.notes) == is_joined


def test_roads_that_cross_without_a_shared_vertex_do_not_meet_and_are_counted():
    result = noded([[(-100, 0), (100, 0)], [(0, -100), (0, 100)]])
    assert degrees(result) == [1, 1, 1, 1]
    assert result.notes == ("crossings without a shared vertex, not joined (bridges, or junctions the layer lacks): 1",)


@pytest.mark.parametrize("bridge", [[0], [1], [0, 1]])
def test_a_bridge_does_not_meet_what_it_passes_over_even_at_a_shared_vertex(bridge):
    assert degrees(noded([[(-100, 0), (0, 0), (100, 0)], [(0, -100), (0, 0), (0, 100)]], bridge)) == [1, 1, 1, 1]


def test_a_bridge_meets_the_road_at_its_ends():
    result = noded([[(0, 0), (100, 0)], [(100, 0), (140, 0)], [(140, 0), (240, 0)]], bridge=[1])
    assert degrees(result) == [1, 1, 2, 2]


def test_a_bridge_can_end_on_the_middle_of_another_road():
    assert degrees(noded([[(0, 0), (50, 0), (100, 0)], [(50, 0), (50, 80)]], bridge=[1])) == [1, 1, 1, 3]


def test_an_end_under_a_bridge_does_not_join_it():
    assert degrees(noded([[(-100, 0), (100, 0)], [(0, 0), (0, 80)]], bridge=[0])) == [1, 1, 1, 1]


def test_a_loop_has_one_node_of_degree_two():
    assert degrees(noded([[(0, 0), (200, 0), (200, 200), (0, 0)]])) == [2]


def test_a_stem_that_ends_on_itself_becomes_a_stem_and_a_loop():
    result = noded([[(-100, 0), (0, 0), (50, 50), (100, 0), (50, -50), (0, 0)]])
    assert degrees(result) == [1, 3]
    assert (result.node_from == result.node_to).tolist() == [False, True]


def test_a_stem_whose_end_touches_its_own_middle_is_cut_there():
    result = noded([[(-100, 0), (100, 0), (100, 80), (0, 80), (0, 0.5)]])
    assert degrees(result) == [1, 3]


def test_a_road_that_crosses_itself_without_a_vertex_is_one_edge_and_counted():
    result = noded([[(0, 0), (100, 0), (100, 100), (50, 100), (50, -100)]])
    assert len(result.pieces.geometry) == 1
    assert result.notes[0].startswith("crossings without a shared vertex")


def test_slivers_are_drawn_together_into_one_junction():
    lines = [[(0, 0), (100, 0), (100.4, 0), (200, 0)], [(100, 0), (100, 90)], [(100.4, 0), (100, -90)]]
    result = noded(lines)
    assert degrees(result) == [1, 1, 1, 1, 4]
    assert "pieces shorter than about 1 m, drawn together into one node: 1" in result.notes


def test_a_road_drawn_in_tiny_pieces_is_not_drawn_together():
    result = noded([[(0.4 * i, 0), (0.4 * i + 0.4, 0)] for i in range(200)])
    assert shapely.length(result.pieces.geometry).sum() == pytest.approx(80.0)
    assert len(result.node_xy) == 201


def test_where_roads_overlap_the_shared_part_is_kept_once():
    result = noded([[(0, 0), (50, 0), (100, 0), (150, 0)], [(50, 0), (100, 0), (100, 90)]])
    assert shapely.length(result.pieces.geometry).sum() == pytest.approx(150 + 90)
    assert "pieces drawn twice at the same place, the first kept: 1" in result.notes


def test_parallel_roads_between_the_same_junctions_are_both_kept():
    assert degrees(noded([[(0, 0), (100, 0)], [(0, 0), (50, 40), (100, 0)]])) == [2, 2]


def test_no_road_moves_further_than_nodes_are_wide(awkward):
    lines = np.array([shapely.LineString(line) for line in awkward])
    result = node_lines(lines, is_bridge=np.zeros(len(lines), dtype=bool))
    assert shapely.union_all(result.pieces.geometry).hausdorff_distance(shapely.union_all(lines)) <= 1.0


def test_edges_end_exactly_on_their_nodes(awkward):
    result = noded(awkward)
    for node, which in [(result.node_from, 0), (result.node_to, -1)]:
        at = shapely.get_coordinates(shapely.get_point(result.pieces.geometry, which))
        assert at == pytest.approx(result.node_xy[node], abs=0.0)


@pytest.mark.parametrize("seed", range(5))
def test_streets_that_meet_at_vertices_are_cut_as_shapely_cuts_all_crossings(town, seed):
    """shapely's union cuts at every crossing; here every crossing is a shared vertex, so both must agree."""
    lines = town(np.random.default_rng(seed)).geometry.to_numpy()
    expected = shapely.get_parts(shapely.line_merge(shapely.unary_union(lines)))
    graph = nx.MultiGraph()
    for piece in shapely.get_parts(shapely.unary_union(lines)):
        graph.add_edge(*(tuple(np.round(piece.coords[i], 6)) for i in (0, -1)))
    result = node_lines(lines, is_bridge=np.zeros(len(lines), dtype=bool))
    assert degrees(result) == sorted(dict(graph.degree).values())
    assert shapely.length(result.pieces.geometry).sum() == pytest.approx(shapely.length(expected).sum())


def test_points_cluster_by_chains_of_steps():
    xy = np.array([[0.0, 0], [0.9, 0], [1.8, 0], [5, 0], [5, 0.5]])
    assert cluster(xy, 1.0).tolist() == [0, 0, 0, 1, 1]
