"""Measures other than fences that have an efficacy: sourced, or entered by the user."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from roadwatch.errors import UnfitFileError
from roadwatch.siting.efficacy import FENCE, MEASURES, Efficacy, efficacy_of, measure_of, read_set

if TYPE_CHECKING:
    from pathlib import Path

PRICES = ("cost_per_m", "cost_per_place")
"""Columns that a table of one's own may have beside those of the shipped one; a price is never assumed."""


@dataclass(frozen=True)
class MeasureOption:
    """
    A measure that can be ranked beside a fence.

    Parameters
    ----------
    measure
        Word of the layer of measures.
    efficacy
        What it averts, by the length of road it covers.
    cost_per_m, cost_per_place
        The user's prices, nan where not given.
    table
        Name of the table that says so.
    """

    measure: str
    efficacy: Efficacy
    cost_per_m: float
    cost_per_place: float
    table: str

    def cost(self, length_m: float) -> float:
        """
        What it costs at one place; nan where no price was given.

        Parameters
        ----------
        length_m
            Length of the road that it covers, metres.
        """
        if math.isnan(self.cost_per_m) and math.isnan(self.cost_per_place):
            return math.nan
        return sum(part for part in (self.cost_per_m * length_m, self.cost_per_place) if not math.isnan(part))


def measure_options(name: str = "turtles", *, path: Path | None = None) -> tuple[MeasureOption, ...]:
    """
    Read every measure but fences that the table has an efficacy for.

    Parameters
    ----------
    name, path
        As in ``efficacy.fence_efficacy``; the table may have the columns ``measure``, ``cost_per_m`` and
        ``cost_per_place``.

    Raises
    ------
    UsageError
        The file or the set does not exist.
    UnfitFileError
        A row does not fit; the message names it.
    """
    label, rows = read_set(name, path=path)
    found = []
    for measure in MEASURES:
        own = [(row, where) for row, where in rows if measure_of(row, where) == measure]
        if measure == FENCE or not own:
            continue
        per_m, per_place = (_price(own, column) for column in PRICES)
        found.append(MeasureOption(measure, efficacy_of(measure, own, label), per_m, per_place, label))
    return tuple(found)


def _price(rows: list[tuple[dict[str, str], str]], column: str) -> float:
    """The first price written in a column, nan where none is."""
    for row, where in rows:
        text = (row.get(column) or "").strip()
        if not text:
            continue
        try:
            price = float(text)
        except ValueError:
            price = math.nan
        if not 0.0 <= price < math.inf:
            raise UnfitFileError(f"{where}: {column} '{text}' is not a price; write a number, such as 250, or leave it")
        return price
    return math.nan
