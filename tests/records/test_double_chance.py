"""How many others lie near by chance follows the season's own density in place and time."""

import numpy as np
import pytest

from roadwatch.records.double_chance import others_by_chance


def on_a_road(n, *, length_m, days, rng):
    return rng.uniform(0, length_m, n), np.zeros(n), np.sort(rng.integers(0, days, n))


def test_on_an_evenly_used_road_the_density_is_that_of_the_season():
    # by hand: 4,000 records on 20 km and 200 days are 0.2 a metre and 0.001 a metre and day
    rng = np.random.default_rng(1)
    x_m, y_m, day = on_a_road(4000, length_m=20_000, days=200, rng=rng)
    asked = np.flatnonzero((x_m > 1000) & (x_m < 19_000) & (day > 20) & (day < 180))
    assert others_by_chance(x_m, y_m, day, asked).mean() == pytest.approx(0.001, rel=0.1)


def test_a_culvert_is_seen_as_dense_and_a_lonely_place_as_sparse():
    rng = np.random.default_rng(2)
    x_m = np.r_[rng.normal(0, 15, 60), 5000.0]
    day = np.r_[np.arange(60) * 3, 90]
    density = others_by_chance(x_m, np.zeros(61), day, np.array([30, 60]))
    # by hand: 60 deaths around a peak of 60 / (15 sqrt(2 pi)) = 1.6 a metre, spread over 180 days
    assert 0.25 * 1.6 / 180 < density[0] < 1.5 * 1.6 / 180
    assert density[1] < density[0] / 50


def test_the_doubles_of_one_carcass_do_not_make_its_place_dense():
    x_m, day = np.r_[np.zeros(5), np.linspace(2000, 90_000, 60)], np.r_[np.arange(5) + 60, np.arange(60) * 2]
    density = others_by_chance(x_m, np.zeros(65), day, np.array([0, 40]))
    assert density[0] < 1.5 * density[1]


def test_more_records_at_one_time_and_place_than_one_carcass_can_have_are_others():
    few, many = (others_by_chance(np.zeros(n), np.zeros(n), np.zeros(n, dtype=int), np.array([0]))[0] for n in (5, 50))
    # by hand: 44 others within 30 m on either side are 44 / 60 a metre, of which a third or so at this time of year
    assert many > 20 * few
    assert many > 0.1 * 44 / 60 / 31


def test_the_busy_time_of_year_is_denser():
    rng = np.random.default_rng(3)
    x_m = rng.uniform(0, 20_000, 1000)
    day = np.r_[rng.integers(0, 30, 800), rng.integers(30, 300, 200)]
    busy, quiet = np.flatnonzero(day < 20), np.flatnonzero(day > 100)
    assert (
        others_by_chance(x_m, np.zeros(1000), day, busy).mean()
        > 5 * others_by_chance(x_m, np.zeros(1000), day, quiet).mean()
    )


def test_records_of_one_heap_share_one_density():
    rng = np.random.default_rng(4)
    x_m, y_m = rng.uniform(0, 49, (2, 400))
    density = others_by_chance(x_m, y_m, np.zeros(400, dtype=int), np.arange(400))
    assert len(set(density.tolist())) == 1
