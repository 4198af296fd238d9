"""Records spread over the roads near them, against the normal law by hand and by scipy."""

import numpy as np
import pytest
from scipy import stats

from roadwatch.roads.snap import snap
from roadwatch.roads.spread import spread_records
from roadwatch.roads.stretches import cut_stretches


@pytest.fixture
def spread_on():
    """spread_on(network, (x, y), ..., error_m=...): the network's stretches and the records spread over them."""

    def make(network, *places, error_m):
        x_m, y_m = (np.array(column, dtype=float) for column in zip(*places, strict=True))
        stretches = cut_stretches(network)
        placed = snap(network, x_m, y_m, position_error_m=error_m)
        return stretches, spread_records(network, stretches, placed, x_m, y_m, position_error_m=error_m)

    return make


@pytest.fixture
def two_roads(network):
    return network([[(-500, 0), (500, 0)], [(-500, 40), (500, 40)]], road=["Main", "Frontage"])


@pytest.mark.parametrize(("y", "s"), [(12.0, 20.0), (18.0, 15.0), (5.0, 30.0)])
def test_two_roads_side_by_side_share_by_the_normal_law(two_roads, spread_on, y, s):
    # shares in proportion to exp(-d^2 / 2 s^2), as both roads are straight and as long
    _, spread = spread_on(two_roads, (0.0, y), error_m=s)
    on_main = two_roads.edges["road"].to_numpy()[spread.edge] == "Main"
    near, far = np.exp(-(y**2) / (2 * s**2)), np.exp(-((40 - y) ** 2) / (2 * s**2))
    assert spread.share[on_main].sum() == pytest.approx(near / (near + far), abs=0.03)  # small shares are dropped
    assert spread.share.sum() == pytest.approx(1.0)


def test_along_one_road_shares_are_those_of_the_normal_distribution(network, spread_on):
    road = network([[(-500, 0), (500, 0)]], road=["Main"])
    stretches, spread = spread_on(road, (10.0, 15.0), error_m=40.0)
    stretch = stretches.of_place(spread.edge, spread.offset_m)
    begin = stretches.start_m - 500.0
    whole = stats.norm.cdf(begin + stretches.length_m, 10, 40) - stats.norm.cdf(begin, 10, 40)
    assert set(np.flatnonzero(whole > 0.03)) <= set(stretch)
    assert spread.share == pytest.approx(whole[stretch] / whole[stretch].sum(), abs=1e-4)


def test_a_good_fix_in_the_middle_of_a_stretch_stays_whole(two_roads, spread_on):
    _, spread = spread_on(two_roads, (25.0, 2.0), error_m=3.0)
    assert spread.share.tolist() == [1.0]
    assert spread.offset_m == pytest.approx([525.0], abs=1e-3)


def test_side_roads_at_a_junction_get_their_part(network, spread_on):
    crossing = network([[(-500, 0), (0, 0), (500, 0)], [(0, -500), (0, 0), (0, 500)]], road=["Main", "Cross"])
    _, spread = spread_on(crossing, (0.0, 0.0), error_m=10.0)
    assert len(spread.share) == 4
    assert spread.share == pytest.approx([0.25] * 4, abs=1e-6)
    assert spread.is_main.sum() == 1


def test_every_placed_record_adds_up_to_one_and_has_one_likeliest_place(town):
    from roadwatch.roads.network import build_network

    rng = np.random.default_rng(4)
    built = build_network(town(rng))
    stretches = cut_stretches(built)
    x_m, y_m = rng.uniform(-500, 500, (2, 300))
    error_m = rng.choice([3.0, 10.0, 30.0, 100.0, 2000.0, np.nan], 300)
    placed = snap(built, x_m, y_m, position_error_m=error_m)
    spread = spread_records(built, stretches, placed, x_m, y_m, position_error_m=error_m)
    assert set(spread.record) == set(np.flatnonzero(placed.edge >= 0))
    by_record = np.bincount(spread.record, spread.share, 300)
    assert by_record[placed.edge >= 0] == pytest.approx(np.ones((placed.edge >= 0).sum()))
    assert (np.bincount(spread.record, spread.is_main, 300)[placed.edge >= 0] == 1).all()
    assert (spread.share > 0.0).all()
    assert (spread.offset_m <= built.edges["length_m"].to_numpy()[spread.edge]).all()
    likeliest = spread.share[spread.is_main][np.searchsorted(spread.record[spread.is_main], spread.record)]
    assert (spread.share <= likeliest).all()


def test_a_blank_error_is_thirty_metres(two_roads, spread_on):
    blank, thirty = (spread_on(two_roads, (0.0, 10.0), error_m=e)[1] for e in (np.nan, 30.0))
    assert blank.share.tolist() == thirty.share.tolist()


def test_a_record_far_from_any_road_has_no_part(two_roads, spread_on):
    _, spread = spread_on(two_roads, (0.0, -5000.0), error_m=5.0)
    assert len(spread.record) == len(spread.share) == 0


def test_shares_do_not_depend_on_the_order_of_records(two_roads, spread_on):
    places = [(0.0, 10.0), (-100.0, 25.0), (333.0, 19.0)]
    _, one = spread_on(two_roads, *places, error_m=20.0)
    _, other = spread_on(two_roads, *places[::-1], error_m=20.0)
    for k in range(3):
        assert one.share[one.record == k].tolist() == other.share[other.record == 2 - k].tolist()
