"""The single numbers that plans rest on."""

import pytest

from roadwatch.rounds.values import round_value, round_values
from roadwatch.sources import all_sources


def test_every_number_has_unit_basis_source_and_remark():
    for name, row in round_values().items():
        assert row["source"] in all_sources(), name
        assert row["basis"] in {"published", "computed", "inferred", "convention"}, name
        assert row["unit"], name
        assert row["remark"], name
        assert float(row["value"]) > 0, name


def test_a_unit_in_a_name_is_the_unit_of_the_table():
    endings = {"_minutes": "minutes", "_km_per_hour": "km/h", "_days": "days", "_factor": "ratio", "_share": "ratio"}
    for name, row in round_values().items():
        for ending, unit in endings.items():
            if name.endswith(ending):
                assert row["unit"] == unit, name


def test_a_visit_is_worth_less_than_any_duty():
    duties = ("open_weight", "outcome_weight", "day_weight")
    assert round_value("least_worth") < min(round_value(name) for name in duties)


def test_the_weathers_share_is_that_of_the_error_budget():
    # a nest laid on 1 June at Clemson: weather 5.3 of 11.6 days, as standard deviations
    assert round_value("weather_share") == pytest.approx((5.3 / 11.6) ** 2, abs=0.01)


def test_a_name_that_is_not_there_is_an_error():
    with pytest.raises(KeyError, match="tea_minutes"):
        round_value("tea_minutes")
