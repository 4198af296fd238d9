"""
Real streets that libpysal carries inside its wheel: part of Mesa, Arizona ("geodanet": 293 streets, 287 crimes, 8
schools) and John Snow's Soho ("snow_maps"). Checked against plain shapely and networkx.

Both layers state their own reference system, in their .prj files: NAD 83 state plane Arizona Central in US survey feet,
and web Mercator.
"""

from pathlib import Path

import geopandas as gpd
import libpysal
import networkx as nx
import numpy as np
import pytest
import shapely
from pyproj import Geod

from roadwatch.roads.distances import network_distances
from roadwatch.roads.network import build_network
from roadwatch.roads.reference import place_on_road, points_on_edges, road_measure
from roadwatch.roads.snap import snap
from roadwatch.roads.stretches import cut_stretches

EXAMPLES = Path(libpysal.__file__).parent / "examples"
METRES_PER_SURVEY_FOOT = 1200 / 3937  # exact by definition


@pytest.fixture(scope="module")
def streets():
    return gpd.read_file(EXAMPLES / "geodanet" / "streets.shp")


@pytest.fixture(scope="module")
def mesa(streets):
    return build_network(streets)


@pytest.fixture(scope="module", params=["crimes", "schools"])
def events(request, mesa):
    points = gpd.read_file(EXAMPLES / "geodanet" / f"{request.param}.shp")
    return shapely.get_coordinates(points.to_crs(mesa.crs).geometry.to_numpy())


def by_end_points(lines):
    graph = nx.MultiGraph()
    for line in lines:
        graph.add_edge(*(tuple(np.round(line.coords[i], 3)) for i in (0, -1)))
    return graph


def test_the_layer_is_noded_already_and_stays_as_it_is(streets, mesa):
    graph = by_end_points(streets.geometry)
    assert (len(mesa.nodes), len(mesa.edges)) == (graph.number_of_nodes(), graph.number_of_edges())
    assert np.bincount(mesa.nodes["degree"]).tolist() == nx.degree_histogram(graph)
    assert mesa.notes == ()


def test_lengths_are_the_geodesic_ones(streets, mesa):
    geod = Geod(ellps="GRS80")
    geodesic_m = [geod.geometry_length(line) for line in streets.to_crs("EPSG:4269").geometry]
    assert mesa.edges["length_m"].to_numpy() == pytest.approx(geodesic_m, rel=1e-5)


def test_lengths_are_those_the_source_states_but_for_the_scale_of_its_own_projection(streets, mesa):
    """
    State plane lengths are 1e-4 short here: the zone's scale is 0.9999 on its middle meridian, 8 km away. The file's
    column of lengths stands in another order than its lines, so both are sorted.
    """
    stated_m = np.sort(streets["Length"].to_numpy(dtype=float)) * METRES_PER_SURVEY_FOOT
    assert np.sort(mesa.edges["length_m"].to_numpy()) * 0.9999 == pytest.approx(stated_m, rel=1e-5)


def test_every_event_snaps_where_a_search_through_all_streets_puts_it(mesa, events):
    snapped = snap(mesa, events[:, 0], events[:, 1], position_error_m=np.nan)
    points = shapely.points(events)
    nearest_m = shapely.distance(points[:, None], mesa.edges.geometry.to_numpy()[None, :]).min(axis=1)
    assert snapped.distance_m == pytest.approx(nearest_m, abs=1e-9)
    assert ((snapped.edge >= 0) == (nearest_m <= 90.0)).all()
    on = snapped.edge >= 0
    feet = points_on_edges(mesa, snapped.edge[on], snapped.offset_m[on])
    assert shapely.distance(feet, points[on]) == pytest.approx(nearest_m[on], abs=1e-9)


def test_distances_between_events_agree_with_networkx(mesa, events):
    snapped = snap(mesa, events[:60, 0], events[:60, 1], position_error_m=1000.0)
    graph = nx.MultiGraph()
    for a, b, length_m in mesa.edges[["node_from", "node_to", "length_m"]].itertuples(index=False):
        graph.add_edge(a, b, weight=length_m)
    for i, (edge, offset_m) in enumerate(zip(snapped.edge, snapped.offset_m, strict=True)):
        a, b, length_m = mesa.edges.loc[edge, ["node_from", "node_to", "length_m"]]
        graph.add_edge(f"event {i}", a, weight=offset_m)
        graph.add_edge(f"event {i}", b, weight=length_m - offset_m)
    found = network_distances(mesa, snapped.edge, snapped.offset_m, snapped.edge, snapped.offset_m)
    for i in range(len(snapped.edge)):
        ways = nx.single_source_dijkstra_path_length(graph, f"event {i}", weight="weight")
        through_nodes = np.array([ways[f"event {j}"] for j in range(len(snapped.edge))])
        same = snapped.edge == snapped.edge[i]
        direct_m = np.where(same, np.abs(snapped.offset_m - snapped.offset_m[i]), np.inf)
        assert found[i] == pytest.approx(np.minimum(through_nodes, direct_m), abs=1e-6)


def test_every_event_is_found_again_by_its_metre_along_its_street(mesa, events):
    snapped = snap(mesa, events[:, 0], events[:, 1], position_error_m=1000.0)
    points = points_on_edges(mesa, snapped.edge, snapped.offset_m)
    for road, part, metre, point in zip(*road_measure(mesa, snapped.edge, snapped.offset_m), points, strict=True):
        assert place_on_road(mesa, road, metre, road_part=part)[0].distance(point) < 1e-6


def test_stretches_hold_all_the_streets(mesa):
    stretches = cut_stretches(mesa)
    assert stretches.length_m.sum() == pytest.approx(mesa.edges["length_m"].sum())
    assert stretches.length_m.max() <= 50.0 + 1e-6


def test_soho_streets_that_end_on_the_middle_of_others_are_joined_as_a_plain_search_joins_them():
    """Most streets of this layer end on others without a vertex there: by end points alone it falls into 78 parts."""
    soho = gpd.read_file(EXAMPLES / "snow_maps" / "Soho_Network.shp")
    built = build_network(soho)
    lines = soho.to_crs(built.crs).geometry.to_numpy()
    joined = nx.Graph()
    joined.add_nodes_from(range(len(lines)))
    for which in (0, -1):
        near = shapely.distance(shapely.get_point(lines, which)[:, None], lines[None, :]) <= 1.0
        joined.add_edges_from(np.argwhere(near).tolist())
    graph = nx.Graph(built.edges[["node_from", "node_to"]].itertuples(index=False))
    assert nx.number_connected_components(by_end_points(lines)) == 78
    assert nx.number_connected_components(graph) == nx.number_connected_components(joined)
    assert built.edges["length_m"].sum() == pytest.approx(shapely.length(lines).sum(), rel=1e-3)
