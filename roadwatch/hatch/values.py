"""Single numbers that hatching rests on, each with its unit, basis and source in ``data/hatch_values.csv``."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True)
class HatchValue:
    """One number; ``basis`` is published, computed, inferred, or a convention."""

    name: str
    value: float
    unit: str
    basis: str
    source: str
    remark: str


@cache
def hatch_values() -> dict[str, HatchValue]:
    """Every number by its name, as shipped."""
    text = (files("roadwatch") / "data" / "hatch_values.csv").read_text(encoding="utf-8")
    return {
        row["name"]: HatchValue(
            row["name"], float(row["value"]), row["unit"], row["basis"], row["source"], row["remark"]
        )
        for row in csv.DictReader(text.splitlines())
    }


def hatch_value(name: str) -> float:
    """
    One number by its name, in the unit that the table gives.

    >>> hatch_value("upper_c")
    34.0
    """
    return hatch_values()[name].value
