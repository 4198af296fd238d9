"""The stated conventions behind the probability that two records are one animal, and the classes of carcass age."""

from __future__ import annotations

import csv
import math
from functools import cache
from importlib.resources import files


def _rows(name: str) -> list[dict[str, str]]:
    text = (files("roadwatch") / "data" / name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@cache
def _values() -> dict[str, float]:
    return {row["name"]: float(row["value"]) for row in _rows("double_values.csv")}


def value(name: str) -> float:
    """
    One number of ``data/double_values.csv``, in the unit stated there.

    Source
    ------
    doubles_convention, santos2011
    """
    return _values()[name]


@cache
def carcass_ages() -> dict[str, tuple[float, float]]:
    """
    Days since death, from and to, of each class of carcass age; an open end is infinite.

    Source
    ------
    doubles_convention
    """
    return {
        row["class"]: (float(row["from_days"]), float(row["to_days"] or math.inf)) for row in _rows("carcass_age.csv")
    }
