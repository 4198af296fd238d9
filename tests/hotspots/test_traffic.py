"""The traffic curve against statsmodels, its standard error as a statistic, and that no block judges itself."""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.traffic import (
    fill_traffic,
    fit_curve,
    road_classes,
    spatial_blocks,
    traffic_baseline,
)


@pytest.fixture
def sections():
    """sections(n, slope=..., even=...): deaths, exposure, log traffic and length of n sections of 500 m."""

    def make(n=800, *, slope=0.5, even=4.0, mean=0.4, seed=1):
        rng = np.random.default_rng(seed)
        log_traffic = rng.normal(0.0, 1.0, n)
        exposure = rng.uniform(0.5, 2.0, n)
        shape = even * 0.5
        rate = rng.gamma(shape, 1.0 / shape, n) * mean * exposure * np.exp(slope * log_traffic)
        return rng.poisson(rate).astype(float), exposure, log_traffic, np.full(n, 0.5)

    return make


@pytest.mark.parametrize("seed", range(3))
def test_the_curve_is_that_of_a_negative_binomial_regression(sections, seed):
    # statsmodels NB2, variance m + alpha m^2: alpha = 1 / (even x km); the weak prior on the slope moves it little
    deaths, exposure, log_traffic, length_km = sections(seed=seed)
    design = sm.add_constant(log_traffic)
    fitted = sm.NegativeBinomial(deaths, design, exposure=exposure).fit(disp=0)
    curve = fit_curve(deaths, exposure, log_traffic, length_km)
    assert curve.level == pytest.approx(fitted.params[0], abs=0.02)
    assert curve.slope == pytest.approx(fitted.params[1], abs=0.02)
    assert 1.0 / (curve.even * 0.5) == pytest.approx(fitted.params[2], rel=0.05)
    assert curve.slope_se == pytest.approx(fitted.bse[1], rel=0.15)


def test_the_standard_error_holds_the_slope_as_often_as_it_says(sections):
    held = 0
    for seed in range(200):
        curve = fit_curve(*sections(300, mean=0.3, seed=100 + seed))
        held += abs(curve.slope - 0.5) <= 1.96 * curve.slope_se
    assert stats.binom.ppf(0.001, 200, 0.90) <= held


def test_few_deaths_leave_the_slope_near_nothing_and_unsure(sections):
    _, exposure, log_traffic, length_km = sections(40)
    curve = fit_curve(np.zeros(40), exposure, log_traffic, length_km)
    assert abs(curve.slope) < 0.2
    assert curve.slope_se > 0.5


def test_unknown_traffic_is_the_middle_value_of_its_kind_by_length():
    traffic = np.array([100.0, 300.0, 900.0, np.nan, np.nan, 0.0])
    kind = np.array(["lane", "lane", "main", "lane", "main", "track"], dtype=object)
    length_m = np.array([10.0, 30.0, 40.0, 10.0, 10.0, 5.0])
    filled, share = fill_traffic(traffic, road_class=kind, length_m=length_m)
    assert filled.tolist() == [100.0, 300.0, 900.0, 300.0, 900.0, 300.0]  # no track is known: the middle of all
    assert share == pytest.approx(25 / 105)


def test_traffic_unknown_on_more_than_half_the_road_is_refused():
    with pytest.raises(NotEnoughDataError, match="traffic is not known on 60% of the road length, at most 50%"):
        fill_traffic(np.array([1.0, np.nan]), road_class=np.array(["a", "a"]), length_m=np.array([40.0, 60.0]))


def test_six_blocks_hold_a_sixth_of_the_road_each():
    rng = np.random.default_rng(2)
    x_m, y_m = rng.uniform(0, 20_000, (2, 6000))
    length_m = rng.uniform(20, 50, 6000)
    block = spatial_blocks(x_m, y_m, length_m)
    assert np.bincount(block, length_m) / length_m.sum() == pytest.approx(np.full(6, 1 / 6), abs=0.002)
    for number in (0, 1):
        assert x_m[block == number].max() < x_m[block >= 2].min()
    assert y_m[block == 0].max() < y_m[block == 1].min()


def test_blocks_do_not_depend_on_the_order_of_stretches():
    rng = np.random.default_rng(2)
    x_m, y_m, length_m = rng.uniform(1, 50, (3, 500))
    order = rng.permutation(500)
    assert (spatial_blocks(x_m, y_m, length_m)[order] == spatial_blocks(x_m[order], y_m[order], length_m[order])).all()


@pytest.fixture
def county_deaths():
    """county_deaths(): arguments of traffic_baseline for 3,000 stretches of 50 m in an invented county."""

    def make(seed=1):
        rng = np.random.default_rng(seed)
        n = 3000
        traffic = np.exp(rng.normal(7.0, 1.0, n // 10)).repeat(10)
        exposure = rng.uniform(0.5, 1.5, n) * 0.05
        x_m, y_m = rng.uniform(0, 20_000, (2, n // 10)).repeat(10, axis=1)
        deaths = rng.poisson(exposure * (traffic / np.exp(7.0)) ** 0.6).astype(float)
        options = {"traffic": traffic, "road_class": np.full(n, "road", dtype=object), "length_m": np.full(n, 50.0)}
        return deaths, exposure, options | {"section": np.arange(n) // 10, "x_m": x_m, "y_m": y_m}

    return make


def test_what_traffic_explains_in_a_block_does_not_depend_on_the_deaths_there(county_deaths):
    deaths, exposure, options = county_deaths()
    first = traffic_baseline(deaths, exposure, **options)
    block = spatial_blocks(options["x_m"], options["y_m"], options["length_m"])
    here = block == 4
    second = traffic_baseline(np.where(here, deaths * 5, deaths), exposure, **options)
    assert second.factor[here].tolist() == first.factor[here].tolist()
    assert (second.factor[~here] != first.factor[~here]).any()


def test_the_baseline_follows_traffic_and_says_how_surely(county_deaths):
    deaths, exposure, options = county_deaths()
    made = traffic_baseline(deaths, exposure, **options)
    assert len(made.curves) == 6
    assert np.mean([curve.slope for curve in made.curves]) == pytest.approx(0.6, abs=0.3)
    busy, quiet = options["traffic"].argmax(), options["traffic"].argmin()
    assert made.factor[busy] > 1.0 > made.factor[quiet]
    assert made.tilt[busy] > 0.0 > made.tilt[quiet]
    assert made.imputed_share == 0.0
    assert made.notes[0].startswith("Traffic: deaths grow with vehicles a day to the power")


def test_the_share_filled_in_is_said(county_deaths):
    deaths, exposure, options = county_deaths()
    options["traffic"][:600] = np.nan
    made = traffic_baseline(deaths, exposure, **options)
    assert made.notes[1] == "Traffic was not known on 20% of the road length and filled in by kind of road."


def test_the_kind_of_road_is_its_class_or_else_its_speed_limit(roads):
    lines = {"A": [(0, 0), (100, 0)], "B": [(0, 50), (100, 50)], "C": [(0, 90), (100, 90)]}
    edges = roads(lines, speed_limit=[45.0, 45.0, 30.0], divided=[True, None, None]).edges
    by_name = dict(zip(edges["road"], road_classes(edges), strict=True))
    assert by_name == {"A": "45 mph, divided", "B": "45 mph", "C": "30 mph"}
    named = road_classes(edges.assign(road_class=["main", None, "lane"]))
    assert named.tolist()[0::2] == ["main", "lane"]
