"""Hotspots found one after another: a strong one must not hide the next by swelling what chance lets expect."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hotspots.ceilings import Ceiling
from roadwatch.hotspots.comparison import compare_with_scatterings
from roadwatch.hotspots.null import NullResult, Scatter

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from scipy import sparse

    from roadwatch.roads.arrays import BoolArray

FUTILE_P = 0.2
"""A later round whose smallest p is above this after a fifth of the draws is not drawn out."""

MOST_ROUNDS = 3
"""Rounds after which no more is looked for; the third rarely adds anything."""


@dataclass(frozen=True)
class Round:
    """
    One comparison with scatterings.

    Parameters
    ----------
    null
        Its result.
    kept
        (r,) True for the rows that were in it: those of no hotspot found before.
    marked
        (n,) True for the stretches that stand out in it.
    """

    null: NullResult
    kept: BoolArray
    marked: BoolArray


def step_down(
    scatter: Scatter,
    *,
    kernels: Sequence[sparse.csr_array],
    mark: Callable[[NullResult], BoolArray],
    n_draws: int,
    rng: np.random.Generator,
    progress: Callable[[int, int], None] | None = None,
    ceilings: Sequence[Ceiling] | None = None,
) -> list[Round]:
    """
    Compare with scatterings, set aside the stretches that stand out with their records, and compare the rest.

    If no road is special the first round alone decides whether anything is found, so the chance of a false alarm stays
    what it is; if some is, the rest is tested against a chance that it does not swell.

    A later round is looked at after a fifth of its draws and ends there if its smallest p is above ``FUTILE_P``. If it
    goes on, that fifth is kept: p then counts all draws, as if nobody had looked, and what is found is a part of what
    would have been found without the look. So the look can hide something, but adds no false alarm.

    Parameters
    ----------
    scatter
        The records and their chances.
    kernels, n_draws, rng, progress, ceilings
        As in ``compare_with_scatterings``; progress is told anew in each round.
    mark
        From a comparison to (n,) the stretches that stand out.

    Returns
    -------
    The rounds; in all but the last something stood out.

    Source
    ------
    zhang2010
    """
    kept = np.ones(len(scatter.stretch), dtype=bool)
    roofs = [Ceiling.of(kernel) for kernel in kernels] if ceilings is None else ceilings
    rounds: list[Round] = []
    rest = scatter
    while True:
        null = compare_with_scatterings(
            rest,
            kernels=kernels,
            n_draws=n_draws,
            rng=rng,
            progress=progress,
            ceilings=roofs,
            futile_p=FUTILE_P if rounds else None,
            is_local=not rounds,
        )
        marked = mark(null)
        rounds.append(Round(null, kept, marked))
        found = np.any([one.marked for one in rounds], axis=0)
        kept = kept & ~_touches(scatter, found)
        chance = np.where(found, 0.0, scatter.chance)
        left = chance[np.unique(scatter.stratum[kept])].sum(axis=1)
        if not marked.any() or len(rounds) == MOST_ROUNDS or not kept.any() or not (left > 0.0).all():
            return rounds
        rest = _rest(scatter, kept, chance)


def combined(rounds: Sequence[Round]) -> NullResult:
    """
    One result of all rounds: the first, with the p of what stood out later from the round in which it did.

    p never falls below that of what was found before, so that it keeps its meaning for the whole map.

    Parameters
    ----------
    rounds
        The rounds.
    """
    first = rounds[0].null
    p_value, p_by_kernel = first.p_value.copy(), first.p_by_kernel.copy()
    found = rounds[0].marked.copy()
    least = float(np.max(first.p_value[found], initial=0.0))
    for one in rounds[1:]:
        new = one.marked & ~found
        p_value[new] = np.maximum(one.null.p_value[new], least)
        p_by_kernel[:, new] = np.maximum(one.null.p_by_kernel[:, new], least)
        found |= new
        least = max(least, float(np.max(one.null.p_value[new], initial=0.0)))
    return replace(first, p_value=p_value, p_by_kernel=p_by_kernel)


def _touches(scatter: Scatter, found: BoolArray) -> BoolArray:
    """(r,) True for all rows of records of which a part lies where something was found."""
    touches = found[scatter.stretch]
    if scatter.record is None:
        return touches
    return np.isin(scatter.record, scatter.record[touches])


def _rest(scatter: Scatter, kept: BoolArray, chance: np.ndarray) -> Scatter:
    total = chance.sum(axis=1, keepdims=True)
    return Scatter(
        scatter.stretch[kept],
        scatter.weight[kept],
        scatter.stratum[kept],
        np.divide(chance, total, out=np.zeros_like(chance), where=total > 0.0),
        None if scatter.record is None else scatter.record[kept],
        scatter.tilt,
        scatter.order,
    )
