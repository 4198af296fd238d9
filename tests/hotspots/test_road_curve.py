"""Density along the road of a hotspot, against hand computation, the binomial law, and its own band under chance."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from roadwatch.errors import UsageError
from roadwatch.hotspots.road_curve import road_curves
from roadwatch.hotspots.search import find_hotspots
from roadwatch.roads.stretches import cut_stretches


def place(road="Long Road", from_m=2900.0, to_m=3100.0):
    """What ``find_hotspots`` would hand on of one hotspot."""
    hotspot = {"road": road, "road_part": 0, "from_m": from_m, "to_m": to_m}
    return SimpleNamespace(hotspots=pd.DataFrame([hotspot]))


def curve(found, network, table, *, seed=1, effort_km=None, **options):
    stretches = cut_stretches(network)
    rng = np.random.default_rng(seed)
    (one,) = road_curves(found, network, stretches, table, effort_km=effort_km, rng=rng, **options)
    return one


@pytest.fixture
def heap(straight_road, records):
    """Forty records in the middle of stretch 60 of 120 on a road of nearly 6 km."""
    network = straight_road(5990.0)
    return network, records(cut_stretches(network), [60] * 40)


def step_m(network):
    """Length of each of the 120 stretches; about 49.94 m, as the network measures on the ground, not on the grid."""
    return network.edges["length_m"].sum() / 120


def test_a_heap_of_records_has_the_shape_of_the_kernel_by_hand(heap):
    # Epanechnikov over six stretches either way: 0.75 (1 - (j / 6)^2) / 6 a stretch, which adds up to
    # 0.125 (11 - 2 x 55 / 36) = 0.993056 instead of 1 and is made 1: 0.125 / 0.993056 = 0.125874 at the heap
    step = step_m(heap[0])
    one = curve(place(), *heap, half_width_m=6 * step)
    steps_apart = np.round((one.road_m - 60.5 * step) / step)
    by_hand = 40 * 0.125 * np.clip(1.0 - (steps_apart / 6) ** 2, 0.0, None) / 0.9930555556 / (step / 1000.0)
    np.testing.assert_allclose(one.density, by_hand, atol=1e-6)
    assert one.density.max() * step / 1000.0 / 40 == pytest.approx(0.125874, abs=1e-6)


def test_what_is_expected_is_even_where_nothing_is_known_of_search(heap):
    # 40 records over the length of the road, 6.67 per kilometre, as dead ends reflect
    one = curve(place(), *heap)
    np.testing.assert_allclose(one.expected, 1000.0 * 40 / heap[0].edges["length_m"].sum(), rtol=1e-9)
    assert (one.band_low <= one.expected).all()
    assert (one.expected <= one.band_high).all()


def test_a_curve_shows_so_much_road_beside_the_hotspot_and_runs_along_the_road(heap):
    # from metre 2405 to 3595 lie the middles of stretches 48 to 71: 48.5 x 49.94 = 2422, 71.5 x 49.94 = 3571
    one = curve(place(from_m=2905.0, to_m=3095.0), *heap, beside_m=500.0)
    np.testing.assert_allclose(one.road_m, (np.arange(48, 72) + 0.5) * step_m(heap[0]), atol=1e-6)
    assert (one.road, one.road_part, one.from_m, one.to_m) == ("Long Road", 0, 2905.0, 3095.0)
    assert (one.half_width_m, one.n_draws) == (300.0, 199)
    assert {len(values) for values in (one.density, one.expected, one.band_low, one.band_high)} == {24}


def test_the_curve_ends_where_the_road_ends(heap):
    one = curve(place(from_m=100.0, to_m=300.0), *heap, beside_m=1000.0)
    assert one.road_m[0] == pytest.approx(0.5 * step_m(heap[0]))
    assert len(one.road_m) == 26, "25.5 x 49.94 = 1273 m is the last middle before metre 1300"


def test_the_band_is_that_of_the_binomial_law_on_two_roads_of_one_stretch(roads, records):
    # two roads of 40 m, far apart, searched 3 : 1; the first holds a binomial number of the 60 records
    network = roads({"Near Road": [(0.0, 0.0), (40.0, 0.0)], "Far Road": [(9000.0, 0.0), (9040.0, 0.0)]})
    table = records(cut_stretches(network), [0] * 45 + [1] * 15)
    asked = {"effort_km": np.array([3.0, 1.0]), "n_draws": 3999}
    near, far = (curve(place(road, 0.0, 40.0), network, table, **asked) for road in ("Near Road", "Far Road"))
    road_km = network.edges["length_m"].to_numpy() / 1000.0
    law = stats.binom(60, 0.75)
    assert near.density[0] * road_km[0] == pytest.approx(45)
    assert near.expected[0] * road_km[0] == pytest.approx(45)
    assert near.band_low[0] * road_km[0] == pytest.approx(law.ppf(0.025), abs=1.001)
    assert near.band_high[0] * road_km[0] == pytest.approx(law.ppf(0.975), abs=1.001)
    assert (near.band_low + far.band_high)[0] * road_km[0] == pytest.approx(60, abs=1e-3)


def test_where_there_is_only_one_place_chance_has_no_choice(roads, records):
    # five records on a road of one stretch: five over its length, however they are scattered
    network = roads({"Lane": [(0.0, 0.0), (40.0, 0.0)]})
    one = curve(place("Lane", 0.0, 40.0), network, records(cut_stretches(network), [0] * 5))
    told = [one.density[0], one.expected[0], one.band_low[0], one.band_high[0]]
    assert told == pytest.approx([5000.0 / network.edges["length_m"].iloc[0]] * 4)


def test_the_band_holds_an_even_map_at_one_place_as_often_as_it_says(straight_road, records):
    # at one place chosen beforehand 5 % of even maps lie outside, and no more than the binomial bound of 200 allows;
    # weights that differ keep ties, which would only make it rarer, away
    network = straight_road(2990.0)
    stretches = cut_stretches(network)
    rng = np.random.default_rng(11)
    outside = 0
    for seed in range(200):
        table = records(stretches, rng.integers(60, size=60), weight=rng.uniform(0.5, 1.0, 60))
        found = place(from_m=1490.0, to_m=1500.0)
        one = curve(found, network, table, seed=seed, n_draws=79, beside_m=30.0, half_width_m=600.0)  # one stretch
        outside += not one.band_low[0] <= one.density[0] <= one.band_high[0]
    low, high = stats.binom(200, 0.05).ppf([0.025, 0.975])
    assert low <= outside <= high


def test_a_planted_hotspot_rises_above_the_band_and_far_road_stays_within(straight_road, records):
    network = straight_road(5990.0)
    even = np.random.default_rng(4).integers(120, size=60)
    table = records(cut_stretches(network), [*even, *[60] * 15])
    one = curve(place(), network, table)
    at = np.argmin(np.abs(one.road_m - 3025.0))
    assert one.density[at] > one.band_high[at]
    far = np.abs(one.road_m - 3025.0) > 700.0
    assert (one.density[far] <= one.band_high[far]).mean() > 0.8


def test_road_never_searched_has_nothing_expected_and_no_band(straight_road, records):
    network = straight_road(5990.0)
    stretches = cut_stretches(network)
    effort_km = np.where(np.arange(120) < 66, 2.0, np.nan)
    one = curve(place(), network, records(stretches, [60] * 40), effort_km=effort_km)
    is_unknown = one.road_m > 66 * step_m(network)
    assert is_unknown.any()
    for values in (one.expected, one.band_low, one.band_high):
        np.testing.assert_array_equal(np.isnan(values), is_unknown)
    assert np.isfinite(one.density).all()


@pytest.fixture
def searched(county, records):
    """A county with a heap at a crossroads, searched unevenly, with an exposure, and what was found in it."""
    network = county(5, 1000.0)
    stretches = cut_stretches(network)
    rng = np.random.default_rng(3)
    at = int(stretches.of_place(np.array([8]), np.array([990.0]))[0])
    table = records(stretches, [*rng.integers(len(stretches.edge), size=60), *[at] * 15])
    asked = {
        "effort_km": rng.uniform(0.5, 5.0, len(stretches.edge)),
        "exposure": rng.uniform(1.0, 2.0, len(stretches.edge)),
        "beyond": "exposure",
        "half_width_m": 200.0,
    }
    found = find_hotspots(network, stretches, table, rng=np.random.default_rng(5), n_draws=199, **asked)
    assert not found.hotspots.empty
    return found, network, stretches, table, asked


def test_curves_tell_the_densities_of_the_stretches_and_stand_in_the_order_of_the_hotspots(searched):
    found, network, stretches, table, asked = searched
    curves = road_curves(found, network, stretches, table, rng=np.random.default_rng(1), **asked)
    assert len(curves) == len(found.hotspots)
    told = found.stretches.assign(middle_m=(found.stretches["from_m"] + found.stretches["to_m"]) / 2)
    for one, (_, hotspot) in zip(curves, found.hotspots.iterrows(), strict=True):
        assert (one.road, one.from_m, one.to_m) == (hotspot["road"], hotspot["from_m"], hotspot["to_m"])
        own = told[told["road"] == one.road].set_index("middle_m").loc[one.road_m]
        np.testing.assert_allclose(one.density, own["density"], rtol=1e-9, atol=1e-9)
        np.testing.assert_allclose(one.expected, own["expected_density"], rtol=1e-9)
        assert (np.diff(one.road_m) > 0).all()


def test_the_same_seed_gives_the_same_band_and_the_order_of_records_does_not_matter(searched):
    found, network, stretches, table, asked = searched
    shuffled = table.sample(frac=1.0, random_state=2).reset_index(drop=True)
    first, again = (
        road_curves(found, network, stretches, one, rng=np.random.default_rng(1), **asked) for one in (table, shuffled)
    )
    for one, other in zip(first, again, strict=True):
        np.testing.assert_array_equal(one.band_low, other.band_low)
        np.testing.assert_array_equal(one.band_high, other.band_high)


def test_without_hotspots_there_is_no_curve(heap):
    network, table = heap
    none = SimpleNamespace(hotspots=place().hotspots.iloc[:0])
    rng = np.random.default_rng(1)
    assert road_curves(none, network, cut_stretches(network), table, effort_km=None, rng=rng) == ()


def test_too_few_scatterings_for_a_band_are_refused(heap):
    with pytest.raises(UsageError, match="38 draws cannot show a band of 95 %; ask for at least 39"):
        curve(place(), *heap, n_draws=38)
