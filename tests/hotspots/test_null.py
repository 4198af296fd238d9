"""The scatterings: formulas by hand and by scipy."""

import numpy as np
import pytest
from hotspots.scattered_records import scatter
from scipy import stats

from roadwatch.hotspots.null import Scatter, null_scale, relocate, share_reached


def test_mean_and_scale_match_many_scatterings(ring):
    weight = np.array([1.0, 0.5, 0.8, 0.95])
    chance = np.arange(1.0, 61.0)[None] / np.arange(1.0, 61.0).sum()
    records = scatter([0, 1, 2, 3], weight=weight, chance=chance)
    mean, scale = null_scale(records, ring)
    rng = np.random.default_rng(8)
    places = next(relocate(records, n_draws=40_000, draws_per_block=40_000, rng=rng))
    dense = ring.toarray()
    squares = np.zeros(60)
    means = np.zeros(60)
    for column, w in enumerate(weight):
        counts = np.bincount(places[:, column], minlength=60) / 40_000
        means += w * dense @ counts
        squares += w**2 * dense**2 @ counts
    assert mean == pytest.approx(means, rel=0.15)
    assert scale == pytest.approx(means / squares, rel=0.15)
    assert mean.sum() == pytest.approx(weight.sum())  # rows and columns of this kernel sum to 1


def test_records_stay_in_their_stratum():
    chance = np.array([[0.5, 0.5, 0.0, 0.0], [0.0, 0.0, 0.25, 0.75]])
    records = scatter([0, 1, 2, 3, 3], stratum=[0, 0, 1, 1, 1], chance=chance)
    places = next(relocate(records, n_draws=2000, draws_per_block=2000, rng=np.random.default_rng(1)))
    assert set(places[:, :2].ravel()) == {0, 1}
    assert set(places[:, 2:].ravel()) == {2, 3}
    share = (places[:, 2:] == 3).mean()
    assert share == pytest.approx(0.75, abs=4 * np.sqrt(0.75 * 0.25 / 6000))
    assert records.expected() == pytest.approx([1.0, 1.0, 0.75, 2.25])


def test_scattered_records_follow_their_chances(ring):
    chance = np.random.default_rng(5).uniform(0.2, 2.0, (1, 60))
    chance /= chance.sum()
    places = next(
        relocate(scatter([0] * 50, chance=chance), n_draws=400, draws_per_block=400, rng=np.random.default_rng(6))
    )
    counts = np.bincount(places.ravel(), minlength=60)
    assert stats.chisquare(counts, 20_000 * chance[0]).pvalue > 0.001


def test_parts_of_a_record_move_as_one_with_its_whole_weight(ring):
    parts = Scatter(
        np.array([3, 4, 40]), np.array([0.3, 0.5, 1.0]), np.zeros(3, int), np.full((1, 60), 1 / 60), np.array([7, 7, 2])
    )
    weight, _ = parts.movable()
    assert weight.tolist() == [0.8, 1.0]
    assert parts.weight_by_stratum(2) == pytest.approx([0.8**2 + 1.0])
    assert parts.observed()[[3, 4, 40]].tolist() == [0.3, 0.5, 1.0]
    places = next(relocate(parts, n_draws=5, draws_per_block=5, rng=np.random.default_rng(1)))
    assert places.shape == (5, 2)


def test_an_unsure_baseline_makes_the_draws_more_unlike_each_other(ring):
    chance = np.full((1, 60), 1 / 60)
    tilt = np.where(np.arange(60) < 30, 1.0, -1.0)
    spread = []
    for one in (None, tilt):
        records = Scatter(np.arange(40), np.ones(40), np.zeros(40, int), chance, tilt=one)
        places = next(relocate(records, n_draws=2000, draws_per_block=2000, rng=np.random.default_rng(2)))
        spread.append((places < 30).mean(axis=1).std())
    # by hand: binomial sd sqrt(.25 / 40) = .079 alone; each draw's chance is e^z / (e^z + e^-z), z normal
    assert spread[0] == pytest.approx(np.sqrt(0.25 / 40), rel=0.1)
    z = np.random.default_rng(3).standard_normal(100_000)
    p = np.exp(z) / (np.exp(z) + np.exp(-z))
    assert spread[1] == pytest.approx(np.sqrt(p.var() + (p * (1 - p)).mean() / 40), rel=0.1)


def test_the_share_that_is_reached_counts_the_observed_by_hand():
    # of 9 scatterings, 4 reach 3, ties among them; with the observed map 5 of 10
    largest = np.array([1.0, 1.0, 2.0, 2.5, 2.9, 3.0, 3.0, 4.0, 9.0])
    assert share_reached(np.array([3.0, 9.1, 0.0, np.nan]), largest) == pytest.approx(
        np.array([0.5, 0.1, 1.0, np.nan]), nan_ok=True
    )
