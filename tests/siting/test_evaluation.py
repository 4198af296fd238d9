"""A measure judged from counts by span and stretch."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from roadwatch.errors import NotEnoughDataError
from roadwatch.siting.evaluation import COLUMNS, Tally, evaluate_measures
from roadwatch.siting.evaluation_controls import Surroundings
from roadwatch.siting.evaluation_places import MeasurePlace

N = 600
"""Stretches of 50 m on one invented road of 30 km; the measure stands on 100..109, its ends on four each side."""
INSIDE = np.isin(np.arange(N), np.arange(100, 110))
ENDS = np.isin(np.arange(N), [*range(96, 100), *range(110, 114)])
APART = np.abs(np.arange(N) - 104.5) > 20
YEARS = np.array([2022, 2023, 2024, 2025])


@pytest.fixture
def around():
    return Surroundings(
        road=np.full(N, "Main Road", dtype=object),
        road_part=np.zeros(N, dtype=np.int64),
        middle_m=25.0 + 50.0 * np.arange(N),
        length_m=np.full(N, 50.0),
        road_class=np.full(N, "45 mph", dtype=object),
        traffic=np.full(N, np.nan),
        near_water=np.zeros(N, dtype=bool),
    )


@pytest.fixture
def tally():
    """tally(inside=(a, b, c, d), ends=...): deaths by year inside and at the ends; elsewhere every tenth has one."""

    def make(inside=(12, 14, 2, 3), ends=(1, 1, 1, 1), km=None) -> Tally:
        deaths = np.zeros((4, N))
        deaths[:, ::10] = 1.0
        deaths[:, INSIDE | ENDS] = 0.0
        deaths[:, 104], deaths[:, 98] = inside, ends
        since = np.array(["", "", "2024-03-01", "2024-03-01"], dtype=object)
        return Tally(YEARS, since, deaths, np.full((4, N), 0.6) if km is None else km)

    return make


@pytest.fixture
def judge(around):
    def make(tally, places=None, **changes):
        measure = {"measure_id": "M1", "kind": "fence", "built_on": "2024-03-01", "removed_on": None}
        places = places or [MeasurePlace(INSIDE, ENDS, "")]
        measures = pd.DataFrame([measure | changes | {"measure_id": f"M{k + 1}"} for k in range(len(places))])
        return evaluate_measures(
            measures, places, apart=APART, around=around, tally=tally, rng=np.random.default_rng(1)
        )

    return make


def test_the_row_holds_the_counts_and_kilometres_of_both_sides(judge, tally):
    row = judge(tally()).table.iloc[0]
    assert (row["deaths_before"], row["deaths_after"]) == (26, 5)
    assert (row["km_before"], row["km_after"]) == (pytest.approx(12.0), pytest.approx(12.0))  # 10 x 0.6 km x 2 years
    assert row["control_deaths_before"] == row["control_deaths_after"] == 2 * row["n_controls"]
    assert list(judge(tally()).table.columns) == list(COLUMNS)


def test_the_ratio_is_the_hand_computed_one(judge, tally):
    # (5 / 12 km) / (26 / 12 km), the controls alike before and after: 5 / 26.
    row = judge(tally()).table.iloc[0]
    assert row["ratio"] == pytest.approx(5 / 26, rel=1e-6)
    assert row["verdict"].startswith("fewer deaths than expected without it")


def test_the_correction_takes_some_of_the_fall_back(judge, tally):
    row = judge(tally(inside=(5, 5, 2, 3))).table.iloc[0]
    assert row["expected_before"] < row["deaths_before"]
    assert row["ratio_corrected"] > row["ratio"]


def test_no_change_is_not_called_a_fall(judge, tally):
    row = judge(tally(inside=(8, 9, 8, 9))).table.iloc[0]
    assert row["verdict"].startswith("not shown")
    assert row["ratio_low"] < 1.0 < row["ratio_high"]


def test_deaths_that_moved_to_the_ends_are_seen(judge, tally):
    row = judge(tally(inside=(12, 14, 0, 1), ends=(1, 1, 12, 13))).table.iloc[0]
    assert row["ends_low"] > 1.0
    assert row["with_ends_high"] > 1.0
    assert "ends" in row["verdict"]


def test_a_stretch_that_was_never_searched_before_is_left_out_on_both_sides(judge, tally):
    km = np.full((4, N), 0.6)
    km[:2, 100:105] = 0.0
    full = tally(inside=(0, 0, 0, 0))
    full.deaths[:, 107] = (9, 9, 2, 2)
    row = judge(Tally(full.year, full.since, full.deaths, km)).table.iloc[0]
    assert (row["km_before"], row["km_after"]) == (pytest.approx(6.0), pytest.approx(6.0))
    assert (row["deaths_before"], row["deaths_after"]) == (18, 4)


def test_what_came_after_it_was_taken_away_is_not_counted(judge, tally):
    whole = tally(inside=(12, 14, 2, 40))
    since = np.array(["", "", "2024-03-01", "2025-01-01"], dtype=object)
    row = judge(Tally(whole.year, since, whole.deaths, whole.km), removed_on="2025-01-01").table.iloc[0]
    assert row["deaths_after"] == 2


def test_two_measures_on_one_road_say_that_they_cannot_be_told_apart(judge, tally):
    place = MeasurePlace(INSIDE, ENDS, "")
    table = judge(tally(), places=[place, place]).table
    assert table["note"].tolist() == [
        "M2 acts on the same road: their effects cannot be told apart",
        "M1 acts on the same road: their effects cannot be told apart",
    ]


def test_one_that_cannot_be_judged_stands_beside_one_that_can(judge, tally):
    nowhere = MeasurePlace(np.zeros(N, bool), np.zeros(N, bool), "it lies on no road of the layer")
    table = judge(tally(), places=[MeasurePlace(INSIDE, ENDS, ""), nowhere]).table
    assert table["verdict"].iloc[1] == "cannot be judged: it lies on no road of the layer"
    assert np.isnan(table["ratio"].iloc[1])


def test_no_measure_is_not_enough_data(around, tally):
    with pytest.raises(NotEnoughDataError, match="no measure on file"):
        evaluate_measures(
            pd.DataFrame(columns=["measure_id", "kind", "built_on", "removed_on"]),
            [],
            apart=APART,
            around=around,
            tally=tally(),
            rng=np.random.default_rng(1),
        )


def without(spans: slice) -> np.ndarray:
    km = np.full((4, N), 0.6)
    km[spans] = 0.0
    return km


@pytest.mark.parametrize(
    ("km", "missing"),
    [(without(slice(0, 2)), "before it was built"), (without(slice(2, 4)), "after it was built")],
)
def test_no_search_before_or_after_is_said(judge, tally, km, missing):
    with pytest.raises(NotEnoughDataError, match=f"M1: no search on its road {missing}"):
        judge(tally(km=km))


def test_too_few_deaths_are_said_with_their_number(judge, tally):
    with pytest.raises(NotEnoughDataError, match="4 deaths found on searches on its road"):
        judge(tally(inside=(2, 1, 1, 0)))


def test_an_unknown_day_of_building_is_said(judge, tally):
    with pytest.raises(NotEnoughDataError, match="the day it was built is not on file"):
        judge(tally(), built_on=None)


def test_the_same_seed_gives_the_same_row(judge, tally):
    pd.testing.assert_frame_equal(judge(tally()).table, judge(tally()).table)


def test_with_traffic_on_file_the_notes_name_it_for_each_measure(judge, tally, around):
    busy = np.where(np.arange(N) % 50 < 25, 500.0, 4000.0)
    found = evaluate_measures(
        pd.DataFrame([{"measure_id": "M1", "kind": "fence", "built_on": "2024-03-01", "removed_on": None}]),
        [MeasurePlace(INSIDE, ENDS, "")],
        apart=APART,
        around=replace(around, traffic=busy),
        tally=tally(),
        rng=np.random.default_rng(1),
    )
    assert "M1: rates before are drawn towards those of sections alike in traffic." in found.notes
    assert any(note.startswith("M1: rates before are drawn towards the county's mean") for note in judge(tally()).notes)


def test_records_that_lie_partly_inside_count_in_parts(judge, tally):
    part = tally()
    part.deaths[3, 104] -= 0.4
    row = judge(part).table.iloc[0]
    assert row["deaths_after"] == pytest.approx(4.6)
    assert row["ratio"] == pytest.approx(4.6 / 26, rel=1e-6)


@pytest.mark.parametrize(("inside", "same"), [((12.2, 14, 2, 2.3), (12, 14, 2, 2)), ((9, 9.4, 0.4, 0), (9, 9, 0, 0))])
def test_the_exact_interval_of_counts_in_parts_is_that_of_whole_ones(judge, tally, inside, same):
    first, second = (judge(tally(inside=counts)).table.iloc[0] for counts in (inside, same))
    assert first["model"] == second["model"] == "exact conditional"
    for name in ("ratio_low", "ratio_high", "p_value"):
        assert first[name] == pytest.approx(second[name], rel=1e-9)


def test_a_road_searched_on_one_half_before_and_the_other_after_cannot_be_judged(judge, tally):
    km = np.full((4, N), 0.6)
    km[:2, 100:105] = 0.0
    km[2:, 105:110] = 0.0
    with pytest.raises(NotEnoughDataError, match="no piece of its road was searched both before and after"):
        judge(tally(km=km))


def test_without_any_other_searched_road_there_is_nothing_to_compare_with(judge, tally):
    km = np.where(INSIDE | ENDS, 0.6, 0.0) * np.ones((4, 1))
    with pytest.raises(NotEnoughDataError, match="no other road was searched both before and after to compare with"):
        judge(tally(km=km))


def test_fewer_than_five_deaths_before_on_all_road_teach_no_spread_of_rates(judge, tally):
    few = tally(inside=(2, 1, 9, 9))
    few.deaths[:2, ~INSIDE] = 0.0
    with pytest.raises(NotEnoughDataError, match="fewer than 5 deaths were found on searches before it was built"):
        judge(few)


def test_ends_without_any_death_are_left_blank_and_not_called_a_change(judge, tally):
    row = judge(tally(ends=(0, 0, 0, 0))).table.iloc[0]
    assert (row["ends_deaths_before"], row["ends_deaths_after"]) == (0, 0)
    assert np.isnan([row["ends_ratio"], row["ends_low"], row["ends_high"]]).all()
    assert "ends" not in row["verdict"]


def test_one_year_with_nearly_all_deaths_widens_the_interval_of_the_same_sum(judge, tally):
    even, odd = (judge(tally(inside=inside)).table.iloc[0] for inside in ((103, 103, 5, 6), (6, 200, 5, 6)))
    assert odd["model"] == "negative binomial"
    assert odd["ratio_high"] / odd["ratio_low"] > 3 * even["ratio_high"] / even["ratio_low"]
    assert odd["ratio_low"] < odd["ratio"] < odd["ratio_high"]
