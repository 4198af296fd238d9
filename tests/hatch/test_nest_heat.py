from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.errors import UsageError
from roadwatch.hatch.nest_heat import (
    DAY_S,
    YEAR_S,
    Soil,
    conducted_c,
    damping_depth_m,
    default_soil,
    nest_offset,
    nest_wave,
    soil_temperature_c,
)
from roadwatch.hatch.values import hatch_value

# Moene & van Dam 2014, Table 2.2: thermal diffusivity in 1e-6 m2/s; the depth, the share of the wave left at 10 cm and
# its lag there in hours are d = sqrt(2 a / w), exp(-z/d) and z/d/w, computed apart from this package.
SOILS = [
    ("dry sand", 0.19, 0.072, 0.251, 5.28),
    ("moist sand", 0.99, 0.165, 0.546, 2.31),
    ("saturated sand", 0.85, 0.153, 0.520, 2.50),
    ("dry clay", 0.10, 0.052, 0.149, 7.28),
    ("moist clay", 0.40, 0.105, 0.385, 3.64),
    ("saturated clay", 0.45, 0.111, 0.407, 3.43),
    ("moist peat", 0.13, 0.060, 0.188, 6.39),
    ("default", 0.50, 0.117, 0.426, 3.26),
]


@pytest.mark.parametrize(("soil", "diffusivity", "depth_m", "left", "lag_h"), SOILS)
def test_the_daily_wave_is_damped_as_the_textbook_soils_ask(soil, diffusivity, depth_m, left, lag_h):
    damping = damping_depth_m(diffusivity * 1e-6)
    assert damping == pytest.approx(depth_m, abs=0.0006)
    hours = np.linspace(0, 24, 240_001)
    at_10_cm = soil_temperature_c(hours, depth_m=0.10, mean_c=0.0, amplitude_c=1.0, damping_m=damping)
    assert at_10_cm.max() == pytest.approx(left, abs=0.0011)
    assert hours[np.argmax(at_10_cm)] - 6.0 == pytest.approx(lag_h, abs=0.011)


def test_the_wave_of_the_year_reaches_19_times_deeper_than_that_of_the_day():
    ratio = damping_depth_m(0.5e-6, period_s=YEAR_S) / damping_depth_m(0.5e-6, period_s=DAY_S)
    assert ratio == pytest.approx(19.105, abs=0.0005)  # square root of 365


def test_at_the_damping_depth_a_wave_is_1_over_e_and_trails_by_24_over_2_pi_hours():
    hours = np.linspace(0, 24, 240_001)
    wave = soil_temperature_c(hours, depth_m=0.12, mean_c=27.0, amplitude_c=10.0, damping_m=0.12)
    assert wave.max() - 27 == pytest.approx(10 / np.e, abs=1e-6)
    assert hours[np.argmax(wave)] - 6 == pytest.approx(24 / (2 * np.pi), abs=2e-4)


def test_a_worked_wave_at_10_cm():
    # Mean 27, half range 12 at the surface, 0.5e-6 m2/s, 10 cm: 21.885 to 32.115 (computed apart from this package).
    wave = soil_temperature_c(
        np.linspace(0, 24, 24_001), depth_m=0.10, mean_c=27, amplitude_c=12, damping_m=damping_depth_m(0.5e-6)
    )
    assert (wave.min(), wave.max()) == (pytest.approx(21.885, abs=0.001), pytest.approx(32.115, abs=0.001))


def test_half_a_day_behind_the_surface_lies_where_the_textbook_puts_it():
    # Campbell & Norman 1998, chapter 2 (in paraphrase): at 30 to 40 cm the maximum trails the surface by about 12 h.
    assert 0.30 <= np.pi * damping_depth_m(0.5e-6) <= 0.40


def test_depth_flattens_the_wave_and_leaves_the_mean():
    low, high = nest_wave(np.array([15.0]), np.array([35.0]), offset_c=0.0, depth_cm=30.0)
    assert (low + high)[0] / 2 == pytest.approx(25.0)
    assert (high - low)[0] < 3


def test_the_range_in_natural_nests_is_met_at_the_depth_of_their_loggers():
    # Alabama, 20 natural nests: daily range 8.5 (sd 3.0) at 6.5 cm where the air's was 12.8.
    low, high = nest_wave(np.array([20.0]), np.array([32.8]), offset_c=2.0, depth_cm=6.5)
    assert (high - low)[0] == pytest.approx(8.52, abs=0.1)


def test_offsets_broadcast_into_rows():
    low, high = nest_wave(np.full((1, 4, 7), 15.0), np.full((1, 4, 7), 30.0), offset_c=np.zeros((3, 1, 1)), depth_cm=5)
    assert low.shape == high.shape == (3, 4, 7)


@given(depth=st.floats(0, 100), offset=st.floats(-5, 5), low=st.floats(-10, 30), width=st.floats(0, 25))
def test_a_low_never_passes_its_high_on_the_way_down(depth, offset, low, width):
    below, above = nest_wave(np.array([low]), np.array([low + width]), offset_c=offset, depth_cm=depth)
    assert below[0] <= above[0]


def test_missing_air_is_missing_in_the_nest():
    low, high = nest_wave(np.array([np.nan]), np.array([30.0]), offset_c=1.0, depth_cm=5.0)
    assert np.isnan(low).all()
    assert np.isnan(high).all()


def test_a_soil_of_ones_own_replaces_the_shipped_one():
    low, high = nest_wave(np.array([10.0]), np.array([30.0]), offset_c=0.0, depth_cm=0.0, soil=Soil(1e-6, 1.0, 5.0))
    assert (low[0], high[0]) == (10.0, 30.0)


@pytest.mark.parametrize(("exposure", "mean_c"), [("closed", 0.5), ("partial", 2.0), ("open", 3.0)])
def test_each_exposure_has_its_stated_offset(exposure, mean_c):
    offset = nest_offset(exposure)
    assert (offset.mean_c, offset.sd_c, offset.stated) == (mean_c, 1.5, True)


def test_an_exposure_nobody_noted_takes_the_middle_with_a_wider_spread():
    offset = nest_offset(None)
    assert offset.mean_c == nest_offset("partial").mean_c
    assert offset.sd_c > nest_offset("partial").sd_c
    assert not offset.stated


def test_an_unknown_exposure_is_refused():
    with pytest.raises(UsageError, match="'sunny' is not an exposure; write open, partial or closed"):
        nest_offset("sunny")


def test_the_shipped_soil_lies_between_dry_and_wet_mineral_soils():
    soil = default_soil()
    assert min(row[1] for row in SOILS) < soil.diffusivity_m2_s * 1e6 < max(row[1] for row in SOILS)
    assert 5.2 <= soil.blank_depth_cm <= 8.2  # range of the Alabama loggers


def test_a_logger_is_trusted_more_than_any_offset():
    assert 0 < hatch_value("logger_sd_c") < nest_offset("open").sd_c


def test_a_single_wave_is_conducted_as_the_textbook_says():
    hours = np.arange(24.0)
    surface = 27 + 12 * np.sin(2 * np.pi * hours / 24)
    found = conducted_c(surface, depth_m=0.10, diffusivity_m2_s=0.5e-6)
    expected = soil_temperature_c(hours, depth_m=0.10, mean_c=27, amplitude_c=12, damping_m=damping_depth_m(0.5e-6))
    np.testing.assert_allclose(found, expected, atol=1e-9)
    # Worked from Campbell & Norman's formula: 21.885 to 32.115 degrees
    assert 27 + (surface.max() - 27) * np.exp(-0.10 / damping_depth_m(0.5e-6)) == pytest.approx(32.115, abs=0.01)


def test_each_harmonic_shrinks_by_its_own_depth_and_the_mean_goes_through():
    # By hand: the n-th harmonic of a day has the damping depth d / sqrt(n)
    hours, d = np.arange(48.0), damping_depth_m(0.4e-6)
    surface = 20 + 8 * np.sin(2 * np.pi * hours / 24) + 3 * np.cos(2 * np.pi * 3 * hours / 24)
    found = np.fft.rfft(conducted_c(surface, depth_m=0.08, diffusivity_m2_s=0.4e-6)) / len(hours) * 2
    assert found[0].real / 2 == pytest.approx(20)
    assert abs(found[2]) == pytest.approx(8 * np.exp(-0.08 / d))
    assert abs(found[6]) == pytest.approx(3 * np.exp(-0.08 / d * np.sqrt(3)))


def test_at_the_surface_nothing_changes():
    course = np.random.default_rng(1).normal(25, 4, 49)
    np.testing.assert_allclose(conducted_c(course, depth_m=0.0, diffusivity_m2_s=0.5e-6), course)
