"""Every convention has a unit, a source that exists, and a reason in words."""

import csv
from importlib.resources import files

import pytest

from roadwatch.records.double_values import carcass_ages, value
from roadwatch.records.fields import fields_of
from roadwatch.sources import all_sources

ROWS = list(csv.DictReader((files("roadwatch") / "data" / "double_values.csv").read_text("utf-8").splitlines()))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"])
def test_every_value_is_explained(row):
    assert float(row["value"]) == value(row["name"])
    assert row["unit"]
    assert row["source"] in all_sources()
    assert len(row["remark"]) > 20
    assert None not in row, "a comma in the remark needs quotes"


def test_every_value_is_used():
    code = "".join(
        path.read_text("utf-8") for room in ("records", "season") for path in (files("roadwatch") / room).glob("*.py")
    )
    assert not [row["name"] for row in ROWS if f'"{row["name"]}"' not in code]


def test_the_classes_of_carcass_age_are_those_of_the_field():
    field = fields_of("crossings")["carcass_age"]
    assert tuple(carcass_ages()) == field.choices


def test_classes_of_carcass_age_grow_and_overlap():
    # common practice, no source
    limits = list(carcass_ages().values())
    assert all(low < high for low, high in limits)
    assert all(limits[k][0] < limits[k + 1][0] <= limits[k][1] for k in range(4))
