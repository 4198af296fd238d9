"""Which passages a plan needs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

if TYPE_CHECKING:
    from roadwatch.siting.fence_problem import FenceProblem
    from roadwatch.siting.fence_table import Runs


def fewest_passages(problem: FenceProblem, runs: Runs) -> tuple[int, ...]:
    """
    The fewest passages that have every fenced cell within their reach; none where passages cost nothing.

    Parameters
    ----------
    problem
        The question.
    runs
        Runs within reach of its passages.

    Source
    ------
    huangfu2018
    """
    if problem.passage is None or not problem.prices.per_passage > 0.0 or not runs:
        return ()
    fenced = np.concatenate([np.arange(start, stop) for start, stop in runs])
    reach = np.unique(problem.passage[:, fenced], axis=1).astype(np.float64)
    one = np.ones(len(reach), dtype=np.int64)
    done = milp(one, constraints=LinearConstraint(reach.T, 1.0, np.inf), integrality=one, bounds=Bounds(0.0, 1.0))
    return () if done.x is None else tuple(np.flatnonzero(done.x > 0.5).tolist())
