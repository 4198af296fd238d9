"""
Precision, recall and calibration against the known truth of simulated seasons.

The simulator shares no number with the program. Limits come from the binomial distribution; the full run of 200
seasons is kept beside the benchmark of doubles.
"""

from functools import cache

import numpy as np
import pytest
from scipy.stats import binom, binomtest
from simulators.carcasses import World, simulate

from roadwatch.records.doubles import propose_doubles

WORLDS = {
    "usual": World(),
    "exported again": World(exported_again=True),
    "busy culverts": World(at_culverts=0.9, culverts=3),
    "carcasses that last": World(median_days=6.0),
    "few doubles": World(found_by_chance=0.01, searchers=2, recorded_again=0.0, deaths=1500, at_culverts=0.7),
}
SEASONS = 12


@cache
def outcome(name):
    """Probability and truth of every pair, and which pairs were merged, over some seasons."""
    parts, n_true, counts = [], 0, np.zeros(3)
    for seed in np.random.SeedSequence([20260101, list(WORLDS).index(name)]).spawn(SEASONS):
        season = simulate(np.random.default_rng(seed), WORLDS[name])
        found = propose_doubles(season.records, season.x_m, season.y_m, edge=season.edge, offset_m=season.x_m)
        a, b = found.pairs["a"].to_numpy(), found.pairs["b"].to_numpy()
        is_true, is_merged = season.animal[a] == season.animal[b], found.animal[a] == found.animal[b]
        parts.append(np.column_stack([found.pairs["p"], is_true, is_merged]))
        n_true += len(season.true_pairs)
        counts += [len(season.animal), len(np.unique(season.animal)), len(np.unique(found.animal))]
    p, is_true, is_merged = np.concatenate(parts).T
    return p, is_true.astype(bool), is_merged.astype(bool), n_true, counts


@pytest.mark.parametrize("name", WORLDS)
def test_of_the_merged_pairs_at_least_the_promised_share_is_true(name):
    _, is_true, is_merged, _, _ = outcome(name)
    n, right = int(is_merged.sum()), int((is_merged & is_true).sum())
    assert n >= 25
    # promised: 0.95; fails where so few would be right in one of a thousand runs
    assert right >= binom.ppf(0.001, n, 0.95)


@pytest.mark.parametrize(("name", "least"), [("usual", 0.4), ("exported again", 0.65), ("carcasses that last", 0.35)])
def test_a_fair_share_of_the_true_pairs_is_merged(name, least):
    _, is_true, is_merged, n_true, _ = outcome(name)
    right = int((is_merged & is_true).sum())
    assert binomtest(right, n_true).proportion_ci(0.998, method="exact").low > least


@pytest.mark.parametrize("name", ["usual", "exported again"])
def test_merging_removes_most_of_the_double_counting(name):
    _, _, _, _, (records, animals, counted) = outcome(name)
    assert counted - animals < 0.55 * (records - animals)


@pytest.mark.parametrize("name", WORLDS)
def test_a_merged_view_never_holds_far_fewer_animals_than_there_were(name):
    _, _, _, _, (_, animals, counted) = outcome(name)
    assert counted > 0.98 * animals


@pytest.mark.parametrize("name", WORLDS)
@pytest.mark.parametrize(("low", "high"), [(0.5, 0.8), (0.8, 0.95), (0.95, 1.01)])
def test_a_high_probability_is_not_too_high(name, low, high):
    p, is_true, _, _, _ = outcome(name)
    inside = (p >= low) & (p < high)
    n, right = int(inside.sum()), int(is_true[inside].sum())
    assert n >= 10
    # Wilson's interval of the share of true pairs must not lie below the mean probability said
    assert binomtest(right, n).proportion_ci(0.998, method="wilson").high >= p[inside].mean()


@pytest.mark.parametrize("name", WORLDS)
def test_a_low_probability_is_not_far_too_low(name):
    p, is_true, _, _, _ = outcome(name)
    inside = (p >= 0.01) & (p < 0.05)
    interval = binomtest(int(is_true[inside].sum()), int(inside.sum())).proportion_ci(0.998, method="wilson")
    assert interval.low < 0.15


@pytest.mark.parametrize("name", WORLDS)
def test_truer_pairs_have_higher_probabilities(name):
    p, is_true, _, _, _ = outcome(name)
    order = np.argsort(p)
    ranks = np.empty(len(p))
    ranks[order] = np.arange(1, len(p) + 1)
    n_true, n_false = is_true.sum(), (~is_true).sum()
    area = (ranks[is_true].sum() - n_true * (n_true + 1) / 2) / (n_true * n_false)
    assert area > 0.85, "chance that a true pair ranks above a false one"


def test_the_simulator_says_the_truth_about_its_own_season():
    season = simulate(np.random.default_rng(1), World())
    apart = [abs(season.x_m[a] - season.x_m[b]) for a, b in season.true_pairs]
    assert 5 < np.median(apart) < 40
    assert all(season.edge[a] == season.edge[b] for a, b in season.true_pairs)
    assert set(season.records["condition"]) == {"dead", "alive"}


def test_equal_seeds_make_equal_seasons():
    one, two = (simulate(np.random.default_rng(3), World(exported_again=True)) for _ in range(2))
    assert one.records.equals(two.records)
    assert np.array_equal(one.animal, two.animal)
