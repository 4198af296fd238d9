"""The network as a whole: lengths kept, nothing hangs on the order or direction of drawing, attributes carried over."""

import numpy as np
import pytest
import shapely

from roadwatch.errors import UnfitFileError
from roadwatch.roads.network import build_network
from roadwatch.roads.projection import local_crs

EDGE_COLUMNS = ["road_id", "road", "road_part", "node_from", "node_to", "length_m"]
EDGE_COLUMNS += ["road_from_m", "road_to_m", "road_reversed"]


def shape_of(network):
    """What must not hang on how the layer was drawn."""
    xy = np.round(shapely.get_coordinates(network.nodes.geometry.to_numpy()), 3) + 0.0
    return sorted(zip(map(tuple, xy.tolist()), network.nodes["degree"].tolist(), strict=True))


def named_pieces(network):
    edges = network.edges
    middle = np.round(shapely.get_coordinates(edges.geometry.interpolate(0.5, normalized=True)), 2) + 0.0
    columns = [edges["road"], edges["road_part"], edges["road_from_m"].round(3), edges["road_to_m"].round(3)]
    return sorted(zip(map(tuple, middle.tolist()), *columns, strict=True))


def test_edges_and_nodes_have_the_promised_columns(network):
    built = network([[(0, 0), (100, 0)]], road=["Mill Road"], speed_limit=[45.0])
    assert list(built.edges.columns[:9]) == EDGE_COLUMNS
    assert built.edges["speed_limit"].tolist() == [45.0]
    assert list(built.nodes.columns) == ["degree", "geometry"]
    assert built.edges.crs == built.nodes.crs == built.crs


def test_every_piece_keeps_the_attributes_of_its_line(network):
    built = network(
        [[(-100, 0), (0, 0), (100, 0)], [(0, 0), (0, 100)]],
        road=["Main", "Side"],
        speed_limit=[55.0, 35.0],
        road_id=["a", "b"],
    )
    assert built.edges.groupby("road")["speed_limit"].unique().map(list).to_dict() == {"Main": [55.0], "Side": [35.0]}
    assert built.edges["road_id"].tolist() == ["a", "a", "b"]


def test_edge_lengths_are_those_of_their_lines_and_reach_their_nodes(network, awkward):
    built = network(awkward)
    assert built.edges["length_m"].to_numpy() == pytest.approx(built.edges.length.to_numpy())
    for node, which in [("node_from", 0), ("node_to", -1)]:
        ends = shapely.get_point(built.edges.geometry.to_numpy(), which)
        assert shapely.distance(ends, built.nodes.geometry.to_numpy()[built.edges[node]]).max() < 1e-9
    assert (built.nodes["degree"] > 0).all()


def test_direction_of_drawing_does_not_matter(layer, awkward):
    ahead, back = build_network(layer(awkward)), build_network(layer([line[::-1] for line in awkward]))
    assert shape_of(back) == shape_of(ahead)
    assert back.edges["length_m"].sum() == pytest.approx(ahead.edges["length_m"].sum())


@pytest.mark.parametrize("seed", range(5))
def test_names_parts_and_metres_hang_neither_on_order_nor_on_direction(town, seed):
    rng = np.random.default_rng(seed)
    drawn = town(rng)
    other = drawn.sample(frac=1.0, random_state=seed)
    turned = rng.random(len(other)) < 0.5
    other.geometry = np.where(turned, shapely.reverse(other.geometry.to_numpy()), other.geometry.to_numpy())
    assert named_pieces(build_network(other)) == named_pieces(build_network(drawn))


def test_a_network_built_from_its_own_edges_is_the_same(town):
    first = build_network(town(np.random.default_rng(7)))
    again = build_network(first.edges)
    assert shape_of(again) == shape_of(first)
    assert named_pieces(again) == named_pieces(first)


def test_reversing_the_drawing_flips_the_flag_and_nothing_else(layer):
    lines = [[(0, 0), (100, 0)], [(100, 0), (150, 0)]]
    ahead = build_network(layer(lines, road=["Mill Road"] * 2)).edges
    back = build_network(layer([line[::-1] for line in lines], road=["Mill Road"] * 2)).edges
    assert ahead["road_reversed"].tolist() == [False, False]
    assert back["road_reversed"].tolist() == [True, True]
    assert back["road_from_m"].to_numpy() == pytest.approx(ahead["road_from_m"].to_numpy())


def test_the_reference_system_is_the_local_one(layer):
    roads = layer([[(0, 0), (100, 0)]]).to_crs("EPSG:4326")
    assert build_network(roads).crs == local_crs(roads)


def test_project_puts_degrees_where_the_lines_are(layer):
    roads = layer([[(-100, 0), (100, 0)]])
    built = build_network(roads)
    degrees = shapely.get_coordinates(roads.to_crs("EPSG:4326").geometry.to_numpy())
    x_m, y_m = built.project(degrees[:, 0], degrees[:, 1])
    assert np.c_[x_m, y_m] == pytest.approx(shapely.get_coordinates(built.edges.geometry.to_numpy()), abs=1e-6)


def test_measures_are_cut_with_the_line(network):
    """By hand: 100 m from mile 2 to mile 3; a side road joins at 25 m."""
    built = network(
        [[(0, 0), (25, 0), (100, 0)], [(25, 0), (25, 80)]], from_measure=[2.0, np.nan], to_measure=[3.0, np.nan]
    )
    assert built.edges["from_measure"].to_numpy()[:2] == pytest.approx([2.0, 2.25])
    assert built.edges["to_measure"].to_numpy()[:2] == pytest.approx([2.25, 3.0])
    assert built.edges["from_measure"].isna().tolist() == [False, False, True]


def test_what_was_found_in_the_layer_is_noted(network):
    built = network([[(-100, 0), (100, 0)], [(0, -100), (0, 100)], [(100, 0), (-100, 0)]])
    assert built.notes == (
        "road lines drawn twice at the same place, the first kept: 1",
        "crossings without a shared vertex, not joined (bridges, or junctions the layer lacks): 1",
    )


def test_a_bridge_flag_that_is_blank_is_not_a_bridge(network):
    lines = [[(-100, 0), (0, 0), (100, 0)], [(0, -100), (0, 0), (0, 100)]]
    assert len(network(lines, bridge=[None, None]).edges) == 4
    assert len(network(lines, bridge=[True, None]).edges) == 2


def test_a_layer_that_is_nothing_but_a_speck_is_refused(network):
    with pytest.raises(UnfitFileError, match="shorter than"):
        network([[(0, 0), (0.2, 0)]])
