"""The question a fence plan answers, in cells of equal length: what a run averts and what it may cost."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import UsageError

if TYPE_CHECKING:
    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray
    from roadwatch.siting.efficacy import Efficacy


@dataclass(frozen=True)
class Prices:
    """
    What a fence costs, in the user's currency; no price is ever assumed.

    Parameters
    ----------
    per_m, per_end, per_passage
        Per metre of fence, per end of a run, and per passage made ready.
    budget
        What may be spent; None leaves it open.
    """

    per_m: float | None = None
    per_end: float = 0.0
    per_passage: float = 0.0
    budget: float | None = None

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        if self.budget is not None and self.per_m is None:
            raise UsageError("a budget needs a price: give --cost-per-m, and --cost-per-end where ends cost extra")
        if any(price is not None and price < 0.0 for price in (self.per_m, self.per_end, self.per_passage)):
            raise UsageError("a price cannot be negative")

    def of(self, length_m: FloatArray | float, runs: IntArray | int, passages: int = 0) -> FloatArray:
        """
        Cost of fences; nan without a price per metre.

        Parameters
        ----------
        length_m, runs, passages
            Metres, number of runs (each has two ends) and of passages.
        """
        per_m = math.nan if self.per_m is None else self.per_m
        return np.asarray(per_m * length_m + 2.0 * self.per_end * runs + self.per_passage * passages, dtype=np.float64)


@dataclass(frozen=True)
class FenceProblem:
    """
    Cells that may be fenced, and what limits the plan; d sets of rates are asked at once.

    Parameters
    ----------
    line
        (c,) Number of the unbroken piece of road of each cell; cells of one line lie together in their order.
    deaths
        (d, c) Deaths per year on each cell.
    middle, end
        (d, m) and (d, e) Efficacy by length class, and what of it is left by class of distance from an end.
    middle_cells
        (m,) Cells a run needs for each length class.
    end_rows
        Class of distance of each cell from the end inwards, as far as ends reach.
    cell_m
        Length of a cell, metres.
    least_cells, most_cells
        Cells of the shortest run, and of all runs together.
    most_runs
        Number of runs; None leaves it open.
    prices
        Prices and budget.
    passage
        (p, c) True where a cell lies within the reach of a passage; None asks
        for none. Only such cells are fenced.
    """

    line: IntArray
    deaths: FloatArray
    middle: FloatArray
    end: FloatArray
    middle_cells: tuple[int, ...]
    end_rows: tuple[int, ...]
    cell_m: float
    least_cells: int
    most_cells: int
    most_runs: int | None = None
    prices: Prices = field(default_factory=Prices)
    passage: BoolArray | None = None

    @property
    def end_cells(self) -> int:
        """Cells from an end inwards in which the end tells."""
        return len(self.end_rows)

    @property
    def middle_least(self) -> tuple[int, ...]:
        """(m,) Cells of the shortest run of each length class whose two ends do not overlap."""
        return tuple(max(self.least_cells, 2 * self.end_cells, cells, 1) for cells in self.middle_cells)

    @property
    def short_cells(self) -> range:
        """Lengths of runs so short that their ends overlap."""
        return range(max(self.least_cells, 1), 2 * self.end_cells)

    def short_value(self, cells: int) -> FloatArray:
        """
        What each run of some cells averts; its ends may overlap.

        Parameters
        ----------
        cells
            Length of the runs.

        Returns
        -------
        (d, c - cells + 1) Deaths averted per year by the run that starts at each cell, lines ignored.
        """
        place = np.minimum(np.arange(cells), np.arange(cells)[::-1])
        windows = np.lib.stride_tricks.sliding_window_view(self.deaths, cells, axis=1)
        return np.asarray(np.einsum("dsk,dk->ds", windows, self._efficacy(cells, place)))

    def value_of(self, runs: list[tuple[int, int]]) -> FloatArray:
        """
        What runs avert under each set of rates.

        Parameters
        ----------
        runs
            First cell of each run and the one after its last.

        Returns
        -------
        (d, runs) Deaths averted per year.
        """
        found = np.zeros((len(self.deaths), len(runs)))
        for number, (start, stop) in enumerate(runs):
            place = np.minimum(np.arange(stop - start), np.arange(stop - start)[::-1])
            found[:, number] = (self.deaths[:, start:stop] * self._efficacy(stop - start, place)).sum(axis=1)
        return found

    def _efficacy(self, cells: int, place: IntArray) -> FloatArray:
        """(d, k) Efficacy in a run of some cells at each place, counted from the nearer end."""
        of_class = max(k for k, least in enumerate(self.middle_cells) if least <= cells)
        left = np.ones((len(self.deaths), len(place)))
        near = place < self.end_cells
        if near.any():
            left[:, near] = self.end[:, np.array(self.end_rows)[place[near]]]
        return np.asarray(self.middle[:, of_class, None] * left)

    def end_losses(self) -> tuple[FloatArray, FloatArray]:
        """
        Deaths that an end at each place leaves, as a share of the middle's efficacy.

        Returns
        -------
        (d, c) for a run that starts at the cell, and (d, c) for one that ends with it; lines ignored.
        """
        starts, stops = np.zeros_like(self.deaths), np.zeros_like(self.deaths)
        n = self.deaths.shape[1]
        for inwards, row in enumerate(self.end_rows[:n]):
            lost = (1.0 - self.end[:, row])[:, None] * self.deaths
            starts[:, : n - inwards] += lost[:, inwards:]
            stops[:, inwards:] += lost[:, : n - inwards]
        return starts, stops

    def only(self, sets: slice | IntArray) -> FenceProblem:
        """
        The same question under some of the sets of rates.

        Parameters
        ----------
        sets
            Which of the d sets.
        """
        return replace(self, deaths=self.deaths[sets], middle=self.middle[sets], end=self.end[sets])

    def without(self, cell: BoolArray) -> tuple[FenceProblem, IntArray]:
        """
        The same question with some cells closed to fences.

        Parameters
        ----------
        cell
            (c,) True where no fence may stand.

        Returns
        -------
        The question, and the number here of each of its cells.
        """
        kept = np.flatnonzero(~cell)
        line = self.line[kept] * (len(cell) + 1) + np.cumsum(cell)[kept]
        passage = None if self.passage is None else self.passage[:, kept]
        return replace(self, line=line, deaths=self.deaths[:, kept], passage=passage), kept


def make_problem(
    line: IntArray,
    deaths: FloatArray,
    *,
    efficacy: Efficacy,
    drawn: tuple[FloatArray, FloatArray] | None = None,
    cell_m: float = 50.0,
    most_m: float,
    least_m: float = 0.0,
    most_runs: int | None = None,
    prices: Prices | None = None,
    passage: BoolArray | None = None,
) -> FenceProblem:
    """
    Put a question together from metres and a table of efficacies.

    Parameters
    ----------
    line, deaths
        As in ``FenceProblem``; deaths may be (c,).
    efficacy, drawn
        The table, and draws from it; None takes its values.
    cell_m
        Length of a cell, metres.
    most_m, least_m
        Length of all fences and of the shortest run, metres; the first is rounded down to cells, the second up.
    most_runs, prices, passage
        As in ``FenceProblem``.

    Raises
    ------
    UsageError
        The lengths or the number of runs leave nothing to plan.
    """
    table = np.atleast_2d(deaths)
    middle, end = (np.tile(row, (len(table), 1)) for row in efficacy.central()) if drawn is None else drawn
    most, least = math.floor(most_m / cell_m + 1e-9), max(math.ceil(least_m / cell_m - 1e-9), 1)
    if most < 1:
        raise UsageError(f"{most_m:g} m of fence is less than one stretch of {cell_m:g} m; allow more")
    if most < least:
        raise UsageError(f"{most_m:g} m of fence is less than the shortest run of {least * cell_m:g} m; allow more")
    if most_runs is not None and most_runs < 1:
        raise UsageError("a plan needs at least one run")
    return FenceProblem(
        line,
        table,
        middle,
        end,
        efficacy.least_cells(cell_m),
        efficacy.end_rows(cell_m),
        cell_m,
        least,
        min(most, table.shape[1]) if table.shape[1] else most,
        most_runs,
        prices or Prices(),
        passage,
    )
