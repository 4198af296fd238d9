"""The equivalent temperature against Georges' equation and integration; shares against curves worked by hand."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from roadwatch.errors import NotEnoughDataError, UsageError
from roadwatch.hatch.sex_ratio import COLUMNS, NOT_A_FACT, constant_temperature_equivalent, project_sexes
from roadwatch.hatch.temperatures import Weather

WORKED = [  # mean, half range, base, equivalent: worked out apart from Georges 1989
    (25, 0, 15, 25.0),
    (25, 5, 15, 27.1757),
    (25, 10, 15, 31.7361),
    (27, 4, 15.74, 28.3167),
    (27, 8, 15.74, 31.4526),
    (26, 6, 14, 28.6108),
    (23, 6, 15.74, 26.6563),
    (29, 4.26, 15.74, 30.2846),
    (22, 10, 16, 29.6481),  # crosses the base: by numerical integration
]


def equivalent(mean, half, base, *, steps=4000) -> float:
    low, high = np.array([[mean - half]]), np.array([[mean + half]])
    return float(
        constant_temperature_equivalent(low, high, base_c=np.array([base]), share_of_day=np.ones((1, 1)), steps=steps)[
            0
        ]
    )


@pytest.mark.parametrize(("mean", "half", "base", "expected"), WORKED)
def test_a_days_equivalent_is_the_one_worked_out_apart(mean, half, base, expected):
    assert equivalent(float(mean), float(half), float(base)) == pytest.approx(expected, abs=2e-3)
    assert equivalent(float(mean), float(half), float(base), steps=24) == pytest.approx(expected, abs=0.12)


@pytest.mark.parametrize(("mean", "half", "base"), [(26, 3, 15), (28, 9, 15.74), (30, 12, 17)])
def test_a_days_equivalent_solves_georges_equation(mean, half, base):
    # (M - T0) t + R sin t = pi (M - T0) / 2 on (0, pi), then M + R cos t; needs the whole day above the base
    t = brentq(lambda t: (mean - base) * t + half * np.sin(t) - np.pi * (mean - base) / 2, 0, np.pi)
    assert equivalent(float(mean), float(half), float(base)) == pytest.approx(mean + half * np.cos(t), abs=2e-3)


def test_half_of_the_development_of_several_days_happens_above_it():
    low, high, base = np.array([20.0, 18, 24]), np.array([30.0, 36, 28]), 16.0
    share = np.array([[0.4, 1.0, 0.7]])
    found = constant_temperature_equivalent(
        low[None], high[None], base_c=np.array([base]), share_of_day=share, steps=2000
    )[0]

    def above(level: float) -> float:
        def rate(t, k):
            temp = (low[k] + high[k]) / 2 + (high[k] - low[k]) / 2 * np.sin(2 * np.pi * t)
            return max(temp - base, 0.0) * (temp > level)

        return sum(share[0, k] * quad(rate, 0, 1, args=(k,), limit=500)[0] for k in range(3))

    assert above(found) == pytest.approx(above(-99.0) / 2, rel=0.01)


def test_days_outside_the_span_do_not_count():
    low, high = np.array([[20.0, 40.0]]), np.array([[30.0, 44.0]])
    one = constant_temperature_equivalent(low, high, base_c=np.array([15.0]), share_of_day=np.array([[1.0, 0.0]]))
    assert one[0] == pytest.approx(equivalent(25, 5, 15, steps=24))


def test_where_nothing_develops_there_is_no_equivalent():
    cold = constant_temperature_equivalent(
        np.array([[5.0]]), np.array([[10.0]]), base_c=np.array([15.0]), share_of_day=np.ones((1, 1))
    )
    assert np.isnan(cold[0])


def logged(mean: float, half: float = 0.0) -> Weather:
    """A logger that ran all year in the nest, invented."""
    return Weather(date(2024, 1, 1), np.full(366, mean - half), np.full(366, mean + half), "L")


@pytest.fixture
def row(years_of_weather, nest):
    def make(
        *, nest_c=None, half=0.0, region="SC_GA_coastal_plain", as_of=date(2024, 12, 31), checks=None, seed=1, **changes
    ):
        loggers = None if nest_c is None else {"L": logged(nest_c, half)}
        changes |= {} if nest_c is None else {"logger_id": "L"}
        return project_sexes(
            pd.DataFrame([nest(**changes)]),
            years_of_weather(),
            region=region,
            as_of=date(2024, 12, 31),
            rng=np.random.default_rng(seed),
            loggers=loggers,
            checks=checks,
        ).table.iloc[0]

    return make


def test_a_warm_nest_is_of_females_though_its_mean_lies_below_the_pivot(row):
    # Worked example: 29 +- 4.26 degrees, equivalent 30.28; pivot 29.1, steepness .1 to .2: nearly all females
    found = row(nest_c=29.0, half=4.26)
    assert found["cte_likely_c"] == pytest.approx(30.28, abs=0.15)
    assert found["females_likely"] > 0.98
    steady = row(nest_c=29.0)
    assert steady["cte_likely_c"] == pytest.approx(29.0, abs=0.05)
    assert steady["females_low"] < 0.2
    assert steady["females_high"] > 0.4


@pytest.mark.parametrize(("celsius", "low", "high"), [(26.0, 0.0, 0.01), (32.0, 0.99, 1.0)])
def test_far_from_the_pivot_the_share_is_sure(row, celsius, low, high):
    found = row(nest_c=celsius)
    assert low <= found["females_low"] <= found["females_likely"] <= found["females_high"] <= high


def test_an_uncertain_nest_has_a_wide_interval(row):
    measured, unmeasured = row(nest_c=31.5), row()
    assert measured["females_high"] - measured["females_low"] < unmeasured["females_high"] - unmeasured["females_low"]
    assert unmeasured["cte_high_c"] - unmeasured["cte_low_c"] > 2


def test_snappers_have_females_in_the_warm_and_in_the_cold(row):
    shares = [row(nest_c=celsius, taxon="Chelydra serpentina")["females_likely"] for celsius in (21.0, 24.5, 29.0)]
    assert shares[0] > 0.9
    assert shares[1] < 0.3
    assert shares[2] > 0.9


def test_regions_have_their_own_pivots(row):
    panhandle, coastal = (
        row(nest_c=26.0, taxon="Chelydra serpentina", region=region)["females_likely"]
        for region in ("FL_panhandle", "SC_GA_coastal_plain")
    )
    assert panhandle > 0.5 > coastal


@pytest.mark.parametrize(("celsius", "low", "high"), [(24.0, 0.0, 0.0), (31.5, 1.0, 1.0), (27.5, 0.0, 1.0)])
def test_a_bracket_gives_bounds_and_no_likely_share(row, celsius, low, high):
    # Two temperatures only: all males at 25, no males at 30 degrees
    found = row(nest_c=celsius, taxon="Pseudemys floridana")
    assert found["basis"] == "bracket"
    assert (found["females_low"], found["females_high"]) == (low, high)
    assert np.isnan(found["females_likely"])
    assert "bounds, not a likely share" in found["note"]


def test_genes_give_no_share(row):
    found = row(taxon="Apalone ferox")
    assert found["basis"] == "none"
    assert found[["females_low", "females_likely", "females_high"]].isna().all()
    assert "set by genes" in found["note"]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"taxon": "Terrapene carolina"}, "without a degree-day sum"),
        ({"taxon": "Kinosternon baurii"}, "pause"),
        ({"taxon": None}, "nobody named the taxon"),
        ({"laid_on": "2024-12-20", "found_at": "2024-12-20"}, "ends before its middle third"),
    ],
)
def test_where_there_is_no_share_the_reason_is_told(row, changes, words):
    found = row(**changes)
    assert found["basis"] == "none"
    assert words in found["note"]


def test_a_lost_nest_has_no_share_and_a_hatched_one_is_looked_back_upon(row):
    def seen(outcome):
        return pd.DataFrame({"nest_id": ["N1"], "checked_at": ["2024-09-01"], "outcome": [outcome]})

    assert row(checks=seen("depredated_full"))["basis"] == "none"
    for outcome in ("emerged", "emerging", "hatched_overwintering"):
        assert row(checks=seen(outcome))["basis"] == "curve"


def test_the_period_is_the_middle_third_of_the_sum(row):
    # By hand: at 28 degrees 804 / 12.26 = 65.6 days from 1 June noon; a third of them from day 22 to day 44
    found = row(nest_c=28.0)
    start, end = (date.fromisoformat(found[name]) for name in ("period_from", "period_to"))
    assert (start - date(2024, 6, 1)).days == pytest.approx(22, abs=1)
    assert (end - date(2024, 6, 1)).days == pytest.approx(44, abs=1)


def test_the_share_over_all_nests_is_told_with_its_interval_and_the_caution(years_of_weather, nest):
    found = project_sexes(
        pd.DataFrame([nest(), nest(nest_id="N2", exposure="open"), nest(nest_id="N3", taxon="Apalone ferox")]),
        years_of_weather(),
        region="FL_Suwannee",
        as_of=date(2024, 8, 1),
        rng=np.random.default_rng(1),
    )
    assert list(found.table.columns) == COLUMNS
    assert found.notes[0].startswith("Over the 2 nests with a curve")
    assert "1 of 3 nests have no share" in found.notes[1]
    assert found.notes[-1] == NOT_A_FACT


def test_the_same_seed_gives_the_same_shares(row):
    pd.testing.assert_series_equal(row(), row())
    assert row()["females_likely"] != row(seed=2)["females_likely"]


def test_a_coverage_that_is_no_share_and_a_region_that_is_not_known_are_refused(years_of_weather, nest):
    given = {"as_of": date(2024, 8, 1), "rng": np.random.default_rng(1)}
    with pytest.raises(UsageError, match="not between 0 and 1"):
        project_sexes(pd.DataFrame([nest()]), years_of_weather(), region="FL_Suwannee", coverage=1.5, **given)
    with pytest.raises(NotEnoughDataError, match="no region is named"):
        project_sexes(pd.DataFrame([nest()]), years_of_weather(), region=None, **given)
