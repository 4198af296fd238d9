"""What is taken for what: expected from the tables, or measured, and what it does to reported totals."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.identify.posterior import DEFAULT_RHO

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from roadwatch.identify.characters import View
    from roadwatch.identify.frequencies import Matrix
    from roadwatch.identify.tables import Tables

LAPSE = 0.10
"""Share of names written in no relation to the animal, such as a slip of the pen (a stated convention)."""

USUAL_VIEW: View = "from_above"
"""How most records that give only a name were seen (a stated convention)."""


def look_alike(matrix: Matrix, *, view: View, slip: float, rho: float = DEFAULT_RHO) -> NDArray[np.float64]:
    """
    How alike the marks of two taxa are in a view: 1 where they show the same, near 0 where they share nothing.

    Per character it is the chance that two animals, one of each, show the same state, against two of one kind; the
    characters of a group are discounted as in the posterior.

    Parameters
    ----------
    matrix
        Frequencies.
    view
        From where.
    slip
        Share of looks that go wrong.
    rho
        Correlation within a group of characters.

    Returns
    -------
    (taxa, taxa) symmetric, 1 on the diagonal.

    Source
    ------
    identify_convention
    """
    visible = [character for character in matrix.characters.values() if character.certainty[view] > 0]
    groups = [character.group for character in visible]
    log_alike = np.zeros((len(matrix.taxa), len(matrix.taxa)))
    for character in visible:
        shares = matrix.by_taxon(character.key)
        reported = (1 - slip) * shares + slip / shares.shape[1]
        direction = reported / np.linalg.norm(reported, axis=1, keepdims=True)
        log_alike += np.log(direction @ direction.T) / (1 + rho * (groups.count(character.group) - 1))
    return np.exp(log_alike)


@cache
def expected_confusion(tables: Tables) -> NDArray[np.float64]:
    """
    What an animal is taken for, expected from how alike the marks are from above; the rest are lapses.

    Returns
    -------
    (taxa, taxa) row: the taxon it is, column: what it is taken for; each row adds to 1.

    Source
    ------
    identify_convention
    """
    alike = look_alike(tables.matrix, view=USUAL_VIEW, slip=tables.slips["trained"])
    share = alike / alike.sum(axis=1, keepdims=True)
    return np.asarray((1 - LAPSE) * share + LAPSE / len(share))


def true_totals(reported: NDArray[np.float64], confusion: NDArray[np.float64]) -> NDArray[np.float64]:
    """
    True totals that best explain the reported ones, never negative.

    Parameters
    ----------
    reported
        (names,) how often each name was reported.
    confusion
        (taxa, names) row: the taxon it is, column: what is reported of it; each row adds to 1.

    Returns
    -------
    (taxa,) totals.
    """
    from scipy.optimize import nnls

    return np.asarray(nnls(confusion.T, reported)[0])
