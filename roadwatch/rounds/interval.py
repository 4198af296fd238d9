"""How far what a plan meets may lie from what is expected of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr

from roadwatch.rounds.problem import Problem, Timetable, covered
from roadwatch.rounds.values import round_value

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roadwatch.hatch.chances import DayChances

N_DRAWS = 4000
SHARE_INSIDE = 0.95


def met_interval(
    problem: Problem, timetable: Timetable, chances: Sequence[DayChances], *, rng: np.random.Generator
) -> tuple[float, float]:
    """
    Draw seasons and count the nests whose hatchlings a plan meets.

    Nests are early and late partly together, as weather moves them all: a normal copula with one factor.

    Parameters
    ----------
    problem, timetable
        The plan.
    chances
        (nests,) Each nest's chances, with what lies before and after the plan.
    rng
        Source of chance.

    Returns
    -------
    (low, high) between which 95 of 100 drawn seasons lie.

    Source
    ------
    rounds_convention
    """
    if not chances:
        return 0.0, 0.0
    share = round_value("weather_share")
    together = rng.standard_normal((N_DRAWS, 1))
    apart = rng.standard_normal((N_DRAWS, len(chances)))
    u = ndtr(np.sqrt(share) * together + np.sqrt(1 - share) * apart)
    met = covered(problem, timetable)
    count = np.zeros(N_DRAWS)
    for nest, one in enumerate(chances):
        reached = np.cumsum(np.r_[one.before, one.by_day])
        column = np.searchsorted(reached, u[:, nest], side="right") - 1
        inside = (column >= 0) & (column < met.shape[1])
        count += inside & met[nest, np.clip(column, 0, met.shape[1] - 1)]
    low, high = np.quantile(count, [(1 - SHARE_INSIDE) / 2, (1 + SHARE_INSIDE) / 2])
    return float(low), float(high)
