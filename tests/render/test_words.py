import numpy as np
import pandas as pd
import pytest

from roadwatch.render.words import hotspot_title, number, share, shown_value, texts_of, time_of


@pytest.mark.parametrize(
    ("value", "digits", "words"),
    [
        (12540.0, 0, "12540"),  # a nought at the end belongs to the number
        (100.0, 1, "100"),
        (2.345, 1, "2.3"),
        (0.0, 1, "0"),
        (-82.5, 1, "-82.5"),
        (0.0010, 4, "0.001"),
        (0.00004, 4, "0"),
        (np.float64(7.6), 1, "7.6"),
        (3, 1, "3"),
        (float("nan"), 1, ""),
        (None, 1, ""),
        (pd.NA, 1, ""),
        (pd.NaT, 1, ""),
        ("certain", 1, "certain"),
    ],
)
def test_numbers_lose_needless_digits_only(value, digits, words):
    assert number(value, digits=digits) == words


@pytest.mark.parametrize(("value", "words"), [(0.8, "80 %"), (1.0, "100 %"), ("likely", "likely"), (float("nan"), "")])
def test_shares_are_told_in_percent(value, words):
    assert share(value) == words


def test_a_hotspot_is_named_by_rank_road_and_stretch():
    row = {"rank": 1, "road": "County Road 12", "from_m": 340.0, "to_m": 610.4}
    assert hotspot_title(row) == "Hotspot 1: County Road 12, 340 to 610 m"
    assert hotspot_title({"rank": 2, "road": None, "from_m": np.nan, "to_m": 5.0}) == "Hotspot 2: unnamed road"


def test_a_ratio_never_stands_without_its_interval():
    table = pd.DataFrame({"ratio": [4.6, 1.7], "ratio_low": [2.4, np.nan], "ratio_high": [8.8, np.nan]})
    assert shown_value(table, "ratio") == ["4.6 (95 % interval 2.4 to 8.8)", "1.7"]


def test_years_and_mileposts_are_put_together():
    table = pd.DataFrame(
        {
            "years_present": [3, 1, np.nan],
            "years_searched": [3.0, np.nan, np.nan],
            "route_id": ["CR 12", None, None],
            "milepost_from": [7.791, np.nan, 1.0],
            "milepost_to": [8.748, np.nan, 1.5],
        }
    )
    assert shown_value(table, "years") == ["dead in 3 of 3 years searched", "dead in 1 year", ""]
    assert shown_value(table, "milepost") == ["CR 12 7.791 to 8.748", "", "1 to 1.5"]


def test_unknown_effort_is_told_as_counts_not_rates():
    table = pd.DataFrame({"basis": ["search", "unknown", "other"]})
    assert shown_value(table, "basis") == ["known, dead per km searched", "unknown: counts, not rates", "other"]


def test_a_column_that_is_missing_is_blank():
    assert shown_value(pd.DataFrame({"a": [1, 2]}), "deaths") == ["", ""]


def test_names_come_from_the_first_column_there_is():
    table = pd.DataFrame({"name": ["Pond", None, "  "]})
    assert texts_of(table, "road", "name", otherwise="Water") == ["Pond", "Water", "Water"]
    assert texts_of(table, "road", otherwise="Road") == ["Road"] * 3


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("2025-05-12T07:40:00-04:00", "2025-05-12 07:40 (UTC-04:00)"),
        ("2025-05-12T07:40", "2025-05-12 07:40"),
        ("2025-05-12", "2025-05-12"),
        ("some time in May", "some time in May"),
        (None, ""),
    ],
)
def test_times_keep_their_offset(written, words):
    assert time_of(written) == words
