"""Sections to compare with."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.siting.evaluation_controls import (
    Features,
    Surroundings,
    features_of,
    nearest_controls,
    sections_of,
    traits_of,
)


@pytest.fixture
def around():
    """around(n): one road of n stretches of 50 m, with any array changed."""

    def make(n: int, **changes) -> Surroundings:
        arrays = {
            "road": np.full(n, "Main Road", dtype=object),
            "road_part": np.zeros(n, dtype=np.int64),
            "middle_m": 25.0 + 50.0 * np.arange(n),
            "length_m": np.full(n, 50.0),
            "road_class": np.full(n, "45 mph", dtype=object),
            "traffic": np.full(n, 1000.0),
            "near_water": np.zeros(n, dtype=bool),
        }
        return Surroundings(**(arrays | changes))

    return make


MANY = np.array([50.0, 50.0, 50.0])
"""Deaths before in three candidates, any one of which has enough."""


def features(rate, **changes) -> Features:
    n = len(rate)
    arrays = {
        "road_class": np.full(n, "45 mph", dtype=object),
        "traffic": np.full(n, 1000.0),
        "near_water": np.zeros(n),
    }
    return Features(np.array(rate, dtype=float), **(arrays | {k: np.array(v) for k, v in changes.items()}))


def test_a_road_of_2_km_is_four_sections_of_ten_stretches(around):
    assert np.bincount(sections_of(around(40), np.ones(40, dtype=bool))).tolist() == [10, 10, 10, 10]


def test_a_short_road_is_one_section(around):
    assert set(sections_of(around(3), np.ones(3, dtype=bool))) == {0}


def test_what_is_not_chosen_is_in_no_section(around):
    chosen = np.arange(40) >= 10
    section = sections_of(around(40), chosen)
    assert (section[:10] == -1).all()
    assert (section[10:] >= 0).all()


def test_nothing_chosen_makes_no_section(around):
    assert set(sections_of(around(5), np.zeros(5, dtype=bool))) == {-1}


def test_sections_never_span_two_roads(around):
    road = np.array(["A"] * 5 + ["B"] * 5, dtype=object)
    section = sections_of(around(10, road=road), np.ones(10, dtype=bool))
    assert not set(section[:5]) & set(section[5:])


def test_features_are_means_over_the_section_and_unknown_traffic_is_left_out(around):
    there = around(10, traffic=np.array([np.nan] * 5 + [400.0] * 5), near_water=np.array([True] * 4 + [False] * 6))
    found = features_of(there, np.zeros(10, dtype=np.int64), np.array([0.1]))
    assert found.traffic.tolist() == [400.0]
    assert found.near_water.tolist() == [0.4]


def test_the_likest_rate_comes_first():
    order = nearest_controls(features([0.2]), features([0.05, 0.19, 0.9]), deaths_before=MANY, n_controls=2)
    assert order.tolist() == [1, 0]


def test_another_kind_of_road_is_less_alike_than_a_rate_a_half_more():
    candidates = features([0.2, 0.3], road_class=np.array(["25 mph", "45 mph"], dtype=object))
    assert nearest_controls(
        features([0.2]), candidates, deaths_before=MANY[: len(candidates.rate)], n_controls=3
    ).tolist() == [1, 0]


def test_road_away_from_water_is_less_alike_to_road_beside_it():
    candidates = features([0.2, 0.2], near_water=[0.0, 1.0])
    assert nearest_controls(
        features([0.2], near_water=[1.0]), candidates, deaths_before=MANY[: len(candidates.rate)], n_controls=3
    ).tolist() == [1, 0]


def test_traffic_counts_where_it_is_known_and_not_where_it_is_unknown():
    candidates = features([0.2, 0.2, 0.2], traffic=[100.0, np.nan, 900.0])
    assert nearest_controls(
        features([0.2]), candidates, deaths_before=MANY[: len(candidates.rate)], n_controls=3
    ).tolist() == [1, 2, 0]
    unknown = features([0.2], traffic=[np.nan])
    assert nearest_controls(unknown, candidates, deaths_before=MANY[: len(candidates.rate)], n_controls=3).tolist() == [
        0,
        1,
        2,
    ]


def test_fewer_candidates_than_asked_are_all_taken():
    assert len(nearest_controls(features([0.2]), features([0.1, 0.3]), deaths_before=MANY[:2], n_controls=20)) == 2


def test_controls_are_added_until_they_hold_40_deaths_before():
    alike = features([0.2] * 30)
    assert len(nearest_controls(features([0.2]), alike, deaths_before=np.full(30, 2.0), n_controls=5)) == 20
    assert len(nearest_controls(features([0.2]), alike, deaths_before=np.full(30, 9.0), n_controls=5)) == 5
    assert len(nearest_controls(features([0.2]), alike, deaths_before=np.full(30, 0.1), n_controls=5)) == 30


@given(st.integers(1, 120), st.floats(10.0, 60.0))
def test_sections_follow_one_another_and_are_as_near_to_500_m_as_whole_ones_can_be(n, length_m):
    there = Surroundings(
        road=np.full(n, "A", dtype=object),
        road_part=np.zeros(n, dtype=np.int64),
        middle_m=length_m * (np.arange(n) + 0.5),
        length_m=np.full(n, length_m),
        road_class=np.full(n, "x", dtype=object),
        traffic=np.full(n, np.nan),
        near_water=np.zeros(n, dtype=bool),
    )
    section = sections_of(there, np.ones(n, dtype=bool))
    assert section[0] == 0
    assert set(np.diff(section)) <= {0, 1}
    number = section[-1] + 1
    assert number == max(round(n * length_m / 500.0), 1)
    longest_m = np.bincount(section).max() * length_m
    assert longest_m <= n * length_m / number + 2 * length_m


def test_how_unlike_is_added_up_by_hand():
    # rates: |ln(.1/.2)| = .693; traffic: |ln(2000/1000)| = .693; another kind of road 1; water half: .5
    apart = {"rate": 0.693, "traffic": 0.693, "kind": 1.0, "water": 0.5}
    candidates = Features(
        np.array([0.1, 0.2, 0.2, 0.2]),
        np.array(["45 mph", "45 mph", "25 mph", "45 mph"], dtype=object),
        np.array([1000.0, 2200.0, 1000.0, 1000.0]),
        np.array([0.0, 0.0, 0.0, 0.5]),
    )
    order = nearest_controls(features([0.2]), candidates, deaths_before=np.full(4, 10.0), n_controls=4)
    by_hand = np.argsort([apart["rate"], np.log(2.2), apart["kind"], apart["water"]])
    assert order.tolist() == by_hand.tolist() == [3, 0, 1, 2]


def test_traits_have_no_rate_yet_and_joined_they_lie_behind_one_another(around):
    there = around(20, near_water=np.arange(20) < 10)
    section = np.repeat([0, 1], 10)
    found = traits_of(there, section)
    assert np.isnan(found.rate).all()
    assert found.near_water.tolist() == [1.0, 0.0]
    both = found.joined(features([0.1]))
    assert both.near_water.tolist() == [1.0, 0.0, 0.0]
    assert both.traffic.tolist() == [1000.0] * 3
    assert traits_of(there, np.full(20, -1)).rate.tolist() == []
