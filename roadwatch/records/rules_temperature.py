"""Rules on temperature series: a day, a value, low below high, and nothing that the series itself makes absurd."""

from __future__ import annotations

import numpy as np
import pandas as pd

from roadwatch.records.rules import CheckContext, Faulty, number_of, rule, text_of

FAR_FROM_MONTH_C = 25.0
FAR_FROM_MONTH_SPREADS = 10.0
"""A reading is absurd when it is this far from the median of its calendar month, both in degrees and in spreads."""

FEWEST_READINGS = 20
"""A month of fewer readings is not judged."""

_SPREAD_OF_MAD = 1.4826
"""Turns a median absolute deviation into a standard deviation for normal data (common practice, no source)."""

_VALUES = ("tmin_c", "tmax_c", "temp_c")


@rule(
    "a reading has its day or its time",
    kinds=("temperatures",),
    severity="hold back",
    columns=("date", "at"),
    fault="date and at are both missing",
    cure="write date for a daily low and high, or at for a single reading",
)
def is_undated(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Neither day nor time."""
    return ((text_of(table, "date") == "") & (text_of(table, "at") == "")).to_numpy(dtype=bool)


@rule(
    "a low is not above its high",
    kinds=("temperatures",),
    severity="hold back",
    columns=("tmin_c", "tmax_c"),
    fault="tmin_c {tmin_c} lies above tmax_c {tmax_c}",
    cure="change the two over, or correct one",
)
def is_low_above_high(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """The low of a day lies above its high."""
    is_above: Faulty = number_of(table, "tmin_c") > number_of(table, "tmax_c")
    return is_above


@rule(
    "a temperature is possible for its own series and month",
    kinds=("temperatures",),
    severity="hold back",
    columns=_VALUES,
    fault="{found} lies more than 25 degrees C and ten spreads from what this series has in that month",
    cure="look it up in the original; a lost or added minus sign and degrees F among degrees C are the usual slips",
)
def is_absurd_for_its_month(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Far from the month's median, measured in degrees and in robust spreads of the series itself."""
    day = text_of(table, "date").where(text_of(table, "date") != "", text_of(table, "at"))
    groups = [text_of(table, "series_id"), text_of(table, "kind"), day.str[5:7]]
    judged = [_is_far_from_median(pd.Series(number_of(table, name), index=table.index), groups) for name in _VALUES]
    is_absurd: Faulty = np.any(judged, axis=0)
    return is_absurd


def _is_far_from_median(values: pd.Series, groups: list[pd.Series]) -> Faulty:
    away = (values - values.groupby(groups).transform("median")).abs()
    spread = away.groupby(groups).transform("median") * _SPREAD_OF_MAD
    is_many = values.groupby(groups).transform("count") >= FEWEST_READINGS
    is_far = (away > FAR_FROM_MONTH_C) & (away > FAR_FROM_MONTH_SPREADS * spread)
    return (is_far & is_many).to_numpy(dtype=bool)
