"""Upstream of a stretch, along the network."""

import math
from itertools import pairwise

import networkx as nx
import numpy as np
import pytest
from small_networks import network_of

from roadwatch.roads.reference import find_on_road, road_measure
from roadwatch.siting.sign_distances import advance_distance_m
from roadwatch.siting.sign_walk import Zone, walk_upstream

AT_45_M, AT_55_M, AT_25_M = 360 * 0.3048, 495 * 0.3048, 155 * 0.3048
"""MUTCD 11th edition, Table 2C-3, column for a stop, feet, from a secondary copy."""
MAIN, SIDE = "Main Road", "Side Road"


def zone(from_m, to_m, road=MAIN) -> Zone:
    return Zone(road, 0, from_m, to_m)


def metres(network, signs) -> dict[str, list[float]]:
    road, _, metre = road_measure(network, np.array([s.edge for s in signs]), np.array([s.offset_m for s in signs]))
    return {
        name: sorted(round(float(m), 1) for r, m in zip(road, metre, strict=True) if r == name) for name in set(road)
    }


def straight(length_m=2000.0, **attributes):
    return network_of({MAIN: [(0, 0), (length_m, 0)]}, **({"speed_limit": 45.0} | attributes))


def test_a_straight_road_gets_one_sign_before_each_end():
    network = straight()
    assert metres(network, walk_upstream(network, zone(900, 1200))) == {
        MAIN: [pytest.approx(900 - AT_45_M, abs=1), pytest.approx(1200 + AT_45_M, abs=1)]
    }


def test_the_direction_of_digitising_changes_nothing():
    there, back = straight(), network_of({MAIN: [(2000, 0), (0, 0)]}, speed_limit=45.0)
    assert metres(there, walk_upstream(there, zone(900, 1200))) == metres(back, walk_upstream(back, zone(900, 1200)))


def test_a_vertex_of_the_road_layer_changes_nothing():
    cut = network_of({MAIN: [(0, 0), (850, 0), (2000, 0)]}, speed_limit=45.0)
    whole = straight()
    assert metres(cut, walk_upstream(cut, zone(900, 1200))) == metres(whole, walk_upstream(whole, zone(900, 1200)))


def test_where_the_road_ends_before_the_sign_stands_at_its_end_and_it_is_said():
    network = straight()
    short = min(walk_upstream(network, zone(60, 300)), key=lambda sign: sign.distance_m)
    assert short.is_road_end
    assert short.distance_m == pytest.approx(60, abs=0.1)
    assert short.wanted_m == pytest.approx(AT_45_M)


def test_a_zone_up_to_the_end_of_a_road_needs_no_sign_there():
    network = straight()
    assert len(walk_upstream(network, zone(0, 300))) == 1


def test_a_y_gets_three_signs():
    # The junction lies 50 m before the zone: each of the two legs gets its own sign, and the far end one.
    network = network_of(
        {MAIN: [(0, 0), (1000, 0), (2000, 0)], SIDE: [(1000, 0), (700, 300)]}, speed_limit=[45.0, 45.0]
    )
    signs = walk_upstream(network, zone(1050, 1300))
    assert len(signs) == 3
    assert all(sign.distance_m == pytest.approx(AT_45_M, abs=0.1) for sign in signs)
    assert sorted(sign.n_junctions for sign in signs) == [0, 1, 1]


def test_a_side_road_that_joins_inside_the_zone_gets_a_sign():
    network = network_of({MAIN: [(0, 0), (2000, 0)], SIDE: [(1000, 0), (1000, 800)]}, speed_limit=[55.0, 25.0])
    found = metres(network, walk_upstream(network, zone(900, 1100)))
    assert len(found[MAIN]) == 2
    assert len(found[SIDE]) == 1


def test_a_slow_side_road_into_a_fast_lead_in_is_warned_at_the_fast_distance():
    network = network_of({MAIN: [(0, 0), (2000, 0)], SIDE: [(900, 0), (900, 800)]}, speed_limit=[55.0, 25.0])
    side = [sign for sign in walk_upstream(network, zone(1000, 1200)) if sign.speed_limit_mph == 25.0]
    assert [sign.wanted_m for sign in side] == [pytest.approx(AT_55_M)]
    assert [sign.distance_m for sign in side] == [pytest.approx(AT_55_M, abs=0.2)]


def test_a_zone_that_ends_at_a_junction_gets_a_sign_on_every_road_that_meets_there():
    cross = {MAIN: [(0, 0), (1000, 0), (2000, 0)], SIDE: [(1000, -800), (1000, 0), (1000, 800)]}
    network = network_of(cross, speed_limit=[45.0, 45.0])
    found = metres(network, walk_upstream(network, zone(1000, 1300)))
    assert {name: len(at) for name, at in found.items()} == {MAIN: 2, SIDE: 2}


def test_an_unknown_limit_gives_no_distance():
    network = straight(speed_limit=math.nan)
    signs = walk_upstream(network, zone(900, 1200))
    assert len(signs) == 2
    assert all(math.isnan(sign.distance_m) and math.isnan(sign.wanted_m) for sign in signs)


def test_a_loop_within_the_lead_in_needs_no_sign_on_it():
    # The loop is 40 m long and hangs at 50 m before the zone: whoever drives on it came past another sign.
    loop = [(950, 0), (960, 10), (950, 20), (940, 10), (950, 0)]
    network = network_of({MAIN: [(0, 0), (950, 0), (2000, 0)], "Loop": loop}, speed_limit=[45.0, 45.0])
    found = metres(network, walk_upstream(network, zone(1000, 1200)))
    assert set(found) == {MAIN}
    assert len(found[MAIN]) == 2


def test_a_road_that_is_itself_a_ring_gets_two_signs():
    ring = [(300 * math.cos(a), 300 * math.sin(a)) for a in np.linspace(0, 2 * math.pi, 200)]
    network = network_of({MAIN: ring, SIDE: [(300, 0), (900, 0)]}, speed_limit=[45.0, 45.0])
    signs = walk_upstream(network, zone(400, 600))
    assert len(signs) == 2
    assert all(sign.distance_m == pytest.approx(AT_45_M, abs=0.1) for sign in signs)


def grid(rng):
    lines = {f"East {k}": [(0, 150 * k), (900, 150 * k)] for k in range(6)}
    lines |= {f"North {k}": [(180 * k, 0), (180 * k, 750)] for k in range(6)}
    return network_of(lines, speed_limit=[float(v) for v in rng.choice([25, 35, 45, 55], len(lines))])


def network_distance(network, sign, zone_edge_points) -> float:
    """Shortest way by networkx, an independent library, over the whole network and the zone's own points."""
    graph = nx.Graph()
    places = {**dict(zone_edge_points), "sign": (sign.edge, sign.offset_m)}
    by_edge: dict[int, list] = {}
    for name, (edge, offset_m) in places.items():
        by_edge.setdefault(edge, []).append((offset_m, name))
    for edge, row in enumerate(network.edges.itertuples()):
        along = [
            (0.0, row.node_from),
            *sorted(by_edge.get(edge, []), key=lambda at: at[0]),
            (row.length_m, row.node_to),
        ]
        for (a_m, a), (b_m, b) in pairwise(along):
            graph.add_edge(a, b, weight=b_m - a_m)
    lengths = nx.single_source_dijkstra_path_length(graph, "sign")
    return min(lengths[point] for point, _ in zone_edge_points)


@pytest.mark.parametrize("seed", range(8))
def test_on_a_grid_every_distance_is_the_shortest_way_by_networkx(seed):
    rng = np.random.default_rng(seed)
    network = grid(rng)
    start_m = float(rng.uniform(200, 500))
    where = zone(start_m, start_m + 60.0, road="East 2")
    edge, offset_m = find_on_road(network, "East 2", np.linspace(where.from_m, where.to_m, 61))
    points = [(f"zone {k}", (int(e), float(o))) for k, (e, o) in enumerate(zip(edge, offset_m, strict=True))]
    signs = walk_upstream(network, where)
    assert len(signs) >= 2
    for sign in signs:
        assert sign.distance_m == pytest.approx(network_distance(network, sign, points), abs=1.01)
        assert sign.wanted_m >= advance_distance_m(sign.speed_limit_mph) - 1e-9
        assert sign.distance_m <= sign.wanted_m + 1e-6


@pytest.mark.parametrize("turned", [False, True])
def test_a_walk_from_inside_a_piece_of_road_goes_on_beyond_its_junction_by_what_is_left(turned):
    # By hand: from 1,250 m it is 50 m to the junction at 1,300 m; of 109.7 m there are 59.7 m left on both roads.
    lines = {MAIN: [(0, 0), (1300, 0), (2600, 0)], SIDE: [(1300, 0), (1300, 900)]}
    network = network_of({name: line[::-1] for name, line in lines.items()} if turned else lines, speed_limit=45.0)
    found = metres(network, walk_upstream(network, zone(900, 1250)))
    assert found[MAIN] == [pytest.approx(900 - AT_45_M, abs=1), pytest.approx(1250 + AT_45_M, abs=1)]
    (side_m,) = found[SIDE]
    left_m = AT_45_M - 50.0
    assert min(side_m, 900.0 - side_m) == pytest.approx(left_m, abs=1)


@pytest.mark.parametrize(("speed_mph", "feet"), [(25, 155), (35, 250), (45, 360), (55, 495), (65, 645), (70, 730)])
def test_on_an_open_road_every_sign_stands_as_far_off_as_the_table_says(speed_mph, feet):
    # MUTCD 11th edition, Table 2C-3, column for a stop, from a secondary copy
    network = straight(4000.0, speed_limit=float(speed_mph))
    signs = walk_upstream(network, zone(1900, 2200))
    assert [sign.distance_m for sign in signs] == pytest.approx([feet * 0.3048] * 2)
    assert metres(network, signs)[MAIN] == [
        pytest.approx(1900 - feet * 0.3048, abs=2), pytest.approx(2200 + feet * 0.3048, abs=2)
    ]  # fmt: skip
