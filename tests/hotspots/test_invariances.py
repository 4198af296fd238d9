"""
What may not change an answer, asked of the whole search on real streets.

The streets are the network ``chicago`` of the open data of spatstat.data 3.0-0 (see ``golden``), its 116 recorded
events stand for the dead, and its feet are made metres. Nothing but the network and the places is real.
"""

import itertools
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from roadwatch.hotspots.density import equal_split_density, kernel_matrices
from roadwatch.hotspots.k_function import k_function
from roadwatch.hotspots.paths import Graph
from roadwatch.hotspots.search import find_hotspots
from roadwatch.roads.network import build_network
from roadwatch.roads.reference import find_on_road, road_measure
from roadwatch.roads.stretches import cut_stretches, stretch_table

GOLDEN = Path(__file__).parents[1] / "golden"
FOOT_M = 0.3048
UTM_16N, CORNER_M = "EPSG:32616", (447_000.0, 4_624_000.0)
"""A corner near the place of these streets; what matters is a real reference system in metres, not the very spot."""

RESULTS = ["density", "expected_density", "surprise", "p_value", "p_local"]


@cache
def streets():
    """The streets as a layer, one feature a segment, each a street of its own."""
    vertices = pd.read_csv(GOLDEN / "chicago_vertices.csv", comment="#")[["x", "y"]].to_numpy() * FOOT_M + CORNER_M
    segments = pd.read_csv(GOLDEN / "chicago_segments.csv", comment="#")
    ends = np.stack([vertices[segments["from"] - 1], vertices[segments["to"] - 1]], axis=1)
    names = [f"street {number}" for number in segments["id"]]
    return gpd.GeoDataFrame({"road": names}, geometry=shapely.linestrings(ends), crs=UTM_16N)


@dataclass(frozen=True)
class Told:
    """Where each record lies, told by road and metre, which no way of drawing may change."""

    road: list[str]
    road_m: np.ndarray
    weight: np.ndarray

    def on(self, network, *, metres=1.0):
        """The records on a network of the same streets."""
        place = [find_on_road(network, road, at_m * metres) for road, at_m in zip(self.road, self.road_m, strict=True)]
        n = len(self.road)
        return pd.DataFrame(
            {
                "record_id": [f"r{k}" for k in range(n)],
                "edge": [int(edge[0]) for edge, _ in place],
                "offset_m": [float(offset_m[0]) for _, offset_m in place],
                "weight": self.weight,
                "year": 2021 + np.arange(n) % 3,
                "date": [f"{2021 + k % 3}-05-{1 + k % 28:02d}" for k in range(n)],
                "observer": [f"observer {k % 4}" for k in range(n)],
            }
        )


@cache
def told():
    """The recorded events, and fifteen more at one place, so that there is something to find."""
    network = build_network(streets())
    points = pd.read_csv(GOLDEN / "chicago_points.csv", comment="#")
    road = np.r_[points["seg"].to_numpy(), [200] * 15]
    share = np.clip(np.r_[points["tp"].to_numpy(), [0.5] * 15], 0.01, 0.99)
    edge = (
        network.edges.reset_index().set_index("road")["index"].loc[[f"street {number}" for number in road]].to_numpy()
    )
    name, part, road_m = road_measure(network, edge, share * network.edges["length_m"].to_numpy()[edge])
    assert (part == 0).all()
    weight = np.random.default_rng(1).choice([0.5, 0.8, 1.0], len(road))
    return Told(list(name), road_m, weight)


def search(network, table, *, effort_km=None, half_width_m=90.0, n_draws=99):
    return find_hotspots(
        network,
        cut_stretches(network),
        table,
        effort_km=effort_km,
        half_width_m=half_width_m,
        beside_m=[45.0],
        n_draws=n_draws,
        rng=np.random.default_rng(7),
    )


def by_place(found):
    """What was found on each stretch, by road and metre."""
    return found.stretches.sort_values(["road", "from_m"]).reset_index(drop=True)


@cache
def as_drawn():
    network = build_network(streets())
    return network, search(network, told().on(network))


def assert_same(found, *, tolerance=1e-9):
    """The same stretches with the same numbers, and the same hotspots, as with the streets as they are drawn."""
    _, before = as_drawn()
    assert len(before.hotspots) > 0, "there must be something to find"
    first, second = by_place(before), by_place(found)
    assert second["road"].tolist() == first["road"].tolist()
    for column in ("from_m", "to_m", *RESULTS):
        np.testing.assert_allclose(second[column], first[column], rtol=tolerance, atol=tolerance, err_msg=column)
    for column in ("from_m", "to_m", "deaths", "expected", "ratio", "ratio_low", "ratio_high", "p_value"):
        np.testing.assert_allclose(found.hotspots[column], before.hotspots[column], rtol=tolerance, err_msg=column)
    assert found.hotspots["road"].tolist() == before.hotspots["road"].tolist()


def reversed_lines(layer):
    return layer.set_geometry(shapely.reverse(layer.geometry.to_numpy()))


def listed_otherwise(layer):
    return layer.sample(frac=1.0, random_state=3).reset_index(drop=True)


def partly_reversed(layer):
    turned = np.random.default_rng(4).random(len(layer)) < 0.5
    shapes = np.where(turned, shapely.reverse(layer.geometry.to_numpy()), layer.geometry.to_numpy())
    return layer.set_geometry(shapes)


def with_a_vertex(layer):
    """Every line with one more vertex, two fifths of the way along it."""
    start, middle, end = (shapely.line_interpolate_point(layer.geometry, at, normalized=True) for at in (0, 0.4, 1))
    points = np.stack([shapely.get_coordinates(list(place)) for place in (start, middle, end)], axis=1)
    return layer.set_geometry(shapely.linestrings(points))


def cut_in_two(layer):
    """Every line of several stretches as two features that meet where two of these do, at a node of degree 2."""
    edges = as_drawn()[0].edges
    n_stretches = np.ceil(edges["length_m"] / 50.0).set_axis(edges["road"]).loc[layer["road"]].to_numpy()
    rows = []
    for road, shape, n in zip(layer["road"], layer.geometry, n_stretches, strict=True):
        at = [0.0, 1.0] if n < 2 else [0.0, np.floor(n / 2) / n, 1.0]
        rows += [(road, shapely.ops.substring(shape, *ends, normalized=True)) for ends in itertools.pairwise(at)]
    assert len(rows) > len(layer) + 10
    return gpd.GeoDataFrame(rows, columns=["road", "geometry"], crs=layer.crs)


@pytest.mark.parametrize(
    "change", [reversed_lines, partly_reversed, listed_otherwise, with_a_vertex], ids=lambda f: f.__name__
)
def test_the_way_streets_are_drawn_changes_nothing(change):
    network = build_network(change(streets()))
    assert_same(search(network, told().on(network)))


@pytest.mark.parametrize(
    ("half_width_m", "tolerance"),
    [
        # Exact paths. Places are kept to a micrometre: a cut moves the ends of the stretches about it by as much.
        pytest.param(30.0, 1e-6, id="paths"),
        # Waves take a broken number of ticks along an edge; a cut makes two such numbers of one: their stated error.
        pytest.param(90.0, 2.5e-3, id="waves"),
    ],
)
def test_a_node_of_degree_two_changes_nothing(half_width_m, tolerance):
    found = []
    for layer in (streets(), cut_in_two(streets())):
        network = build_network(layer)
        kernels = kernel_matrices(network, cut_stretches(network), half_widths_m=(half_width_m,))
        table = stretch_table(network, cut_stretches(network)).sort_values(["road", "from_m"])
        found.append(kernels[0].toarray()[np.ix_(table.index, table.index)])
    np.testing.assert_allclose(found[1], found[0], rtol=0.0, atol=tolerance * found[0].max())


def test_a_street_cut_in_two_has_a_node_of_degree_two_and_the_same_stretches():
    before, after = (cut_stretches(build_network(layer)) for layer in (streets(), cut_in_two(streets())))
    assert len(after.first) > len(before.first) + 10
    np.testing.assert_allclose(np.sort(after.length_m), np.sort(before.length_m), atol=1e-6)


def test_the_order_of_records_changes_nothing():
    network, _ = as_drawn()
    assert_same(search(network, told().on(network).sample(frac=1.0, random_state=5).reset_index(drop=True)))


@pytest.mark.parametrize(
    "crs",
    [
        pytest.param("EPSG:4326", id="degrees"),
        pytest.param("EPSG:32615", id="the next zone of UTM"),
        pytest.param("EPSG:3435", id="state plane in US survey feet"),
        pytest.param("EPSG:3857", id="web Mercator, which stretches metres by a third"),
    ],
)
def test_the_reference_system_and_its_unit_change_nothing_to_a_thousandth(crs):
    network = build_network(streets().to_crs(crs))
    np.testing.assert_allclose(network.edges["length_m"], as_drawn()[0].edges["length_m"], rtol=1e-3)
    found = search(network, told().on(network, metres=1.0 - 1e-9))
    assert_same(found, tolerance=1e-3)


def test_density_and_k_function_in_feet_are_those_in_metres():
    # a density per foot is 0.3048 of one per metre; K is a length
    segments = pd.read_csv(GOLDEN / "chicago_segments.csv", comment="#")
    points = pd.read_csv(GOLDEN / "chicago_points.csv", comment="#")
    length_ft = segments["length"].to_numpy()
    edge = points["seg"].to_numpy() - 1
    offset_ft = points["tp"].to_numpy() * length_ft[edge]
    density, k = [], []
    for unit in (1.0, FOOT_M):
        graph = Graph(segments["from"].to_numpy() - 1, segments["to"].to_numpy() - 1, length_ft * unit)
        place = edge, offset_ft * unit
        density.append(equal_split_density(graph, *place, np.ones(len(edge)), *place, half_width_m=134.0 * unit))
        k.append(k_function(graph, *place, radius_m=np.array([100.0, 200.0, 400.0]) * unit))
    np.testing.assert_allclose(density[0], density[1] * FOOT_M, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(k[0] * FOOT_M, k[1], rtol=1e-9)


@pytest.mark.parametrize("k", [2, 5])
def test_each_record_k_times_at_a_weight_of_one_in_k_leaves_density_and_expected_as_they_are(k):
    network, before = as_drawn()
    table = told().on(network)
    often = pd.concat([table] * k, ignore_index=True)
    often = often.assign(weight=often["weight"] / k, record_id=[f"r{number}" for number in range(len(often))])
    found = search(network, often)
    for column in ("deaths", "density", "expected_density"):
        np.testing.assert_allclose(found.stretches[column], before.stretches[column], rtol=1e-9, atol=1e-9)


def uneven_effort(stretches, *, seed=6):
    return np.random.default_rng(seed).uniform(0.2, 3.0, len(stretches.edge))


@pytest.mark.parametrize("is_by_year", [False, True])
def test_twice_the_effort_everywhere_changes_nothing_but_the_effort(is_by_year):
    network, _ = as_drawn()
    stretches, table = cut_stretches(network), told().on(network)
    effort_km = uneven_effort(stretches)
    if is_by_year:
        by_year = {year: uneven_effort(stretches, seed=year) for year in (2021, 2022, 2023)}
        once, twice = (search(network, table, effort_km={y: f * km for y, km in by_year.items()}) for f in (1.0, 2.0))
    else:
        once, twice = (search(network, table, effort_km=factor * effort_km) for factor in (1.0, 2.0))
    for column in RESULTS:
        np.testing.assert_allclose(twice.stretches[column], once.stretches[column], rtol=1e-9, err_msg=column)
    np.testing.assert_allclose(twice.stretches["effort_km"], 2.0 * once.stretches["effort_km"])
    assert twice.hotspots["ratio"].tolist() == pytest.approx(once.hotspots["ratio"].tolist(), rel=1e-9)


def with_a_far_road(layer):
    """The same streets and 3 km of road 20 km north of them."""
    line = shapely.LineString(np.add([(0.0, 20_000.0), (3000.0, 20_000.0)], CORNER_M))
    far = gpd.GeoDataFrame({"road": ["far road"]}, geometry=[line], crs=layer.crs)
    return pd.concat([layer, far], ignore_index=True)


def near_and_far(effort_km=None):
    """Results without and with the far road, and which stretches of the second are near."""
    wider = build_network(with_a_far_road(streets()))
    is_near = (stretch_table(wider, cut_stretches(wider))["road"] != "far road").to_numpy()
    network, found = as_drawn()
    if effort_km is not None:
        found = search(network, told().on(network), effort_km=effort_km)
        effort_km = np.full(len(is_near), np.nan)
        effort_km[is_near] = found.stretches["effort_km"]
    return found, search(wider, told().on(wider, metres=1.0 - 1e-6), effort_km=effort_km), is_near


def test_a_far_unsearched_road_changes_nothing_where_effort_is_known():
    # lengths change by millionths, as the layer's middle moves with the far road
    effort_km = uneven_effort(cut_stretches(as_drawn()[0]))
    near, wide, is_near = near_and_far(effort_km)
    for column in ("density", "expected_density", "surprise"):
        np.testing.assert_allclose(wide.stretches[column][is_near], near.stretches[column], rtol=1e-3, atol=1e-4)
    assert wide.hotspots["road"].tolist() == near.hotspots["road"].tolist()
    assert wide.stretches["p_value"][~is_near].isna().all()
    assert wide.hotspots["expected"].tolist() == pytest.approx(near.hotspots["expected"].tolist(), rel=1e-3)


def test_a_far_empty_road_never_raises_a_density_where_effort_is_not_known():
    near, wide, is_near = near_and_far()
    slack = 1.0 + 1e-4
    assert (wide.stretches["density"][is_near].to_numpy() <= near.stretches["density"].to_numpy() * slack + 1e-6).all()
    assert (wide.stretches["density"][~is_near] == 0.0).all()
    # the records now have more road to lie on: fewer are expected on each stretch, in proportion
    share = near.stretches.geometry.to_crs(UTM_16N).length.sum() / wide.stretches.geometry.to_crs(UTM_16N).length.sum()
    expected = wide.stretches["expected_density"][is_near].to_numpy() / near.stretches["expected_density"].to_numpy()
    np.testing.assert_allclose(expected, share, rtol=1e-3)
