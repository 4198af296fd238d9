"""The log-likelihood ratio, fast and plain."""

import numpy as np
import pytest
from scipy import sparse, stats

from roadwatch.hotspots.density import kernel_matrix
from roadwatch.hotspots.null import Scatter, null_scale
from roadwatch.hotspots.surprise import SLACK, Yardstick, density_for, kernel_surprise
from roadwatch.roads.stretches import cut_stretches


@pytest.fixture
def yardstick():
    """A yardstick over 3,000 stretches, more than are worked on at a time, with some where nothing can be."""
    rng = np.random.default_rng(4)
    kernel = sparse.random_array((3000, 3000), density=0.004, rng=rng, format="csr")
    mean = rng.uniform(0.1, 2.0, 3000)
    scale = np.where(rng.random(3000) < 0.1, 0.0, rng.uniform(0.5, 3.0, 3000))
    return Yardstick.of(kernel, mean, scale)


def plain(density, mean, scale):
    if scale == 0 or density <= mean:
        return 0.0
    return scale * (density * np.log(density / mean) - (density - mean))


@pytest.mark.parametrize(("c", "e"), [(20, 8.0), (7, 1.0), (3, 2.5)])
def test_surprise_is_the_poisson_log_likelihood_ratio(c, e):
    # scipy: log f(c | mean c) - log f(c | mean e); scale 1 makes density a count
    expected = stats.poisson.logpmf(c, c) - stats.poisson.logpmf(c, e)
    found = kernel_surprise(np.array([float(c)]), mean=np.array([e]), scale=np.array([1.0]))
    assert found == pytest.approx([expected])


def test_surprise_of_twenty_where_eight_are_expected_by_hand():
    # 20 ln(20/8) - 12 = 6.325815; in units of half a count each side doubles: 40 ln(40/16) - 24
    surprise = kernel_surprise(np.array([20.0, 20.0]), mean=np.array([8.0, 8.0]), scale=np.array([1.0, 2.0]))
    assert surprise == pytest.approx([6.325814637, 12.651629275])


def test_no_more_than_expected_is_no_surprise_nor_is_where_nothing_can_be():
    surprise = kernel_surprise(
        np.array([2.0, 1.0, 5.0]), mean=np.array([2.0, 3.0, 0.0]), scale=np.array([1.0, 1.0, 0.0])
    )
    assert surprise.tolist() == [0.0, 0.0, 0.0]


def test_the_highest_of_each_draw_is_that_of_a_plain_loop(yardstick):
    counts = np.random.default_rng(5).poisson(0.5, (3000, 7)).astype(float)
    highest = yardstick.highest(counts)
    density = yardstick.kernel.toarray() @ counts
    for draw in range(7):
        every = [plain(*one) for one in zip(density[:, draw], yardstick.mean, yardstick.scale, strict=True)]
        assert highest[draw] == pytest.approx(max(every))


def test_the_draws_that_reach_a_density_are_those_of_a_plain_product(yardstick):
    counts = np.random.default_rng(5).poisson(0.5, (3000, 7)).astype(float)
    bar = np.random.default_rng(6).uniform(1.0, 5.0, 3000)
    bar[::3] = -np.inf  # all reach it
    density = yardstick.kernel.toarray() @ counts
    assert yardstick.reaching(counts, bar).tolist() == (density >= bar[:, None]).sum(axis=1).tolist()


def test_the_highest_is_that_of_the_whole_product_to_the_last_digit(county):
    # groups of neighbours, weights that no single precision holds, chances that differ a hundredfold from road to road
    network = county(5, 400.0)
    stretches = cut_stretches(network)
    kernel = kernel_matrix(network, stretches)
    rng = np.random.default_rng(3)
    n = len(stretches.edge)
    chance = rng.choice([0.0, 1.0, 10.0, 100.0], len(network.edges))[stretches.edge]
    weight = rng.choice([0.1, 0.7, 0.95], 80)
    scatter = Scatter(np.arange(80), weight, np.zeros(80, int), (chance / chance.sum())[None])
    yardstick = Yardstick.of(kernel, *null_scale(scatter, kernel))
    counts = np.zeros((n, 50))
    for draw in range(50):
        np.add.at(counts[:, draw], rng.choice(n, 80, p=scatter.chance[0]), weight)
    assert yardstick.highest(counts).tolist() == yardstick.surprise(counts).max(axis=0).tolist()


def test_without_records_nothing_is_high(yardstick):
    assert yardstick.highest(np.zeros((3000, 4))).tolist() == [0.0] * 4


def test_where_nothing_can_be_surprising_nothing_is_high(yardstick):
    nowhere = Yardstick.of(yardstick.kernel, yardstick.mean, np.zeros(3000))
    assert nowhere.highest(np.ones((3000, 2))).tolist() == [0.0, 0.0]


def test_surprise_at_some_stretches_of_fewer_records_expects_less(yardstick):
    counts = np.random.default_rng(5).poisson(0.5, (3000, 2)).astype(float)
    some = np.array([3, 1500, 2999])
    found = yardstick.surprise_at(some, counts, np.array([1.0, 0.5]))
    density = (yardstick.kernel @ counts)[some]
    for column, left in enumerate((1.0, 0.5)):
        expected = [
            plain(d, left * m, s)
            for d, m, s in zip(density[:, column], yardstick.mean[some], yardstick.scale[some], strict=True)
        ]
        assert found[:, column] == pytest.approx(expected)


def test_scaling_multiplies_surprise(yardstick):
    counts = np.random.default_rng(5).poisson(0.5, 3000).astype(float)
    assert yardstick.scaled(2.5).surprise(counts) == pytest.approx(2.5 * yardstick.surprise(counts))


def test_the_density_for_a_surprise_gives_it_back():
    rng = np.random.default_rng(9)
    mean, scale = rng.uniform(0.01, 5.0, 400), rng.uniform(0.1, 20.0, 400)
    for surprise in (1e-6, 0.1, 3.0, 40.0, 900.0):
        density = density_for(surprise, mean=mean, scale=scale)
        assert kernel_surprise(density, mean=mean, scale=scale) == pytest.approx(np.full(400, surprise), rel=1e-3)
        assert (kernel_surprise(density / (1.0 - 2 * SLACK), mean=mean, scale=scale) >= surprise).all()


def test_where_nothing_is_surprising_no_density_is_enough():
    found = density_for(1.0, mean=np.array([0.0, 2.0]), scale=np.array([1.0, 0.0]))
    assert np.isinf(found).all()


def test_no_surprise_asks_for_the_mean():
    assert density_for(0.0, mean=np.array([2.0]), scale=np.array([3.0])) == pytest.approx([2.0])
