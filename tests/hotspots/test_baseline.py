"""Where records are to be expected, which of them can be used, and what is said about the rest."""

import numpy as np
import pytest

from roadwatch.errors import NotEnoughDataError, UsageError
from roadwatch.hotspots.baseline import make_baseline, usable_records
from roadwatch.roads.stretches import cut_stretches

LENGTH_M = np.array([50.0, 50.0, 25.0])
UNKNOWN = float("nan")


def test_without_searches_chances_follow_road_length_and_the_basis_is_unknown():
    baseline = make_baseline(LENGTH_M, None)
    assert baseline.chance.tolist() == [[0.4, 0.4, 0.2]]
    assert baseline.basis == "unknown"


def test_chances_follow_kilometres_searched_and_unknown_road_has_none():
    baseline = make_baseline(LENGTH_M, np.array([0.3, UNKNOWN, 0.1]))
    assert baseline.chance.tolist() == [pytest.approx([0.75, 0.0, 0.25])]
    assert baseline.basis == "search"
    assert np.isnan(baseline.effort_km[1])


def test_multiplying_the_effort_by_a_constant_changes_no_chance():
    effort = np.array([0.3, 0.7, 0.1])
    assert make_baseline(LENGTH_M, 8 * effort).chance.tolist() == make_baseline(LENGTH_M, effort).chance.tolist()


def test_effort_by_year_gives_each_year_its_own_chances():
    baseline = make_baseline(LENGTH_M, {2022: np.array([0.0, 0.1, UNKNOWN]), 2021: np.array([0.1, 0.3, UNKNOWN])})
    assert baseline.years == (2021, 2022)
    assert baseline.chance.tolist() == [pytest.approx([0.25, 0.75, 0.0]), pytest.approx([0.0, 1.0, 0.0])]
    assert baseline.effort_km[:2] == pytest.approx([0.1, 0.4])
    assert np.isnan(baseline.effort_km[2])


def test_a_year_without_any_search_has_no_chances():
    baseline = make_baseline(LENGTH_M, {2021: np.array([0.1, 0.1, 0.1]), 2022: np.zeros(3)})
    assert baseline.years == (2021,)
    assert baseline.stratum_of(np.array([2021, 2022])).tolist() == [0, -1]


def test_exposure_multiplies_and_its_unknown_is_not_tested():
    baseline = make_baseline(LENGTH_M, np.array([0.1, 0.1, 0.1]), exposure=np.array([100.0, 300.0, UNKNOWN]))
    assert baseline.chance.tolist() == [pytest.approx([0.25, 0.75, 0.0])]


@pytest.mark.parametrize("effort", [np.full(3, UNKNOWN), np.zeros(3), {2021: np.full(3, UNKNOWN)}, {}])
def test_searches_that_cover_no_road_are_not_enough(effort):
    with pytest.raises(NotEnoughDataError, match="no search covers any road of the layer; add searches"):
        make_baseline(LENGTH_M, effort)


def test_no_road_is_not_enough():
    with pytest.raises(NotEnoughDataError, match="the season has no roads; add a road layer"):
        make_baseline(np.empty(0), None)


@pytest.fixture
def road(straight_road):
    return cut_stretches(straight_road(500.0))


def test_records_that_cannot_enter_are_counted_by_reason(road, records):
    table = records(road, [0, 1, 2, 3, 4, 5, 6, 7, 8], year=np.full(9, 2021), weight=[1, 1, 1, 1, 1, 1, 0, 1, 1.0])
    effort = np.where(np.arange(len(road.edge)) == 8, UNKNOWN, 0.1)
    stretch = np.array([0, 1, 2, 3, 4, 5, 6, -1, 8])
    used, told = usable_records(table, make_baseline(road.length_m, {2021: effort}), stretch)
    assert used["stretch"].tolist() == [0, 1, 2, 3, 4, 5]
    assert told == [
        "1 record left out: with no weight.",
        "1 record left out: not placed on a road.",
        "1 record left out: on road or in a year without a known search.",
    ]


def test_a_record_of_a_year_without_searches_is_left_out(road, records):
    table = records(road, np.arange(6), year=[2021, 2021, 2021, 2021, 2021, 2019])
    used, told = usable_records(table, make_baseline(road.length_m, {2021: road.length_m}), np.arange(6))
    assert len(used) == 5
    assert told == ["1 record left out: on road or in a year without a known search."]


def test_four_records_are_not_enough_and_the_message_says_what_became_of_the_rest(road, records):
    table = records(road, [0, 1, 2, 3, 4, 5])
    with pytest.raises(NotEnoughDataError, match=r"4 records can be used, at least 5 are needed; 2 records left out"):
        usable_records(table, make_baseline(road.length_m, None), np.array([0, 1, 2, 3, -1, -1]))


def test_no_record_is_not_enough(road, records):
    with pytest.raises(NotEnoughDataError, match="0 records can be used, at least 5 are needed; add records"):
        usable_records(
            records(road, np.empty(0, dtype=int)), make_baseline(road.length_m, None), np.empty(0, dtype=int)
        )


def test_a_missing_column_is_named(road, records):
    table = records(road, np.arange(6)).drop(columns=["year", "observer"])
    with pytest.raises(UsageError, match="the records lack the columns year, observer; expected edge, offset_m"):
        usable_records(table, make_baseline(road.length_m, None), np.arange(6))


def test_parts_of_a_record_keep_its_weight_on_road_where_records_can_be(straight_road, records):
    # record a: two parts of .3 and .5, the second on road never searched; b .. f whole
    road = cut_stretches(straight_road(1000.0))
    effort = np.where(np.arange(len(road.edge)) < 10, 0.1, np.nan)
    stretch = np.array([2, 15, 3, 4, 5, 6, 7])
    names = ["a", "a", "b", "c", "d", "e", "f"]
    table = records(road, stretch, record_id=names, weight=np.array([0.3, 0.5, 1, 1, 1, 1, 1]))
    used, told = usable_records(table, make_baseline(road.length_m, effort), stretch)
    assert told == []
    assert used["weight"].tolist() == pytest.approx([0.8, 1, 1, 1, 1, 1])
    assert used["record"].tolist() == [0, 1, 2, 3, 4, 5]
    assert used["is_main"].all()


def test_the_likeliest_part_is_marked_and_a_record_lost_in_all_its_parts_is_told_once(straight_road, records):
    road = cut_stretches(straight_road(1000.0))
    stretch = np.array([2, 3, -1, -1, 4, 5, 6, 7])
    names = ["a", "a", "x", "x", "b", "c", "d", "e"]
    weight = np.array([0.3, 0.7, 0.5, 0.5, 1, 1, 1, 1])
    table = records(road, np.abs(stretch), record_id=names, weight=weight)
    used, told = usable_records(table, make_baseline(road.length_m, None), stretch)
    assert told == ["1 record left out: not placed on a road."]
    assert used["is_main"].tolist() == [False, True, True, True, True, True]
    assert used["weight"].tolist() == [0.3, 0.7, 1, 1, 1, 1]


def test_records_without_a_name_are_records_of_their_own(straight_road, records):
    road = cut_stretches(straight_road(1000.0))
    stretch = np.arange(6)
    table = records(road, stretch, record_id=[None, None, "", "a", "a", float("nan")], weight=np.ones(6))
    used, _ = usable_records(table, make_baseline(road.length_m, None), stretch)
    assert used["record"].tolist() == [0, 1, 2, 3, 3, 4]
