"""Draws by a guide table against a search by halving, and against their chances."""

import numpy as np
import pytest
from scipy import stats

from roadwatch.hotspots.lots import Lots, running_share

CHANCES = {
    "even": np.ones(500),
    "uneven": np.random.default_rng(1).exponential(1.0, 500) ** 4,
    "mostly none": np.where(np.arange(500) % 50 == 7, 1.0, 0.0),
    "one": np.eye(1, 500, 499)[0],
    "a single place": np.ones(1),
}


@pytest.mark.parametrize("chance", CHANCES.values(), ids=CHANCES.keys())
def test_draws_are_those_of_a_search_by_halving(chance):
    u = np.random.default_rng(2).random((40, 500))
    u[0, :4] = [0.0, 0.5, np.nextafter(1.0, 0.0), 0.25]
    u[1] = np.nextafter(np.arange(1, 501) / 500, 0.0)  # just short of the borders of even chances
    expected = np.searchsorted(running_share(chance), u, side="right")
    assert (Lots.of(chance).draw(u) == expected).all()


def test_numbers_on_a_border_fall_on_the_next_place():
    assert Lots.of(np.array([1.0, 1.0, 0.0, 2.0])).draw(np.array([0.0, 0.25, 0.5, 0.75])).tolist() == [0, 1, 3, 3]


def test_places_without_a_chance_are_never_drawn_and_others_by_theirs():
    chance = CHANCES["uneven"] * (np.arange(500) % 3 > 0)
    drawn = Lots.of(chance).draw(np.random.default_rng(3).random(200_000))
    seen = np.bincount(drawn, minlength=500)
    assert seen[chance == 0].sum() == 0
    large = chance > np.quantile(chance, 0.8)
    expected = 200_000 * np.r_[chance[large], chance[~large].sum()] / chance.sum()
    assert stats.chisquare(np.r_[seen[large], seen[~large].sum()], expected).pvalue > 0.001


def test_running_shares_end_at_one_or_stay_at_nothing():
    assert running_share(np.array([1.0, 0.0, 3.0])).tolist() == [0.25, 0.25, 1.0]
    assert running_share(np.zeros(3)).tolist() == [0.0, 0.0, 0.0]
