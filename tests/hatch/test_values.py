from __future__ import annotations

import pytest

from roadwatch.hatch.values import hatch_value, hatch_values
from roadwatch.sources import all_sources


def test_every_number_has_unit_basis_source_and_remark():
    for one in hatch_values().values():
        assert one.source in all_sources(), one
        assert one.basis in {"published", "computed", "inferred", "convention"}, one
        assert one.unit, one
        assert one.remark, one


def test_a_unit_in_a_name_is_the_unit_of_the_table():
    endings = {"_c": "degrees C", "_cm": "cm", "_d": "days", "_m2_s": "m2/s"}
    for name, one in hatch_values().items():
        for ending, unit in endings.items():
            if name.endswith(ending):
                assert one.unit == unit, name


def test_spreads_are_positive_and_smaller_than_what_they_spread():
    assert all(one.value > 0 for one in hatch_values().values())
    assert hatch_value("clutch_sd") < 1
    assert hatch_value("structure_sd") < 1


def test_clutches_spread_as_their_sums_did():
    # Folkerts Caldwell 2026, 12 clutches: standard deviation of clutch means 26.1 of 806 degree-days.
    assert hatch_value("clutch_sd") == pytest.approx(26.1 / 806, abs=0.0005)


def test_offsets_rise_with_the_opening_of_the_canopy_by_what_nests_showed():
    # Folkerts Caldwell 2026: nest means rose by 0.062 degrees C a per cent of open canopy, 3.7 from 20 to 80 %; the
    # natural nests alone by 0.037, 2.2 from 20 to 80 %.
    rise = hatch_value("offset_open_c") - hatch_value("offset_closed_c")
    assert 2.2 <= rise <= 3.7


def test_the_upper_limit_lies_where_eggs_under_a_wide_wave_put_it():
    # Les et al. 2007, 2009 (as compiled): eggs at 31 +- 6 degrees C fit an upper limit of 34.0 or 35.3 degrees C.
    assert 33 < hatch_value("upper_c") <= 35.3
