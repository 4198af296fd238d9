"""A person who has to decide is told what speaks for and what against."""

import numpy as np
import pandas as pd
import pytest

from roadwatch.records.double_reasons import reasons_of
from roadwatch.records.doubles import propose_doubles

FIRST = {
    "observed_at": "2025-05-12",
    "condition": "dead",
    "taxon": "Trachemys scripta",
    "position_error_m": 10.0,
    "carapace_mm": 203.0,
    "carcass_age": "fresh",
    "observer": "Ann",
}


def reason(**changes):
    table = pd.DataFrame([FIRST, FIRST | {"observer": "Bea"} | changes])
    doubles = propose_doubles(table, np.array([0.0, 3.0]), np.zeros(2))
    (text,) = reasons_of(doubles, doubles.pairs.index)
    return text


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "3 m apart, positions good to 19 m; same day"),
        ({}, "names for (Trachemys scripta / Trachemys scripta)"),
        ({"carapace_mm": 205.0}, "size for (203 mm / 205 mm)"),
        ({"carapace_mm": 300.0}, "size against (203 mm / 300 mm)"),
        ({"carapace_mm": np.nan, "observer": "Ann"}, "who saw it against (Ann / Ann)"),
        ({}, "who saw it for (Ann / Bea)"),
        ({"observed_at": "2025-05-13", "carcass_age": "recent"}, "1 day apart"),
        ({"observed_at": "2025-05-16", "carcass_age": "fresh"}, "carcass age against (fresh / fresh)"),
        ({"observed_at": "2025-05-16", "carcass_age": "old"}, "4 days apart"),
        ({"count": 3.0}, "numbers of animals against (1 / 3)"),
        ({}, "nearer than chance"),
    ],
)
def test_the_reason_names_what_counts(changes, words):
    assert words in reason(**changes)


def test_a_copy_is_called_a_copy():
    at_noon = FIRST | {"observed_at": "2025-05-12T12:00:00-04:00", "notes": "by the culvert"}
    doubles = propose_doubles(pd.DataFrame([at_noon, at_noon]), np.array([0.0, 0.3]), np.zeros(2))
    assert reasons_of(doubles, doubles.pairs.index)[0].endswith("reads like a copy of the same record")


def test_what_says_nothing_is_not_named():
    assert "sex" not in reason()
    assert "what was done" not in reason()


def test_minutes_are_given_for_the_living():
    alive = {"condition": "alive", "observed_at": "2025-05-12T08:00:00-04:00"}
    table = pd.DataFrame([FIRST | alive, FIRST | alive | {"observed_at": "2025-05-12T08:07:00-04:00"}])
    doubles = propose_doubles(table, np.zeros(2), np.zeros(2))
    assert "7 minutes apart" in reasons_of(doubles, doubles.pairs.index)[0]


def test_no_pair_has_no_reason():
    doubles = propose_doubles(pd.DataFrame([FIRST]), np.zeros(1), np.zeros(1))
    assert reasons_of(doubles, doubles.pairs.index) == []
