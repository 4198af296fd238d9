"""
Simulated counties with known hotspots or none: the full chain from faulty records to the table.

A small share of what tests/benchmarks/bench_hotspots_truth.py measures on 200 counties a case; limits are binomial.
"""

import numpy as np
import pytest
from scipy import stats
from simulators import pipeline, reference
from simulators.county import make_land, simulate
from simulators.scoring import score, stretches_of

N_NULL, N_HOT = 15, 6


@pytest.fixture(scope="module")
def lands():
    return [make_land(number) for number in (0, 1)]


def searched(lands, seed, *, beyond, n_draws=99, **options):
    county = simulate(lands[seed % 2], seed, **options)
    return county, pipeline.search(county, beyond=beyond, n_draws=n_draws, seed=seed)


def test_counties_without_a_hotspot_alarm_no_more_often_than_they_may(lands):
    # doubles, wrong names and far-off places are in the records; 5 % alarms are allowed, 8.5 % is the aim over 200
    alarms = 0
    for seed in range(N_NULL):
        for follows_traffic, beyond in ((False, "search"), (True, "traffic")):
            _, found = searched(lands, 1000 + seed, beyond=beyond, follows_traffic=follows_traffic)
            alarms += not found.hotspots.empty
    assert alarms <= stats.binom.ppf(0.999, 2 * N_NULL, 0.085)


def test_planted_hotspots_are_found_no_worse_than_by_a_plain_pipeline(lands):
    mine, plain, found_m, right_m = [], [], 0.0, 0.0
    for seed in range(N_HOT):
        county, found = searched(lands, 2000 + seed, beyond="search", n_hot=4, follows_traffic=False)
        land = county.land
        marked = stretches_of(land, found.hotspots)
        mine.append(score(land, county.hot, marked, county.rate, found.null.surprise))
        offset = np.nansum(list(county.effort_km.values()), axis=0)
        marked, surprise = reference.find(land, county.records, offset, n_draws=99, seed=seed)
        plain.append(score(land, county.hot, marked.astype(float), county.rate, surprise))
        found_m, right_m = found_m + mine[-1]["found_m"], right_m + mine[-1]["right_m"]
    assert right_m / found_m >= 0.9
    for measure in ("power", "recall"):
        less = [one[measure] - other[measure] for one, other in zip(mine, plain, strict=True)]
        assert np.mean(less) >= -3 * np.std(less, ddof=1) / np.sqrt(N_HOT) - 0.02
    assert np.mean([one["power"] for one in mine]) >= 0.5


def test_one_year_decoys_are_called_one_season(lands):
    labelled = []
    for seed in range(5):
        _, found = searched(lands, 3000 + seed, beyond="search", decoys=4, follows_traffic=False)
        labelled += found.hotspots["one_season"].tolist()
    assert len(labelled) >= 6
    assert sum(labelled) >= stats.binom.ppf(0.01, len(labelled), 0.8)


def test_a_simulated_county_is_the_same_for_the_same_seed(lands):
    one, other = (simulate(lands[0], 7, n_hot=4) for _ in range(2))
    assert one.records.equals(other.records)
    assert not simulate(lands[0], 8, n_hot=4).records.equals(one.records)


def test_the_simulator_plants_what_it_says(lands):
    county = simulate(lands[0], 5, n=4000, n_hot=4, follows_traffic=False)
    first = county.records.drop_duplicates("carcass")
    n, doubled = len(first), len(county.records) - len(first)
    assert doubled / len(county.records) == pytest.approx(0.06, abs=4 * np.sqrt(0.06 * 0.94 / n))
    hot = county.hot.any(axis=0)
    length_m = lands[0].stretches.length_m
    assert ((county.hot @ length_m >= 240) & (county.hot @ length_m <= 850)).all()
    km = np.nansum(list(county.effort_km.values()), axis=0)
    expected = 0.9 * (60 * km[hot].sum()) / (60 * km[hot].sum() + km[~hot].sum()) + 0.1 * km[hot].sum() / km.sum()
    share = hot[first["stretch"]].mean()
    assert share == pytest.approx(expected, abs=5 * np.sqrt(expected * (1 - expected) / n))
