"""The best a fence can avert for every length and number of runs at once: dynamic programming along the roads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from roadwatch.roads.arrays import FloatArray, IntArray
    from roadwatch.siting.fence_problem import FenceProblem

GROUP_CELLS = 128
"""Cells after which the table is kept, so that plans can be read back without keeping it at every cell."""

State = tuple[int, int, int]
"""Set of rates, most runs, most cells."""
Runs = list[tuple[int, int]]


@dataclass(frozen=True)
class FenceTable:
    """
    The best of every budget.

    Parameters
    ----------
    problem
        The question.
    value
        (d, runs + 1, cells + 1) Most deaths averted per year by at most so many runs and cells; where runs are not
        limited the middle axis has length 1.
    groups, kept
        Lines in groups, and the table before each: what reading plans back needs.
    """

    problem: FenceProblem
    value: FloatArray
    groups: list[list[tuple[int, int]]]
    kept: list[FloatArray]


def fence_table(problem: FenceProblem) -> FenceTable:
    """
    Fill the table; every entry is the exact optimum, in steps proportional to cells x runs x length.

    Parameters
    ----------
    problem
        The question; prices are left to the reader of the table, passages must not be priced.

    Source
    ------
    bellman1957
    """
    runs = 0 if problem.most_runs is None else problem.most_runs
    value = np.zeros((len(problem.deaths), runs + 1, problem.most_cells + 1))
    groups, kept = _groups(problem), []
    walk = _Walk(problem)
    for group in groups:
        kept.append(value)
        for start, stop in group:
            value = walk.through(value, start, stop, None)
    return FenceTable(problem, value, groups, kept)


def plans_of(table: FenceTable, states: list[State]) -> list[Runs]:
    """
    Read the runs behind entries of the table.

    Parameters
    ----------
    table
        The table.
    states
        Entries: set of rates, most runs (0 where not limited), most cells.

    Returns
    -------
    For each state its runs, first cell and the one after the last, in the order of the cells.
    """
    walk = _Walk(table.problem)
    now, found = list(states), [list[tuple[int, int]]() for _ in states]
    for group, before in zip(reversed(table.groups), reversed(table.kept), strict=True):
        traces, value = [], before
        for start, stop in group:
            trace = _Trace([], [])
            value = walk.through(value, start, stop, trace)
            traces.append((start, trace.stacked()))
        for start, (how, opened) in reversed(traces):
            for number, state in enumerate(now):
                now[number] = walk.back(state, start, how, opened, found[number])
    return [runs[::-1] for runs in found]


def _groups(problem: FenceProblem) -> list[list[tuple[int, int]]]:
    """First cell and the one after the last of each line long enough for a run, gathered to groups."""
    n = len(problem.line)
    if not n:
        return []
    starts = np.flatnonzero(np.r_[True, np.diff(problem.line) != 0])
    groups: list[list[tuple[int, int]]] = [[]]
    for start, stop in zip(starts.tolist(), [*starts[1:].tolist(), n], strict=True):
        if stop - start >= problem.least_cells:
            if groups[-1] and stop - groups[-1][0][0] > GROUP_CELLS:
                groups.append([])
            groups[-1].append((start, stop))
    return groups if groups[0] else []


@dataclass(frozen=True)
class _Trace:
    """For each cell of a line: how its entry came about, and for each length class whether a run opened."""

    how: list[npt.NDArray[np.int8]]
    opened: list[npt.NDArray[np.bool_]]

    def stacked(self) -> tuple[npt.NDArray[np.int8], npt.NDArray[np.bool_]]:
        """(cells, d, runs + 1, cells + 1) and (cells, classes, d, runs + 1, cells + 1)."""
        return np.array(self.how), np.array(self.opened)


class _Walk:
    """One pass along lines; the same steps fill the table and read plans back."""

    def __init__(self, problem: FenceProblem) -> None:
        self.problem = problem
        self.total = np.concatenate([np.zeros((len(problem.deaths), 1)), np.cumsum(problem.deaths, axis=1)], axis=1)
        self.start_loss, self.stop_loss = problem.end_losses()
        self.least = [min(cells, 10**9) for cells in problem.middle_least]
        n = problem.deaths.shape[1]
        self.short = {
            cells: problem.short_value(cells) for cells in problem.short_cells if cells <= min(problem.most_cells, n)
        }

    def through(self, value: FloatArray, start: int, stop: int, trace: _Trace | None) -> FloatArray:
        """The table after a line, given the one before it."""
        reach = max([*(c for c in self.least if c <= stop - start), *self.short, 1])
        past = [value]
        running = [np.full_like(value, -np.inf) for _ in self.least]
        for cell in range(start, stop):
            best, how = past[-1], np.zeros(value.shape, dtype=np.int8) if trace else None
            opened = [self._run_on(k, running, past, cell, start, trace=trace is not None) for k in range(len(running))]
            for k in range(len(running)):
                closed = running[k] - (self.problem.middle[:, k] * self.stop_loss[:, cell])[:, None, None]
                best = _better(best, closed, how, k + 1)
            for number, (cells, worth) in enumerate(self.short.items()):
                if cells <= cell - start + 1:
                    first = cell + 1 - cells
                    whole = self._from(past[-cells], cells) + worth[:, first, None, None]
                    best = _better(best, whole, how, len(running) + 1 + number)
            past.append(best)
            if len(past) > reach + 1:
                past.pop(0)
            if trace is not None and how is not None:
                trace.how.append(how)
                trace.opened.append(np.array(opened))
        return past[-1]

    def _run_on(
        self, k: int, running: list[FloatArray], past: list[FloatArray], cell: int, start: int, *, trace: bool
    ) -> npt.NDArray[np.bool_] | None:
        """Let a run of a length class go on by one cell, or begin so that it has just its least length."""
        problem, least = self.problem, self.least[k]
        gain = problem.middle[:, k] * problem.deaths[:, cell]
        on = np.full_like(running[k], -np.inf)
        on[..., 1:] = running[k][..., :-1] + gain[:, None, None]
        opened = np.zeros(on.shape, dtype=bool) if trace else None
        if least <= min(cell - start + 1, problem.most_cells):
            first = cell + 1 - least
            held = self.total[:, cell + 1] - self.total[:, first] - self.start_loss[:, first]
            begun = self._from(past[-least], least) + (problem.middle[:, k] * held)[:, None, None]
            if opened is not None:
                opened = begun > on
            on = np.maximum(on, begun)
        running[k] = on
        return opened

    def _from(self, value: FloatArray, cells: int) -> FloatArray:
        """What was there before a run of some cells, at the entry that the run leads to."""
        moved = np.full_like(value, -np.inf)
        if self.problem.most_runs is None:
            moved[..., cells:] = value[..., : value.shape[2] - cells]
        else:
            moved[:, 1:, cells:] = value[:, :-1, : value.shape[2] - cells]
        return moved

    def back(
        self, state: State, start: int, how: npt.NDArray[np.int8], opened: npt.NDArray[np.bool_], found: Runs
    ) -> State:
        """Read the runs of one line back from its end, adding them to ``found``; the state before the line."""
        of, runs, cells = state
        fewer = 0 if self.problem.most_runs is None else 1
        end = len(how)
        while True:
            marks = np.flatnonzero(how[:end, of, runs, cells])
            if not len(marks):
                return of, runs, cells
            last = int(marks[-1])
            code = int(how[last, of, runs, cells])
            if code <= len(self.least):
                length = self._length(code - 1, last, (of, runs, cells), opened)
            else:
                length = list(self.short)[code - 1 - len(self.least)]
            found.append((start + last + 1 - length, start + last + 1))
            runs, cells, end = runs - fewer, cells - length, last + 1 - length

    def _length(self, k: int, last: int, state: State, opened: npt.NDArray[np.bool_]) -> int:
        """Cells of a run that ends with a cell: it went on until it was begun at its least length."""
        of, runs, cells = state
        beyond = 0
        while not opened[last - beyond, k, of, runs, cells - beyond]:
            beyond += 1
        return self.least[k] + beyond


def _better(best: FloatArray, other: FloatArray, how: npt.NDArray[np.int8] | None, code: int) -> FloatArray:
    """The larger of two tables; where the other is, its code is noted."""
    if how is not None:
        how[other > best] = code
    return np.maximum(best, other)


def least_state(value: FloatArray, *, runs_limited: bool, allowed: npt.NDArray[np.bool_] | None = None) -> IntArray:
    """
    The smallest length, then the fewest runs, with which the best allowed value is reached.

    Parameters
    ----------
    value
        (runs + 1, cells + 1) Entries of one set of rates.
    runs_limited
        Whether the first axis counts runs.
    allowed
        Entries that may be chosen; None allows all.

    Returns
    -------
    (2,) Runs (0 where not limited) and cells.
    """
    open_ = np.where(True if allowed is None else allowed, value, -np.inf)
    best = open_.max()
    runs, cells = np.nonzero(open_ >= best - 1e-12 * max(abs(best), 1.0))
    order = np.lexsort((runs, cells))
    return np.array([runs[order[0]] if runs_limited else 0, cells[order[0]]])
