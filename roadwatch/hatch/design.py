"""
Draws that stand for everything unknown at once: a Latin hypercube, one row a draw, the same for every nest.

Each cause takes the middles of equally likely slices, each once, so that a few hundred rows carry its whole spread;
their order is shuffled and then untied from that of the others (Iman and Conover 1982). Nests share the rows, so that
two nests alike in all they know have the same window, whatever their names and company.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, get_args

import numpy as np
from scipy.special import ndtri

if TYPE_CHECKING:
    from collections.abc import Collection

    from roadwatch.hatch.arrays import Floats, Ints

N_DRAWS = 480
"""Rows of a design, at least; rounded up to a whole number for each past year."""

Cause = Literal["weather", "nest heat", "laying day", "parameters", "clutch", "straight line", "logger"]
CAUSES: tuple[Cause, ...] = get_args(Cause)


@dataclass(frozen=True)
class Design:
    """
    (rows,) of each cause: ``member`` counts past years from 0; ``laid`` is 0 to 1 within the span of laying.

    All others are standard normal; ``base`` and ``total`` are the two parts of the parameters' error.
    """

    member: Ints
    laid: Floats
    heat: Floats
    base: Floats
    total: Floats
    clutch: Floats
    line: Floats
    logger: Floats


def draw_design(n_members: int, *, root: int, n_draws: int = N_DRAWS) -> Design:
    """
    Draw the rows for a number of past years.

    Parameters
    ----------
    n_members
        Past years; each takes an equal share of the rows.
    root
        Number behind the order of the slices.
    n_draws
        Rows, at least.

    Source
    ------
    iman_conover1982
    """
    n_rows = -(-n_draws // n_members) * n_members
    rng = np.random.default_rng([root, n_members])
    scores = np.asarray(ndtri((np.arange(n_rows) + 0.5) / n_rows), float)
    scores /= scores.std()
    shuffled = np.stack([rng.permutation(scores) for _ in range(7)])
    untied = np.linalg.solve(np.linalg.cholesky(np.corrcoef(shuffled)), shuffled)
    z = scores[np.argsort(np.argsort(untied, axis=1), axis=1)]
    laid = (np.argsort(np.argsort(z[0])) + 0.5) / n_rows
    return Design(rng.permutation(np.arange(n_rows) % n_members), laid, *z[1:])


def middle_design(n_rows: int, *, member: int) -> Design:
    """Rows in which nothing varies: one past year, and every other cause at its middle."""
    z = np.zeros(n_rows)
    return Design(np.full(n_rows, member), np.full(n_rows, 0.5), z, z, z, z, z, z)


def year_by_year(n_members: int) -> Design:
    """Each past year once, all other causes at their middle."""
    return replace(middle_design(n_members, member=0), member=np.arange(n_members))


def with_causes(design: Design, of: Design, causes: Collection[Cause]) -> Design:
    """Take chosen causes of one design into another of as many rows."""
    names = {
        "weather": ("member",),
        "nest heat": ("heat",),
        "laying day": ("laid",),
        "parameters": ("base", "total"),
        "clutch": ("clutch",),
        "straight line": ("line",),
        "logger": ("logger",),
    }
    return replace(design, **{name: getattr(of, name) for cause in causes for name in names[cause]})
