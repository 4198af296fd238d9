from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.hatch.degree_days import CURVES, degree_days, next_lows
from roadwatch.units import celsius_degree_days, celsius_from_fahrenheit

# Zalom et al. 1983, Table 7 (degrees F, lower 55, upper 90, horizontal): low, high, next low, then single triangle,
# double triangle, single sine, double sine.
ZALOM = [
    (96, 110, 91, 35.00, 35.00, 35.00, 35.00),
    (91, 105, 96, 35.00, 35.00, 35.00, 35.00),
    (45, 54, 38, 0.0, 0.0, 0.0, 0.0),
    (38, 50, 45, 0.0, 0.0, 0.0, 0.0),
    (60, 80, 75, 15.00, 18.75, 15.00, 18.75),
    (75, 88, 60, 26.50, 22.75, 26.50, 22.75),
    (50, 82, 45, 11.39, 10.62, 11.85, 11.31),
    (45, 70, 50, 4.50, 5.06, 5.31, 5.70),
    # The printed double triangle is 24.88, a misprint: half of 23.75 and half of (75, 100), which is 30.50, by hand.
    (60, 100, 75, 23.75, 27.125, 22.82, 26.26),
    (75, 95, 60, 29.38, 25.76, 28.91, 25.30),
    (50, 101, 48, 19.56, 19.19, 18.95, 18.69),
    (48, 95, 50, 16.76, 17.13, 16.96, 17.23),
]

# McMaster & Wilhelm 1997, Table 1 (degrees C, base 0): high, low, method 1 and method 2.
MCMASTER = [
    (20, 10, 15, 15),
    (10, 1, 5.5, 5.5),
    (8, -2, 3, 4),
    (6, 0, 3, 3),
    (10, 5, 7.5, 7.5),
    (5, -5, 0, 2.5),
    (-2, -7, 0, 0),
    (-5, -10, 0, 0),
    (10, -2, 4, 5),
    (15, 2, 8.5, 8.5),
]

# Six days at Esparto, California, January 2020: published daily values, seen second-hand (degrees F, lower 55,
# upper 93.9; next low of the last day 30).
ESPARTO_LOW, ESPARTO_HIGH = [38, 36, 33, 37, 38, 36], [55, 67, 59, 59, 63, 58]
ESPARTO = {
    ("triangle", False): [0, 2.32, 0.31, 0.36, 1.28, 0.20],
    ("sine", False): [0, 3.31, 0.68, 0.74, 1.99, 0.48],
    ("triangle", True): [0, 2.22, 0.34, 0.37, 1.23, 0.18],
    ("sine", True): [0, 3.23, 0.71, 0.75, 1.95, 0.45],
}

CELSIUS = st.floats(-20, 45, allow_nan=False, width=32)
DAYS = st.tuples(CELSIUS, st.floats(0, 30, width=32)).map(lambda pair: (pair[0], pair[0] + pair[1]))
CURVE = st.sampled_from(sorted(CURVES))
CUTOFF = st.sampled_from(["none", "horizontal", "intermediate", "vertical"])


def one_day(low, high, **options) -> float:
    return float(degree_days(np.array([low], float), np.array([high], float), **options)[0])


@pytest.mark.parametrize(
    ("curve", "double", "column"), [("triangle", 0, 3), ("triangle", 1, 4), ("sine", 0, 5), ("sine", 1, 6)]
)
def test_the_published_table_of_twelve_days_is_met_by_each_method(curve, double, column):
    table = np.array(ZALOM, float)
    after = table[:, 2] if double else None
    found = degree_days(table[:, 0], table[:, 1], base_c=55, upper_c=90, curve=curve, next_low_c=after)
    np.testing.assert_allclose(found, table[:, column], atol=0.0051)


@pytest.mark.parametrize(("curve", "column"), [("simple", 2), ("simple_clamped", 3)])
def test_both_readings_of_the_averaging_equation_meet_their_published_table(curve, column):
    table = np.array(MCMASTER, float)
    np.testing.assert_array_equal(degree_days(table[:, 1], table[:, 0], base_c=0, curve=curve), table[:, column])


@pytest.mark.parametrize(("curve", "double"), list(ESPARTO))
def test_a_published_week_in_january_is_met(curve, double):
    low, high = np.array(ESPARTO_LOW, float), np.array(ESPARTO_HIGH, float)
    after = np.append(low[1:], 30.0) if double else None
    found = degree_days(low, high, base_c=55, upper_c=93.9, curve=curve, next_low_c=after)
    np.testing.assert_allclose(found, ESPARTO[curve, double], atol=0.0051)


@pytest.mark.parametrize(("curve", "expected"), [("sine", 0.47), ("triangle", 0.29)])
def test_the_worked_example_of_a_thermal_ecology_package_is_met(curve, expected):
    # TrenchR (R package), help page of its degree-day function: 7 to 14 degrees C, lower 12, upper 33.
    assert one_day(7, 14, base_c=12, upper_c=33, curve=curve) == pytest.approx(expected, abs=0.0051)


def course(curve: str, low: float, high: float, phase: float) -> float:
    """Temperature at a phase from 0 (the low) to 1 (the high): half the day, the other half mirrors it."""
    if curve == "sine":
        return (low + high) / 2 + (high - low) / 2 * np.sin(np.pi * (phase - 0.5))
    if curve == "triangle":
        return low + (high - low) * phase
    if curve == "simple":
        return (low + high) / 2
    return low if phase < 0.5 else high


def rate(temperature: float, base: float, upper: float, cutoff: str) -> float:
    """Development at an instant, written out case by case."""
    if temperature <= base:
        return 0.0
    if cutoff == "none" or temperature <= upper:
        return temperature - base
    if cutoff == "horizontal":
        return upper - base
    return max(2 * upper - base - temperature, 0.0) if cutoff == "intermediate" else 0.0


def by_quadrature(low, high, base, upper, curve, cutoff) -> float:
    levels = (base, upper, 2 * upper - base) if curve in ("sine", "triangle") else ()
    # Only where the course itself, as rounded, lies on both sides of a level is there a crossing to look for.
    crossed = [level for level in levels if course(curve, low, high, 0) < level < course(curve, low, high, 1)]
    breaks = [brentq(lambda phase, at=at: course(curve, low, high, phase) - at, 0, 1, xtol=1e-14) for at in crossed]
    parts = pairwise([0.0, *sorted([0.5, *breaks]), 1.0])
    return sum(
        quad(lambda phase: rate(course(curve, low, high, phase), base, upper, cutoff), start, end, epsabs=1e-9)[0]
        for start, end in parts
        if end > start
    )


@pytest.mark.parametrize(("curve", "cutoff"), list(product(CURVES, ["none", "horizontal", "intermediate", "vertical"])))
@pytest.mark.parametrize(
    ("low", "high"), [(17, 29), (25, 37), (10, 40), (-5, 70), (5, 10), (36, 44), (15, 16), (20, 20), (33, 35), (5, 90)]
)
def test_every_curve_and_cutoff_agrees_with_numerical_integration(curve, cutoff, low, high):
    found = one_day(low, high, base_c=15.74, upper_c=33, curve=curve, cutoff=cutoff)
    assert found == pytest.approx(by_quadrature(low, high, 15.74, 33, curve, cutoff), abs=1e-6)


@given(
    day=DAYS, base=st.floats(0, 20), width=st.floats(1, 30), curve=st.sampled_from(["sine", "triangle"]), cutoff=CUTOFF
)
def test_any_day_agrees_with_numerical_integration(day, base, width, curve, cutoff):
    low, high = day
    found = one_day(low, high, base_c=base, upper_c=base + width, curve=curve, cutoff=cutoff)
    assert found == pytest.approx(by_quadrature(low, high, base, base + width, curve, cutoff), abs=1e-5)


@given(day=DAYS)
def test_the_quarter_rule_of_the_weather_services_is_the_chord_of_the_triangle(day):
    # Rule of the Met Office and Met Eireann: middle - base on warm days, quarters and halves of the distances on
    # crossed ones. By hand: it joins the triangle's parabola at its ends and middle, so it lies above it by at most
    # 1/32 of the day's range.
    base, (low, high) = 10.0, day
    middle = (low + high) / 2
    if low >= base:
        rule = middle - base
    elif high <= base:
        rule = 0.0
    else:
        rule = (high - base) / 2 - (base - low) / 4 if middle > base else (high - base) / 4
    excess = rule - one_day(low, high, base_c=base, curve="triangle")
    assert -1e-9 <= excess <= (high - low) / 32 + 1e-9


@pytest.mark.parametrize("curve", CURVES)
@pytest.mark.parametrize(("celsius", "expected"), [(5.0, 1.0), (4.0, 0.0), (3.0, 0.0)])
def test_a_day_without_a_wave_counts_its_own_excess(curve, celsius, expected):
    assert one_day(celsius, celsius, base_c=4.0, upper_c=30.0, curve=curve) == expected


@pytest.mark.parametrize(
    ("cutoff", "expected"), [("none", 21), ("horizontal", 20), ("intermediate", 19), ("vertical", 0)]
)
def test_each_cutoff_does_what_its_name_says_on_a_flat_hot_day(cutoff, expected):
    # By hand: 31 degrees all day, base 10, upper 30.
    assert one_day(31, 31, base_c=10, upper_c=30, cutoff=cutoff) == pytest.approx(expected, abs=1e-12)


def test_the_falling_rate_ends_at_zero_and_not_below():
    # By hand: base 10, upper 30, so nothing develops from 50 on.
    assert one_day(60, 60, base_c=10, upper_c=30, cutoff="intermediate") == 0.0


@given(day=DAYS, curve=CURVE, cutoff=st.sampled_from(["none", "horizontal"]), warmer=st.floats(0, 10))
def test_a_warmer_day_never_counts_less(day, curve, cutoff, warmer):
    low, high = day
    cool = one_day(low, high, base_c=12, upper_c=33, curve=curve, cutoff=cutoff)
    assert one_day(low + warmer, high + warmer, base_c=12, upper_c=33, curve=curve, cutoff=cutoff) >= cool - 1e-9


@given(day=DAYS, curve=CURVE, cutoff=CUTOFF)
def test_degree_days_are_never_negative(day, curve, cutoff):
    assert one_day(*day, base_c=12, upper_c=33, curve=curve, cutoff=cutoff) >= 0


@given(days=st.lists(DAYS, min_size=2, max_size=9), curve=CURVE)
def test_days_taken_together_are_the_days_taken_one_by_one(days, curve):
    low, high = np.array(days, float).T
    together = degree_days(low, high, base_c=12, upper_c=33, curve=curve)
    np.testing.assert_array_equal(together, [one_day(*day, base_c=12, upper_c=33, curve=curve) for day in days])


@given(day=DAYS, curve=st.sampled_from(["sine", "triangle"]))
def test_fahrenheit_degree_days_convert_without_the_offset_of_32(day, curve):
    low_f, high_f = (value * 1.8 + 32 for value in day)
    in_f = one_day(low_f, high_f, base_c=50, upper_c=90, curve=curve)
    in_c = one_day(*day, base_c=10, upper_c=celsius_from_fahrenheit(90), curve=curve)
    assert celsius_degree_days(in_f) == pytest.approx(in_c, abs=1e-9)


@pytest.mark.parametrize("curve", CURVES)
@pytest.mark.parametrize("cutoff", ["none", "horizontal", "intermediate", "vertical"])
def test_a_missing_day_stays_missing_and_spares_its_neighbours(curve, cutoff):
    low, high = np.array([10.0, np.nan, 12.0, 11.0]), np.array([30.0, 31.0, np.nan, 31.0])
    found = degree_days(low, high, base_c=15, upper_c=30, curve=curve, cutoff=cutoff)
    np.testing.assert_array_equal(np.isnan(found), [False, True, True, False])


def test_a_low_above_its_high_is_refused_with_the_first_such_day():
    low, high = np.array([10.0, 25.0, 30.0]), np.array([20.0, 24.0, 20.0])
    with pytest.raises(UnfitFileError, match=r"^day 2: the low 25 is above the high 24; correct that day"):
        degree_days(low, high, base_c=10)


def test_the_first_such_day_is_found_among_several_rows():
    low, high = np.array([[1.0, 1.0, 9.0], [1.0, 8.0, 1.0]]), np.full((2, 3), 5.0)
    with pytest.raises(UnfitFileError, match=r"^day 2: the low 8 is above the high 5"):
        degree_days(low, high, base_c=0)


def test_an_upper_limit_below_the_base_is_refused():
    with pytest.raises(UsageError, match="the upper temperature 9 is below the base 10"):
        one_day(10, 20, base_c=10, upper_c=9)


@pytest.mark.parametrize(
    ("option", "match"),
    [({"curve": "cubic"}, "'cubic' is not a curve"), ({"cutoff": "soft"}, "'soft' is not a cut-off")],
)
def test_an_unknown_method_is_refused_and_the_known_ones_named(option, match):
    with pytest.raises(UsageError, match=match):
        one_day(10, 20, base_c=10, **option)


def test_no_days_give_no_degree_days():
    assert degree_days(np.array([]), np.array([]), base_c=10).shape == (0,)


def test_bases_and_rows_broadcast_against_the_days():
    low, high = np.full((2, 1, 5), 20.0), np.full((2, 1, 5), 20.0)
    found = degree_days(low, high, base_c=np.array([[10.0], [12.0], [30.0]]))
    np.testing.assert_array_equal(found[1, :, 4], [10.0, 8.0, 0.0])


def test_the_double_method_is_the_single_one_where_every_night_is_alike():
    low, high = np.full(5, 12.0), np.full(5, 30.0)
    options = {"base_c": 15.0, "upper_c": 28.0}
    np.testing.assert_allclose(
        degree_days(low, high, next_low_c=next_lows(low), **options), degree_days(low, high, **options)
    )


def test_the_last_day_keeps_its_own_low_for_the_night_that_is_not_known():
    np.testing.assert_array_equal(next_lows(np.array([1.0, 2.0, 3.0])), [2.0, 3.0, 3.0])


def test_a_night_warmer_than_the_day_counts_as_a_rise():
    # By hand: half of a flat day at 20, half of a triangle from 20 up to 24, both above 15.
    found = degree_days(np.array([20.0]), np.array([20.0]), base_c=15, curve="triangle", next_low_c=np.array([24.0]))
    assert found[0] == pytest.approx((5 + 7) / 2)


def test_a_base_between_the_day_and_a_warmer_night_is_crossed_on_the_rise():
    # By hand: a flat day at 20 gives nothing above 22; a triangle from 20 to 24 is above it by half a degree.
    found = degree_days(np.array([20.0]), np.array([20.0]), base_c=22, curve="triangle", next_low_c=np.array([24.0]))
    assert found[0] == pytest.approx((0 + 0.5) / 2)
