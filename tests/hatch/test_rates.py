"""Curves of development against their published form, worked values and numerical integration."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from roadwatch.errors import UnfitFileError
from roadwatch.hatch.development import hatch_tables, parameters_for
from roadwatch.hatch.rates import daily_development, dallwitz_higgins_rate, rate_of, schoolfield_rate
from roadwatch.hatch.window import project_windows

CURVE = {"b1": 2.2, "b2_c": 15.0, "b3_c": 31.5}


@pytest.fixture
def curve():
    """A set of basis ``dallwitz_higgins`` or another; invented numbers, not a turtle's."""

    def make(basis="dallwitz_higgins", numbers=(0.022, 15.0, 31.5)):
        slider = parameters_for("Trachemys scripta", development_region="deep_south", tables=hatch_tables())
        return replace(slider, basis=basis, curve=numbers, sum_se_dd=0.02)

    return make


def test_schoolfield_meets_a_value_worked_apart():
    # Worked by hand calculator from the published equation; rho 0.01, 18,000 and 80,000 cal, 36 degrees C
    found = schoolfield_rate(
        np.array([25.0]), rate_25=0.01, activation_cal=18_000, half_high_c=36.0, inhibition_cal=80_000
    )
    assert found[0] == pytest.approx(0.0099187668, abs=1e-9)


def test_schoolfield_is_half_inhibited_at_its_temperature():
    given = {"rate_25": 0.01, "activation_cal": 18_000.0, "half_high_c": 36.0}
    free = schoolfield_rate(np.array([36.0]), **given, inhibition_cal=0.0) * 2  # the bottom is then 1 + 1
    assert schoolfield_rate(np.array([36.0]), **given, inhibition_cal=80_000)[0] == pytest.approx(free[0] / 2)


@pytest.mark.parametrize(
    ("celsius", "rate"),
    [(20, 0.7529), (24, 1.3376), (28, 1.9021), (30, 2.1201), (32, 2.1928), (34, 1.7639), (36, 0.2700)],
)
def test_dallwitz_higgins_meets_values_worked_apart(celsius, rate):
    # Computed apart from the form of the curve (known from memory, as the table of sources says)
    assert dallwitz_higgins_rate(np.array([float(celsius)]), **CURVE)[0] == pytest.approx(rate, abs=1e-4)


def test_dallwitz_higgins_parameters_mean_what_their_names_say():
    best = minimize_scalar(lambda t: -dallwitz_higgins_rate(np.array(t), **CURVE), bounds=(25, 36), method="bounded")
    assert best.x == pytest.approx(31.604, abs=0.01)
    at = dallwitz_higgins_rate(np.array([15.0, 31.5]), **CURVE) / 2.2
    assert at[0] == pytest.approx(0.10266, abs=1e-5)
    assert at[1] == pytest.approx(0.99980, abs=1e-5)


def test_far_from_its_range_the_curve_is_zero_and_not_a_fault():
    found = dallwitz_higgins_rate(np.array([-40.0, 60.0, 100.0]), **CURVE)
    np.testing.assert_allclose(found, 0, atol=1e-3)


def test_a_day_of_a_curve_agrees_with_numerical_integration(curve):
    low, high = 20.0, 36.0
    one_day = daily_development(np.array([[low]]), np.array([[high]]), parameters=curve(), base_c=np.zeros((1, 1)))
    exact = quad(
        lambda t: rate_of(curve(), np.array((low + high) / 2 + (high - low) / 2 * np.sin(2 * np.pi * t))), 0, 1
    )
    assert one_day[0, 0] == pytest.approx(exact[0], rel=1e-3)


@pytest.mark.parametrize(
    ("basis", "numbers"), [("schoolfield", (0.01, 18_000.0)), ("dallwitz_higgins", (1.0,)), ("schoolfield", ())]
)
def test_a_curve_with_too_few_numbers_names_those_it_needs(curve, basis, numbers):
    with pytest.raises(UnfitFileError, match=f"a {basis} curve needs"):
        rate_of(curve(basis, numbers), np.array([25.0]))


@pytest.mark.parametrize(
    ("basis", "numbers"),
    [
        ("dallwitz_higgins", "0.022;15;31.5"),
        ("dallwitz_higgins", "0.022;15;31.5;6;0.4"),
        ("schoolfield", "0.0119;14000;36;90000"),
    ],
)
def test_a_county_can_choose_a_curve_by_its_own_table(tmp_path, nest, steady_weather, basis, numbers):
    # By hand: at a steady temperature eggs hatch after 1 / rate days.
    folder = tmp_path / "tables"
    folder.mkdir()
    head = (
        "taxon,region,basis,base_c,base_se_c,sum_dd,sum_se_dd,correlation,days,days_se,at_c,days_low,days_high,"
        "lowest_c,highest_c,n,evidence,source,sureness,remark,curve"
    )
    row = f"Trachemys scripta,any,{basis},,,,0.02,,,,,,,22,32,5,invented,computed_fits,low,invented,{numbers}"
    (folder / "development.csv").write_text(f"{head}\n{row}\n", encoding="utf-8")
    tables = hatch_tables(folder)
    found = project_windows(
        pd.DataFrame([nest()]),
        steady_weather(26.0),
        region="FL_Suwannee",
        as_of=date(2024, 7, 1),
        rng=np.random.default_rng(1),
        tables=tables,
    ).table.iloc[0]
    days = (date.fromisoformat(found["hatch_likely"]) - date(2024, 6, 1)).days
    assert days == pytest.approx(1 / float(rate_of(tables.sets[0], np.array(28.0))), abs=1.5)
    assert found["basis"] == "station_offset"
