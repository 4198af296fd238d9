"""Windows of the year and the day, and seasons that stand alone."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from roadwatch.hotspots.seasons import counted, is_one_season, shortest_window, timing

DAYS = [150, 152, 155, 158, 160, 161, 163, 165, 166, 170, 172, 175, 180, 190, 240, 245, 250, 251, 255, 262]


@pytest.mark.parametrize(
    ("share", "first", "last", "days"), [(0.5, 150, 170, 21), (0.8, 150, 245, 96), (0.9, 150, 251, 102)]
)
def test_the_shortest_window_by_hand(share, first, last, days):
    window = shortest_window(np.array(DAYS, dtype=float), period=366.0, share=share)
    assert (window.first, window.last, window.length + 1) == (first, last, days)


def test_a_window_may_go_round_the_turn_of_the_year_or_of_the_day():
    window = shortest_window(np.array([360.0, 362.0, 3.0, 5.0, 180.0]), period=366.0)
    assert (window.first, window.last, window.length) == (360.0, 5.0, 11.0)
    assert shortest_window(np.array([23.0, 1.0, 22.0, 0.5, 12.0]), period=24.0).last == 1.0


@pytest.mark.parametrize("shift", [17.0, 200.0, 365.0])
def test_turning_the_circle_turns_the_window(shift):
    values = np.array(DAYS, dtype=float)
    turned = shortest_window((values + shift) % 366.0, period=366.0)
    assert turned.length == shortest_window(values, period=366.0).length
    assert turned.first == (150.0 + shift) % 366.0


def test_no_shorter_interval_holds_as_many():
    rng = np.random.default_rng(3)
    values = rng.uniform(0.0, 366.0, 30)
    window = shortest_window(values, period=366.0)
    after = (values - values[:, None]) % 366.0
    assert min(np.sort(row)[23] for row in after) == pytest.approx(window.length)  # 24 of 30 are 80 %


def test_timing_tells_month_days_and_hours_of_those_that_state_them():
    dates = ["2021-05-30", "2022-06-01", "2023-06-02", "2024-06-04", "2021-09-09"]
    times = [f"{date}T{hour}:30:00-04:00" for date, hour in zip(dates, ["07", "08", "09", "10", "22"], strict=True)]
    told = timing(pd.DataFrame({"date": dates, "observed_at": times}))
    assert (told["window_from"], told["window_to"], told["window_days"]) == ("05-30", "06-04", 6.0)
    assert (told["hour_from"], told["hour_to"]) == (7.5, 10.5)
    assert np.isnan(timing(pd.DataFrame({"date": dates, "observed_at": dates}))["hour_from"])


def test_the_29th_of_february_has_its_day():
    told = timing(pd.DataFrame({"date": ["2024-02-29"] * 5}))
    assert (told["window_from"], told["window_days"]) == ("02-29", 1.0)


def test_fewer_than_five_records_have_no_window():
    told = timing(pd.DataFrame({"date": ["2024-05-01"] * 4}))
    assert told["window_from"] is None
    assert np.isnan(told["window_days"])


@pytest.mark.parametrize(
    ("by_year", "effort", "one"),
    [
        ([9, 2, 1], [1, 1, 1], True),
        ([4, 4, 4], [1, 1, 1], False),
        ([3, 0, 0], [1, 1, 1], True),
        ([9, 2, 1], [10, 1, 1], False),
        ([9, 0, 0], [1, 0, 0], False),
        ([0, 0, 0], [1, 1, 1], False),
        ([50, 25, 25], [1, 1, 1], False),
    ],
    ids=["mostly one", "even", "only one", "one searched more", "one year searched", "none", "a good year of many"],
)
def test_records_of_one_season_are_told_from_those_of_all(by_year, effort, one):
    assert is_one_season(np.array(by_year, dtype=float), np.array(effort, dtype=float)) is one


def test_even_years_are_rarely_called_one_season():
    rng = np.random.default_rng(6)
    called = sum(is_one_season(rng.multinomial(12, [0.25] * 4).astype(float), np.ones(4)) for _ in range(2000))
    assert called <= stats.binom.ppf(0.999, 2000, 0.05)


def test_nine_of_twelve_in_one_of_three_years_by_the_binomial_table():
    # P(X >= 9), X ~ B(12, 1/3) = .00386; three years: .0116
    assert 3 * stats.binom.sf(8, 12, 1 / 3) == pytest.approx(0.0116, abs=1e-4)
    # eight of twelve: 3 x .0188 = .056 is no longer rare enough
    assert is_one_season(np.array([9.0, 2.0, 1.0]), np.ones(3))
    assert not is_one_season(np.array([8.0, 2.0, 2.0]), np.ones(3))


def test_words_are_counted_with_the_unsaid_last():
    assert (
        counted(pd.Series(["male", "female", None, "female", "unknown", ""]))
        == "female 2, male 1, not said 2, unknown 1"
    )
