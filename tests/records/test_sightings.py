"""Records become arrays: places, days, minutes, states and words as numbers."""

import numpy as np
import pandas as pd
import pytest

from roadwatch.records.sightings import DEAD, LIVING, UNTOLD, Sightings, coded, numbers, words


def seen(*rows, x_m=None, **places):
    first = {"observed_at": "2025-05-12", "condition": "dead"}
    table = pd.DataFrame([first | row for row in rows])
    x_m = np.zeros(len(table)) if x_m is None else np.array(x_m)
    return Sightings.of(table, x_m, np.zeros(len(table)), **places)


def test_days_and_minutes_count_from_1970():
    # by hand: 12 May 2025 is day 20220 after 1 January 1970
    found = seen({}, {"observed_at": "2025-05-12T08:14:00-04:00"})
    assert found.day.tolist() == [20220, 20220]
    assert np.isnan(found.minute[0])
    assert found.minute[1] == 20220 * 1440 + 8 * 60 + 14, "local time"


def test_states():
    rows = [{"condition": word} for word in ("dead", "alive", "injured", "unknown", None)]
    assert seen(*rows).state.tolist() == [DEAD, LIVING, LIVING, UNTOLD, UNTOLD]


@pytest.mark.parametrize(("error_m", "sd_m"), [(30.0, 20.0), (1.0, 4.0), (np.nan, 20.0)])
def test_the_error_is_a_radius_of_two_thirds_and_never_better_than_four_metres(error_m, sd_m):
    # a round normal error holds 68 % within 1.51 standard deviations of one axis (Rayleigh quantile)
    assert seen({"position_error_m": error_m}).sd_m == pytest.approx([sd_m])


def test_distance_is_along_the_road_on_one_edge_and_straight_otherwise():
    places = {"edge": np.array([1, 1, 2, -1, -1]), "offset_m": np.array([0.0, 70.0, 5.0, np.nan, np.nan])}
    found = seen({}, {}, {}, {}, {}, x_m=[0, 50, 30, 10, 13], **places)
    assert found.apart_m(np.array([0, 0, 3]), np.array([1, 2, 4])).tolist() == [70, 30, 3]


def test_the_earlier_comes_first_by_the_minute_where_both_have_one():
    rows = [
        {"observed_at": "2025-05-12T18:00:00-04:00"},
        {"observed_at": "2025-05-12T08:00:00-04:00"},
        {"observed_at": "2025-05-12"},
        {"observed_at": "2025-05-11"},
    ]
    left, right = seen(*rows).earlier_first(np.array([0, 0, 2]), np.array([1, 2, 3]))
    assert list(zip(left.tolist(), right.tolist(), strict=True)) == [(1, 0), (0, 2), (3, 2)]


def test_words_are_compared_without_capitals_and_spaces():
    column = coded(pd.Series(["Ann", " ann", "BEA", None, "unknown"]), blanks=("unknown",))
    assert column.code.tolist() == [0, 0, 1, -1, -1]
    assert column.share == pytest.approx([2 / 3, 1 / 3])
    assert column.same(np.array([0, 0, 3]), np.array([1, 2, 4])).tolist() == [True, False, False]
    assert column.both(np.array([0, 0]), np.array([2, 3])).tolist() == [True, False]


def test_a_missing_column_is_blank():
    table = pd.DataFrame({"a": [1, 2]})
    assert words(table, "b").isna().all()
    assert np.isnan(numbers(table, "b")).all()


def test_words_not_in_the_order_are_blank():
    found = seen({"carcass_age": "old"}, {"carcass_age": "ripe"}, {"carcass_age": None})
    assert found.numbered("carcass_age", ["fresh", "old"]).tolist() == [1, -1, -1]
