from __future__ import annotations

import numpy as np
import pytest

from roadwatch.hatch.development import region_keys
from roadwatch.hatch.sex_tables import bracket_of_females, sex_row, sex_rows, share_of_females
from roadwatch.records.taxa import all_taxa
from roadwatch.sources import all_sources

ROWS = list(sex_rows().values())
ZERO = np.zeros(1)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.taxon}, {row.region}")
def test_every_row_can_be_used_and_names_its_source(row):
    assert row.taxon in all_taxa()
    assert row.region in {"any", *region_keys()}
    assert row.source in all_sources()
    assert row.remark
    assert row.sureness in {"high", "medium", "low"}
    if row.basis == "curve":
        assert 20 < row.pivot_c < 35
        assert row.pivot_sd_c > 0
        assert 0 < row.scale_low_c <= row.scale_high_c
        assert (row.pattern == "II") == np.isfinite(row.cool_pivot_c)
    elif row.basis == "bracket":
        assert row.bracket_low_c < row.bracket_high_c
        assert row.males_at_low > row.males_at_high


def test_half_are_female_at_the_pivot_and_the_range_is_the_published_width():
    # 5 to 95 % span 2 S ln 19 = 5.889 S (logistic)
    row = sex_row("Gopherus polyphemus", region="any")
    assert share_of_females(row, np.array([29.3]), z=ZERO, z_cool=ZERO, u=ZERO)[0] == pytest.approx(0.5)
    half = 5.889 * 0.75 / 2
    ends = share_of_females(row, 29.3 + np.array([-half, half]), z=np.zeros(2), z_cool=np.zeros(2), u=np.zeros(2))
    np.testing.assert_allclose(ends, [0.05, 0.95], atol=1e-4)


def test_a_pattern_with_two_pivots_never_reaches_all_males():
    row = sex_row("Chelydra serpentina", region="FL_panhandle")
    temps = np.linspace(20, 31, 200)
    flat = np.zeros(200)
    males = 1 - share_of_females(row, temps, z=flat, z_cool=flat, u=np.ones(200))
    assert males.max() < 0.99
    assert males[0] < 0.05
    assert males[-1] < 0.01
    # By hand at the middle 24.435: 1 / (1 + exp(-1.315 / .76)), squared
    middle = 1 - share_of_females(row, np.array([24.435]), z=ZERO, z_cool=ZERO, u=np.ones(1))[0]
    assert middle == pytest.approx((1 / (1 + np.exp(-1.315 / 0.76))) ** 2, abs=1e-6)


def test_a_steeper_curve_is_surer_beside_the_pivot():
    row = sex_row("Trachemys scripta", region="any")
    steep, flat = (share_of_females(row, np.array([29.5]), z=ZERO, z_cool=ZERO, u=np.array([u]))[0] for u in (0.0, 1.0))
    assert steep > flat > 0.5


def test_subspecies_take_their_species_and_unknown_taxa_nothing():
    assert sex_row("Trachemys scripta elegans", region="any").taxon == "Trachemys scripta"
    assert sex_row("Apalone ferox", region="any").basis == "genes"
    assert sex_row("Kinosternon subrubrum", region="any") is None


def test_a_region_goes_before_any():
    assert sex_row("Chelydra serpentina", region="FL_peninsula").pivot_c == 26.31
    assert sex_row("Chelydra serpentina", region="elsewhere") is None


def test_a_bracket_of_the_second_pattern_promises_nothing_in_the_cool():
    row = sex_row("Macrochelys", region="any")
    least, most = bracket_of_females(row, np.array([22.0, 27.5, 30.0]))
    np.testing.assert_allclose(least, [0.0, 0.19, 0.98])
    np.testing.assert_allclose(most, [1.0, 0.98, 1.0])
