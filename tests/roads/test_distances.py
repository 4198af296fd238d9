"""Distances along roads, against networkx, an independent graph library."""

from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace

import networkx as nx
import numpy as np
import pandas as pd
import pytest

from roadwatch.roads import distances
from roadwatch.roads.distances import network_distances, road_graph
from roadwatch.roads.network import build_network

GOLDEN = Path(__file__).parents[1] / "golden"


def by_networkx(network, edge, offset_m):
    """Put every place into the graph as a node of its own and let networkx find the ways."""
    graph = nx.MultiGraph()
    graph.add_nodes_from(range(len(network.nodes)))
    places = {
        e: sorted((o, f"place {i}") for i, (k, o) in enumerate(zip(edge, offset_m, strict=True)) if k == e)
        for e in edge
    }
    for e, row in network.edges.iterrows():
        stops = [(0.0, row["node_from"]), *places.get(e, []), (row["length_m"], row["node_to"])]
        for (before_m, one), (after_m, other) in pairwise(stops):
            graph.add_edge(one, other, weight=after_m - before_m)
    found = np.full((len(edge), len(edge)), np.inf)
    for i in range(len(edge)):
        ways = nx.single_source_dijkstra_path_length(graph, f"place {i}", weight="weight")
        for j in range(len(edge)):
            found[i, j] = ways.get(f"place {j}", np.inf)
    return found


def random_places(network, rng, n):
    edge = rng.integers(0, len(network.edges), n)
    return edge, rng.uniform(0, 1, n) * network.edges["length_m"].to_numpy()[edge]


@pytest.mark.parametrize("seed", range(3))
def test_distances_in_a_town_agree_with_networkx(town, seed):
    rng = np.random.default_rng(seed)
    built = build_network(town(rng))
    places = random_places(built, rng, 40)
    assert network_distances(built, *places, *places) == pytest.approx(by_networkx(built, *places), abs=1e-9)


def test_distances_on_every_awkward_layer_agree_with_networkx(network, awkward):
    built = network(awkward)
    places = random_places(built, np.random.default_rng(5), 12)
    assert network_distances(built, *places, *places) == pytest.approx(by_networkx(built, *places), abs=1e-9)


def test_the_shorter_way_round_a_loop_is_taken(network):
    """By hand: a square loop of 800 m; places at 10 m and 790 m are 20 m apart through the junction."""
    built = network([[(0, 0), (200, 0), (200, 200), (0, 200), (0, 0)]])
    assert network_distances(
        built, np.array([0]), np.array([10.0]), np.array([0]), np.array([790.0])
    ).item() == pytest.approx(20.0)


def test_there_is_no_way_between_parts_that_do_not_hang_together(network):
    built = network([[(0, 0), (100, 0)], [(0, 500), (100, 500)]])
    found = network_distances(built, np.array([0]), np.array([10.0]), np.array([0, 1]), np.array([60.0, 60.0]))
    assert found.tolist() == [[50.0, np.inf]]


def test_a_place_that_is_on_no_road_is_reached_by_none(network):
    built = network([[(0, 0), (100, 0)]])
    places = np.array([0, -1]), np.array([10.0, np.nan])
    assert network_distances(built, *places, *places).tolist() == [[0.0, np.inf], [np.inf, np.inf]]


def test_ways_beyond_the_limit_are_not_found_and_those_within_are_the_same(town):
    rng = np.random.default_rng(6)
    built = build_network(town(rng))
    places = random_places(built, rng, 60)
    full = network_distances(built, *places, *places)
    near = network_distances(built, *places, *places, limit_m=400.0)
    assert near == pytest.approx(np.where(full <= 400.0, full, np.inf))


def test_working_in_blocks_changes_nothing(town, monkeypatch):
    rng = np.random.default_rng(7)
    built = build_network(town(rng))
    places, others = random_places(built, rng, 50), random_places(built, rng, 9)
    whole = network_distances(built, *places, *others)
    monkeypatch.setattr(distances, "NODES_AT_ONCE", 3)
    assert (network_distances(built, *places, *others) == whole).all()


def test_of_parallel_edges_the_graph_keeps_the_shortest(network):
    built = network([[(0, 0), (50, 40), (100, 0)], [(0, 0), (100, 0)]])
    assert road_graph(built).data == pytest.approx([100.0])


def test_distances_agree_with_spatstat_on_the_streets_of_chicago():
    # spatstat.linnet 3.0-6 pairdist: shortest paths between the points of its street network, feet; the network is
    # made of the segments as they are, for its streets are not joined anew
    segments, vertices, points, asked = (
        pd.read_csv(GOLDEN / f"chicago_{name}.csv", comment="#")
        for name in ("segments", "vertices", "points", "distances")
    )
    ends = {"node_from": segments["from"] - 1, "node_to": segments["to"] - 1, "length_m": segments["length"]}
    streets = SimpleNamespace(edges=pd.DataFrame(ends), nodes=vertices)
    edge = points["seg"].to_numpy() - 1
    offset = points["tp"].to_numpy() * segments["length"].to_numpy()[edge]
    found = network_distances(streets, edge[:12], offset[:12], edge, offset)
    expected = asked.pivot(index="from", columns="to", values="distance").to_numpy()
    assert found.shape == expected.shape == (12, 116)
    assert np.abs(found - expected).max() <= 1e-9
