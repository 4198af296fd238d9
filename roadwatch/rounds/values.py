"""Single numbers that nest rounds rest on, each with its unit, basis and source in ``data/round_values.csv``."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files


@cache
def round_values() -> dict[str, dict[str, str]]:
    """Every row of the table by its name."""
    text = (files("roadwatch") / "data" / "round_values.csv").read_text(encoding="utf-8")
    return {row["name"]: row for row in csv.DictReader(text.splitlines())}


def round_value(name: str) -> float:
    """
    One number by its name, in the unit that the table gives.

    >>> round_value("delay_days")
    1.0
    """
    return float(round_values()[name]["value"])
