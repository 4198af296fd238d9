"""The same question as a mixed-integer programme: for passages that runs share, and as a second opinion."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

from roadwatch.errors import NotEnoughDataError
from roadwatch.siting.quiet_solver import quiet_output

if TYPE_CHECKING:
    from roadwatch.roads.arrays import IntArray
    from roadwatch.siting.fence_problem import FenceProblem
    from roadwatch.siting.fence_table import Runs

SMALL_GAP = 1e-9
"""Relative gap at which a plan is called proven."""


@dataclass(frozen=True)
class Solved:
    """
    A plan with its proof.

    Parameters
    ----------
    runs
        First cell of each run and the one after its last.
    passages
        Numbers of the passages made ready; empty where they are not priced.
    value
        Deaths averted per year.
    gap
        How much more, as a share, a better plan could avert at most; 0 where the plan is proven best.
    """

    runs: Runs
    passages: tuple[int, ...]
    value: float
    gap: float


def solve_fences(problem: FenceProblem, *, seconds: float = 60.0, gap: float = 0.0) -> Solved:
    """
    Find the best runs under length, number, money and passages that runs share.

    Cells, starts and ends of runs are 0 or 1 for each length class; runs whose ends overlap are columns of their own. A
    run is a flow along its line, so that the relaxed programme is nearly whole by itself.

    Parameters
    ----------
    problem
        The question, with one set of rates.
    seconds
        Time after which the best plan so far is taken, its gap stated.
    gap
        Share by which another plan may avert more for the search to stop.

    Raises
    ------
    NotEnoughDataError
        No plan was found in the time.

    Source
    ------
    huangfu2018
    """
    if problem.most_cells < problem.least_cells or not len(problem.line):
        return Solved([], (), 0.0, 0.0)
    made = _Programme(problem)
    with quiet_output():
        done = milp(
            -made.worth,
            constraints=made.constraints(),
            integrality=np.ones(made.n, dtype=np.int64),
            bounds=Bounds(0.0, made.upper),
            options={"time_limit": seconds, "mip_rel_gap": gap},
        )
    if done.x is None:
        raise NotEnoughDataError(f"no fence plan was found within {seconds:g} s; ask for less road or more time")
    chosen = np.flatnonzero(done.x > 0.5)
    left = float(done.mip_gap or 0.0)
    left = left if left > SMALL_GAP else 0.0
    return Solved(made.runs(chosen), made.passages(chosen), float(made.worth[chosen].sum()), left)


class _Programme:
    """Columns: for each length class c cells, c starts, c ends; then short runs; then passages."""

    def __init__(self, problem: FenceProblem) -> None:
        self.problem, self.c = problem, problem.deaths.shape[1]
        self.classes = len(problem.middle_least)
        self.is_last = np.r_[np.diff(problem.line) != 0, True][: self.c]
        starts, stops = problem.end_losses()
        phi, deaths = problem.middle[0], problem.deaths[0]
        blocks = [np.r_[p * deaths, -p * starts[0], -p * stops[0]] for p in phi]
        self.short = self._short_runs()
        self.priced = problem.passage is not None and problem.prices.per_passage > 0.0
        self.p = len(problem.passage) if self.priced and problem.passage is not None else 0
        self.first_short = 3 * self.c * self.classes
        short = [problem.short_value(stop - start)[0, start] for start, stop in self.short]
        self.worth = np.concatenate([*blocks, np.array(short), np.zeros(self.p)])
        self.n = len(self.worth)
        self.upper = np.ones(self.n)
        for k, least in enumerate(problem.middle_least):
            self.upper[(3 * k + 1) * self.c + np.flatnonzero(self._left() < least)] = 0.0
        if problem.passage is not None:
            self.upper[: self.first_short].reshape(self.classes, 3, self.c)[:, 0, ~problem.passage.any(axis=0)] = 0.0

    def _left(self) -> IntArray:
        """(c,) Cells from each to the end of its line, itself included."""
        last = np.flatnonzero(self.is_last)
        return np.asarray(last[np.searchsorted(last, np.arange(self.c))] - np.arange(self.c) + 1)

    def _short_runs(self) -> Runs:
        left = self._left()
        return [
            (start, start + cells)
            for cells in self.problem.short_cells
            if cells <= self.problem.most_cells
            for start in np.flatnonzero(left >= cells).tolist()
        ]

    def constraints(self) -> list[LinearConstraint]:
        """Flow along lines, least lengths, one fence a cell, and the limits of the plan."""
        found = [row for k in range(self.classes) for row in self._run_rows(k)]
        covers = self._covers()
        found.append(LinearConstraint(covers, -np.inf, 1.0))
        problem, prices = self.problem, self.problem.prices
        cells = np.asarray(covers.sum(axis=0)).ravel()
        runs = np.zeros(self.n)
        runs[self.first_short : self.first_short + len(self.short)] = 1.0
        for k in range(self.classes):
            runs[(3 * k + 1) * self.c : (3 * k + 2) * self.c] = 1.0
        found.append(LinearConstraint(cells[None], -np.inf, problem.most_cells))
        if problem.most_runs is not None:
            found.append(LinearConstraint(runs[None], -np.inf, problem.most_runs))
        ready = np.zeros(self.n)
        ready[self.n - self.p :] = 1.0
        if prices.budget is not None and prices.per_m is not None:
            cost = prices.per_m * problem.cell_m * cells + 2.0 * prices.per_end * runs + prices.per_passage * ready
            largest = max(float(cost.max(initial=0.0)), 1e-9)  # HiGHS allows 1e-6 of a row, whatever the currency
            found.append(LinearConstraint(cost[None] / largest, -np.inf, (prices.budget + 1e-6) / largest))
        if self.priced and problem.passage is not None:
            within = sparse.csr_array(problem.passage.T.astype(np.float64))
            gap = sparse.csr_array((self.c, self.n - self.p))
            found.append(LinearConstraint(covers - sparse.hstack([gap, within]).tocsr(), -np.inf, 0.0))
        return found

    def _run_rows(self, k: int) -> list[LinearConstraint]:
        """A run begins at a start, goes on, ends at an end, and is not ended before its least length."""
        c, least = self.c, self.problem.middle_least[k]
        eye = sparse.eye_array(c, format="csr")
        follows = np.r_[False, ~self.is_last[:-1]][:c].astype(np.float64)
        before = sparse.diags_array(follows[1:], offsets=-1, shape=(c, c)).tocsr()
        flow = self._wide(k, eye - before, -eye, before)
        last = np.flatnonzero(self.is_last)
        shut = self._wide(k, eye[last], eye[last] * 0.0, -eye[last])
        window, step = eye, eye
        for _ in range(min(least, c) - 1):
            step = (before @ step).tocsr()
            window = window + step
        return [
            LinearConstraint(flow, 0.0, 0.0),
            LinearConstraint(shut, 0.0, 0.0),
            LinearConstraint(self._wide(k, -eye, window, eye * 0.0), -np.inf, 0.0),
        ]

    def _wide(self, k: int, *blocks: sparse.csr_array) -> sparse.csr_array:
        """Rows of one length class, with nothing under the other columns."""
        rows = blocks[0].shape[0]
        left, right = 3 * self.c * k, self.n - 3 * self.c * (k + 1)
        parts = [sparse.csr_array((rows, left)), *blocks, sparse.csr_array((rows, right))]
        return sparse.csr_array(sparse.hstack([part for part in parts if part.shape[1]]))

    def _covers(self) -> sparse.csr_array:
        """(c, n) Which columns put a fence on each cell."""
        rows = [np.arange(self.c)] * self.classes
        columns = [np.arange(self.c) + 3 * self.c * k for k in range(self.classes)]
        for number, (start, stop) in enumerate(self.short):
            rows.append(np.arange(start, stop))
            columns.append(np.full(stop - start, self.first_short + number))
        row, column = np.concatenate(rows), np.concatenate(columns)
        return sparse.csr_array((np.ones(len(row)), (row, column)), shape=(self.c, self.n))

    def runs(self, chosen: IntArray) -> Runs:
        """Runs behind the columns chosen."""
        found = [self.short[column - self.first_short] for column in chosen.tolist() if self._is_short(column)]
        for k in range(self.classes):
            first = 3 * self.c * k
            starts = [column - first - self.c for column in chosen.tolist() if 0 <= column - first - self.c < self.c]
            stops = [
                column - first - 2 * self.c for column in chosen.tolist() if 0 <= column - first - 2 * self.c < self.c
            ]
            found += [(start, stop + 1) for start, stop in zip(starts, stops, strict=True)]
        return sorted(found)

    def _is_short(self, column: int) -> bool:
        return bool(self.first_short <= column < self.first_short + len(self.short))

    def passages(self, chosen: IntArray) -> tuple[int, ...]:
        """Passages behind the columns chosen."""
        first = self.n - self.p
        return tuple(column - first for column in chosen.tolist() if column >= first)
