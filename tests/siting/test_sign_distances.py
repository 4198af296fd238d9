"""How far ahead a sign stands."""

import math

import numpy as np
import pytest

from roadwatch.siting.sign_distances import _stop_ft, advance_distance_m, distances_told
from roadwatch.sources import all_sources


def test_every_row_is_the_stopping_distance_of_the_design_guide_rounded_up_to_5_feet():
    # AASHTO stopping sight distance, from memory: 1.47 V t + 1.075 V^2 / a, t = 2.5 s, a = 11.2 ft/s^2.
    for speed, feet in _stop_ft().items():
        stopping = 1.47 * speed * 2.5 + 1.075 * speed**2 / 11.2
        assert feet == 5 * math.ceil(stopping / 5)


@pytest.mark.parametrize(("speed_mph", "feet"), [(25, 155), (45, 360), (55, 495), (70, 730)])
def test_a_speed_of_the_table_gives_its_distance_in_metres(speed_mph, feet):
    # MUTCD 11th edition, Table 2C-3, column for a stop, from a secondary copy; a foot is 0.3048 m (NIST Handbook 44).
    assert advance_distance_m(speed_mph) == pytest.approx(feet * 0.3048)


def test_a_speed_between_two_rows_takes_the_faster_one():
    assert advance_distance_m(52) == advance_distance_m(55)


def test_a_walking_speed_takes_the_slowest_row():
    assert advance_distance_m(5) == advance_distance_m(20)


@pytest.mark.parametrize("speed_mph", [math.nan, 0.0, -5.0, 90.0])
def test_an_unknown_speed_or_one_beyond_the_table_gives_no_distance(speed_mph):
    assert math.isnan(advance_distance_m(speed_mph))


def test_faster_roads_never_need_less():
    assert (np.diff([advance_distance_m(speed) for speed in range(1, 86)]) >= 0).all()


def test_several_speeds_are_told_where_the_limit_is_unknown():
    assert (
        distances_told() == "47 m at 25 mph, 76 m at 35 mph, 110 m at 45 mph, 151 m at 55 mph"
    )  # 155, 250, 360, 495 ft


def test_the_table_says_how_far_it_was_read():
    assert all_sources()["mutcd2023"].known_from == "secondary"
    assert "edition in force" in all_sources()["mutcd2023"].citation
