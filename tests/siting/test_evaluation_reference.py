"""Towards what rates before are drawn: known slopes come back, and too little to learn from is said."""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats
from simulators.measures import simulate_study

from roadwatch.errors import NotEnoughDataError
from roadwatch.siting.evaluation_controls import Features
from roadwatch.siting.evaluation_reference import fit_reference, reference_words
from roadwatch.siting.evaluation_regression import Sections, before_rates

N = 400


def traits(traffic, water=None):
    n = len(traffic)
    water = np.zeros(n) if water is None else np.asarray(water, dtype=float)
    return Features(np.full(n, np.nan), np.full(n, "road", dtype=object), np.asarray(traffic, dtype=float), water)


def county(rng, *, slope, at_water=0.0, shape=None):
    """Deaths of sections whose log rate goes with that of the traffic by a slope, and is higher at water."""
    busy, water, km = rng.standard_normal(N), (rng.random(N) < 0.3).astype(float), rng.uniform(5.0, 20.0, N)
    mean = 0.3 * km * np.exp(slope * busy + at_water * water)
    if shape is not None:
        mean = mean * rng.gamma(shape, 1.0 / shape, N)
    return rng.poisson(mean).astype(float), km, traits(1000.0 * np.exp(busy), water)


def test_counts_without_extra_spread_give_the_slopes_of_a_poisson_model_of_statsmodels():
    rng = np.random.default_rng(1)
    deaths, km, features = county(rng, slope=0.5, at_water=0.7)
    found = fit_reference(deaths, km, features)
    design = sm.add_constant(np.column_stack([np.log(features.traffic), features.near_water]))
    fit = sm.GLM(deaths, design, family=sm.families.Poisson(), offset=np.log(km)).fit()
    assert found.traits == ("traffic", "nearness to water")
    assert found.slope == pytest.approx(fit.params[1:], abs=0.02)


def test_counts_with_extra_spread_give_the_slopes_of_a_negative_binomial_model_of_statsmodels():
    deaths, km, features = county(np.random.default_rng(7), slope=0.5, at_water=0.7, shape=0.8)
    design = sm.add_constant(np.column_stack([np.log(features.traffic), features.near_water]))
    plain = sm.GLM(deaths, design, family=sm.families.Poisson(), offset=np.log(km)).fit().fittedvalues
    dispersion = ((deaths - plain) ** 2 - deaths).sum() / (plain**2).sum()  # by the moments about the Poisson model
    assert dispersion > 0.3
    family = sm.families.NegativeBinomial(alpha=dispersion)
    fit = sm.GLM(deaths, design, family=family, offset=np.log(km)).fit()
    assert fit_reference(deaths, km, features).slope == pytest.approx(fit.params[1:], abs=0.02)


@pytest.mark.parametrize("shape", [None, 1.0])
def test_true_slopes_lie_within_four_standard_errors(shape):
    found = np.array(
        [
            fit_reference(*county(np.random.default_rng(seed), slope=0.5, at_water=0.7, shape=shape)).slope
            for seed in range(12)
        ]
    )
    error = found.std(axis=0, ddof=1) / np.sqrt(len(found))
    assert (np.abs(found.mean(axis=0) - [0.5, 0.7]) < 4 * error).all()


def test_like_is_one_at_mean_traits_and_grows_by_the_slope():
    deaths, km, features = county(np.random.default_rng(2), slope=0.5)
    found = fit_reference(deaths, km, features)
    middle = np.exp(found.middle[0])
    like = found.like(traits([middle, middle * np.e], np.full(2, found.middle[1])))
    assert like == pytest.approx([1.0, np.exp(found.slope[0])])


def test_unknown_traffic_of_a_section_is_taken_as_the_mean():
    deaths, km, features = county(np.random.default_rng(3), slope=0.5)
    found = fit_reference(deaths, km, features)
    assert found.like(traits([np.nan], [found.middle[1]])) == pytest.approx([1.0])


@pytest.mark.parametrize("deaths", [0, 9])
def test_fewer_than_ten_deaths_teach_nothing(deaths):
    counts = np.zeros(50)
    counts[:deaths] = 1.0
    found = fit_reference(counts, np.ones(50), traits(np.arange(1.0, 51.0)))
    assert found.traits == ()
    assert found.like(traits([1.0, 50.0])).tolist() == [1.0, 1.0]
    assert "towards the county's mean" in reference_words(found)


def test_fifteen_deaths_teach_one_trait_and_twenty_two():
    water = np.arange(50) % 2
    for deaths, names in ((15, ("traffic",)), (20, ("traffic", "nearness to water"))):
        counts = np.zeros(50)
        counts[:deaths] = 1.0
        assert fit_reference(counts, np.ones(50), traits(np.arange(1.0, 51.0), water)).traits == names


def test_traffic_known_on_less_than_half_or_the_same_everywhere_is_not_used():
    counts, km = np.ones(60), np.ones(60)
    some = np.where(np.arange(60) < 29, np.arange(1.0, 61.0), np.nan)
    assert fit_reference(counts, km, traits(some)).traits == ()
    assert fit_reference(counts, km, traits(np.full(60, 800.0))).traits == ()
    assert fit_reference(counts, km, traits(np.full(60, np.nan))).traits == ()


def test_the_words_name_what_is_used():
    deaths, km, features = county(np.random.default_rng(4), slope=0.5)
    assert "alike in traffic and nearness to water" in reference_words(fit_reference(deaths, km, features))


def test_a_section_is_drawn_towards_sections_like_it_and_not_towards_the_mean():
    # One gamma for what traits do not explain is left to the fitted prior; only the direction is certain: a busy
    # section with the count that its traffic lets expect keeps it, drawn to the county's mean it would lose some.
    deaths, km, features = county(np.random.default_rng(5), slope=0.9)
    plain = Sections(deaths, km, deaths, km)
    alike = plain.alike(fit_reference(deaths, km, features).like(features))
    busiest = np.argsort(-features.traffic)[:20]
    kept = before_rates(alike).expected(alike)[busiest].sum()
    to_mean = before_rates(plain).expected(plain)[busiest].sum()
    truth = float((0.3 * km * np.exp(0.9 * np.log(features.traffic / 1000.0)))[busiest].sum())
    assert abs(kept - truth) < abs(to_mean - truth)
    assert stats.poisson.ppf(0.001, truth) <= kept <= stats.poisson.ppf(0.999, truth)


@pytest.mark.parametrize("deaths", [20, 400])
def test_deaths_at_water_alone_do_not_make_dry_road_impossible(deaths):
    # a model without a bound would give dry road a rate of nothing, and a warning of its own
    water = np.arange(80) % 2
    counts = np.where(water == 1, deaths / 40.0, 0.0)
    found = fit_reference(counts, np.ones(80), traits(np.full(80, np.nan), water))
    wet, dry = found.like(traits([np.nan, np.nan], [1.0, 0.0]))
    assert 1 / 20 <= dry < 0.2
    assert 1.0 < wet <= 20.0


@pytest.mark.parametrize("busiest", [0, 1, 40])
def test_one_section_with_all_deaths_is_fitted_without_complaint(busiest):
    counts = np.zeros(80)
    counts[busiest] = 60.0
    like = fit_reference(counts, np.ones(80), traits(np.geomspace(100.0, 9000.0, 80))).like(traits([100.0, 9000.0]))
    assert np.isfinite(like).all()
    assert (like > 0.0).all()


def test_taking_and_joining_sections_keeps_what_is_like_them():
    one = Sections(*(np.array([1.0, 2.0, 3.0]) for _ in range(4))).alike(np.array([1.0, 2.0, 4.0]))
    assert one.take(np.array([2, 0])).like.tolist() == [4.0, 1.0]
    assert one.usual_km().tolist() == [1.0, 4.0, 12.0]
    assert one.joined(one).like.tolist() == [1.0, 2.0, 4.0, 1.0, 2.0, 4.0]
    assert Sections(*(np.ones(1) for _ in range(4))).joined(one).like is None


@pytest.fixture(scope="module")
def explained_by_traffic():
    """100 studies of a measure that lowers deaths to .4, built where most were found, with traffic telling much."""
    rng, studies = np.random.default_rng(15), []
    while len(studies) < 100:
        try:
            studies.append(simulate_study(rng, effect=0.4, chosen_by="count", shape=3.0, explained=0.8))
        except NotEnoughDataError:
            continue
    return studies


def test_drawn_towards_like_places_the_interval_holds_the_truth_in_95_of_100(explained_by_traffic):
    held = sum(study.corrected.low <= 0.4 <= study.corrected.high for study in explained_by_traffic)
    assert held >= stats.binom.ppf(0.001, len(explained_by_traffic), 0.95)


def test_drawn_towards_like_places_a_lucky_count_misleads_less_than_drawn_to_the_county_mean(explained_by_traffic):
    alike = np.median([study.corrected.ratio for study in explained_by_traffic])
    to_mean = np.median([study.to_county_mean.ratio for study in explained_by_traffic])
    assert abs(np.log(alike / 0.4)) < abs(np.log(to_mean / 0.4))
    assert to_mean < alike
