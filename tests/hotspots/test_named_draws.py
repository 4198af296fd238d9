"""Sets of drawn names: they take hotspots away and widen what is told, and never add a false alarm."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from roadwatch.hotspots.named_draws import NamedDraws, pooled_interval
from roadwatch.hotspots.search import find_hotspots
from roadwatch.hotspots.shrinkage import gamma_prior, posterior_ratio
from roadwatch.roads.stretches import cut_stretches, stretch_table

RUN = SimpleNamespace(marked=np.array([0, 1]), stretch=np.array([0, 1]))


def draws(*by_set, marked=None):
    """Sets with so many animals of the taxon on stretch 1, and one on stretch 5."""
    weight = np.array([[float(n), 1.0] for n in by_set])
    shown = np.zeros((len(by_set), 6), dtype=bool) if marked is None else np.array(marked, dtype=bool)
    return NamedDraws(weight, shown, np.array([1, 5]))


def test_deaths_are_pooled_by_rubins_rules():
    # five sets with counts 2, 3, 2, 1, 3, each with variance equal to itself: mean 2.2, within 2.2, between .70,
    # total 2.2 + 1.2 x .70 = 3.04 (by hand from Rubin 1987)
    pooled = draws(2, 3, 2, 1, 3).deaths_in(RUN)
    assert (pooled.mean, pooled.within, pooled.between) == pytest.approx((2.2, 2.2, 0.7))
    assert pooled.total == pytest.approx(3.04)


def test_support_is_the_share_of_sets_in_which_any_of_the_place_stands():
    found = draws(1, 1, 1, 1, marked=[[1, 0, 0, 0, 0, 0], [0, 1, 0, 0, 0, 0], [0, 0, 1, 0, 0, 0], [0] * 6])
    assert found.support(RUN) == 0.5
    assert found.support_by_stretch().tolist() == [0.25, 0.25, 0.25, 0.0, 0.0, 0.0]


def test_where_sets_agree_the_ratio_is_that_of_one_count():
    prior = gamma_prior(2.0, 2.0)
    found = draws(*[7] * 20).ratio_in(RUN, 1.5, prior=prior, rng=np.random.default_rng(1))
    one = posterior_ratio(7.0, 1.5, prior=prior)
    assert found.mean == pytest.approx(one.mean)
    assert (found.low, found.high) == pytest.approx((one.low, one.high), rel=0.05)


def test_where_sets_differ_the_ratio_is_less_certain():
    rng, prior = np.random.default_rng(1), gamma_prior(2.0, 2.0)
    same, apart = (draws(*n).ratio_in(RUN, 1.5, prior=prior, rng=rng) for n in ([7] * 20, [2, 12] * 10))
    assert apart.high - apart.low > same.high - same.low


def test_an_interval_without_doubt_about_names_is_that_of_a_poisson_count():
    # exact limits of a count of 5: 1.6235 to 11.6683 (Garwood 1936, by scipy's chi-squared)
    low, high = pooled_interval(5.0, 5.0)
    assert (low, high) == pytest.approx((stats.chi2.ppf(0.025, 10) / 2, stats.chi2.ppf(0.975, 12) / 2))
    assert (low, high) == pytest.approx((1.623486, 11.668332), abs=1e-5)


@pytest.mark.parametrize("mean", [0.4, 2.2, 30.0])
def test_doubt_about_names_widens_an_interval(mean):
    narrow, wide = pooled_interval(mean, mean), pooled_interval(mean, 1.5 * mean)
    assert wide[0] < narrow[0]
    assert wide[1] > narrow[1]


def test_nothing_counted_has_no_lower_limit():
    assert pooled_interval(0.0, 0.0)[0] == 0.0


@pytest.fixture
def searched(county, records):
    """searched(p at the hot place, deaths there): hotspots of a taxon on an invented county, and the sets drawn."""

    def make(p_hot, n_hot, *, sets_with=None, seed=1, n_draws=99):
        network = county(6, 1000.0)
        stretches = cut_stretches(network)
        table = stretch_table(network, stretches)
        hot = np.flatnonzero((table["road"] == "East 2") & table["from_m"].between(2200, 2400))
        background = np.arange(7, len(table), 20)
        p = np.r_[np.full(n_hot, p_hot), np.ones(len(background))]
        made = records(stretches, np.r_[np.resize(hot, n_hot), background], weight=p, identity=p)
        rng = np.random.default_rng(seed)
        is_of = rng.random((20, len(p))) < p
        if sets_with is not None:
            is_of[:, :n_hot] = np.arange(20)[:, None] < sets_with
        return find_hotspots(network, stretches, made, effort_km=None, n_draws=n_draws, rng=rng, is_of=is_of).hotspots

    return make


def test_a_hotspot_of_sure_names_has_full_support(searched):
    top = searched(1.0, 14).iloc[0]
    assert (top["support"], top["status"]) == (1.0, "confirmed")


@pytest.mark.parametrize(("sets_with", "status"), [(9, "provisional"), (10, "confirmed"), (20, "confirmed")])
def test_a_hotspot_that_stands_in_fewer_than_half_of_the_sets_is_provisional(searched, sets_with, status):
    top = searched(0.5, 20, sets_with=sets_with).iloc[0]
    assert (top["road"], top["support"], top["status"]) == ("East 2", sets_with / 20, status)


def test_the_deaths_of_a_hotspot_are_less_certain_where_sets_differ(searched):
    apart, alike = (searched(0.5, 20, sets_with=n).iloc[0] for n in (10, 20))
    assert apart["deaths"] == pytest.approx(alike["deaths"])
    assert apart["deaths_high"] > alike["deaths_high"]


def test_counties_without_a_hotspot_of_the_taxon_alarm_no_more_often_than_they_may(county, records):
    # names drawn by their probability on records scattered evenly: confirmed in no more than 5 % of maps
    network = county(6, 1000.0)
    stretches = cut_stretches(network)
    n_maps, alarms = 60, 0
    for seed in range(n_maps):
        rng = np.random.default_rng([77, seed])
        chance = stretches.length_m / stretches.length_m.sum()
        p = rng.choice([0.2, 0.5, 0.8, 0.95], 100)
        made = records(stretches, rng.choice(len(chance), 100, p=chance), weight=p, identity=p)
        is_of = rng.random((20, 100)) < p
        found = find_hotspots(network, stretches, made, effort_km=None, n_draws=99, rng=rng, is_of=is_of)
        alarms += bool((found.hotspots["status"] == "confirmed").any())
    assert alarms <= stats.binom.ppf(0.999, n_maps, 0.05)
