from datetime import date

import pandas as pd
import pytest

from roadwatch.share.windows import MONTHS, months_of, with_windows

PLACES = [(-82.3, 29.6)] * 3


@pytest.mark.parametrize(
    ("today", "state"),
    [
        (date(2025, 7, 19), "not yet"),
        (date(2025, 7, 20), "open"),  # both ends belong to the window
        (date(2025, 8, 6), "open"),
        (date(2025, 8, 7), "over"),
    ],
)
def test_a_window_is_open_from_its_first_to_its_last_day(nests, windows, today, state):
    table = with_windows(nests(PLACES[:1]), windows([("2025-07-20", "2025-08-06")]), today=today)
    assert table["window_state"].tolist() == [state]


@pytest.mark.parametrize("span", [(None, None), ("2025-07-20", None), (None, "2025-08-06")])
def test_half_a_window_is_no_window(nests, windows, span):
    table = with_windows(nests(PLACES[:1]), windows([span]), today=date(2025, 8, 1))
    assert table["window_state"].tolist() == ["none"]


def test_a_nest_without_a_window_keeps_its_row_and_its_place(nests, windows):
    table = with_windows(nests(PLACES), windows([("2025-07-20", "2025-08-06")]), today=date(2025, 8, 1))
    assert table["nest_id"].tolist() == ["N0", "N1", "N2"]
    assert table["window_late"].tolist() == ["2025-08-06", None, None]


def test_windows_find_their_nest_whatever_the_order(nests, windows):
    spans = [("2025-07-01", "2025-07-09"), ("2025-08-01", "2025-08-09"), ("2025-09-01", "2025-09-09")]
    backwards = windows(spans).iloc[::-1]
    table = with_windows(nests(PLACES), backwards, today=date(2025, 8, 1))
    assert table["window_early"].tolist() == [span[0] for span in spans]


def test_without_any_projection_all_windows_are_none(nests):
    table = with_windows(nests(PLACES), None, today=date(2025, 8, 1))
    assert table["window_state"].tolist() == ["none"] * 3
    assert table["window_early"].tolist() == [None] * 3


def dated(*spans):
    return pd.DataFrame({"window_early": [s[0] for s in spans], "window_late": [s[1] for s in spans]}, dtype=object)


def test_months_reach_from_the_first_early_to_the_last_late_day():
    spans = [("2025-07-31", "2025-08-20"), ("2025-08-01", "2025-09-01"), ("2025-08-05", "2025-08-20")]
    assert months_of(dated(*spans)) == "July to September"


def test_windows_within_one_month_name_it_once():
    assert months_of(dated(*[("2025-08-01", "2025-08-31")] * 3)) == "August"


def test_windows_that_reach_into_the_next_year_keep_their_order():
    assert months_of(dated(*[("2025-11-20", "2026-02-10")] * 3)) == "November to February"


@pytest.mark.parametrize("n", [0, 1, 2])
def test_fewer_than_three_windows_name_no_month(n):
    blank = [(None, None)] * 5
    assert months_of(dated(*[("2025-08-01", "2025-08-31")] * n, *blank)) == ""


def test_the_months_are_the_twelve_of_the_calendar():
    # ISO 8601 numbers months from 01 for January to 12 for December.
    assert len(MONTHS) == 12
    assert (MONTHS[0], MONTHS[7], MONTHS[11]) == ("January", "August", "December")
