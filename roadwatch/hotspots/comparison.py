"""Records compared with their own scatterings: how surprising is what was seen?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hotspots.ceilings import Ceiling
from roadwatch.hotspots.null import NullResult, null_scale, relocate, share_reached
from roadwatch.hotspots.surprise import SAME_SURPRISE, Yardstick
from roadwatch.hotspots.threads import in_order

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from scipy import sparse

    from roadwatch.hotspots.null import Scatter
    from roadwatch.roads.arrays import FloatArray, IntArray

LEAST_DRAWS = 19
"""Draws with which p can be 5 %."""

CELLS_PER_BLOCK = 1_000_000
"""Stretches times draws held in memory at once, unless that is fewer than ``LEAST_AT_ONCE`` draws."""

LEAST_AT_ONCE = 64
"""Draws that one pass over a kernel serves; with fewer, fetching the kernel costs more than using it."""


def compare_with_scatterings(
    scatter: Scatter,
    *,
    kernels: Sequence[sparse.csr_array],
    n_draws: int,
    rng: np.random.Generator,
    progress: Callable[[int, int], None] | None = None,
    cells_per_block: int | None = None,
    ceilings: Sequence[Ceiling] | None = None,
    futile_p: float | None = None,
    is_local: bool = True,
) -> NullResult:
    """
    Compare records with their own scatterings and control the error over all stretches and kernels at once.

    Parameters
    ----------
    scatter
        The records and their chances.
    kernels
        (n, n) Kernel matrices of the stretches; the first is the one whose density is told.
    n_draws
        Number of scatterings; the smallest possible p is 1 / (n_draws + 1).
    rng
        Source of chance; the same state gives the same result, whatever the order of the records.
    progress
        Called with the draws done and the draws in all; where no more are made, as if all were done.
    cells_per_block
        Stretches times draws held in memory at once, None for what is quick; it does not change the result.
    ceilings
        Those of the kernels, where they are at hand.
    futile_p
        If the smallest p after a fifth of the draws is above it, no more are made and p is told from these. None, or
        fewer than ``5 * LEAST_DRAWS`` draws, makes all. Where all are made the first fifth counts among them: p is then
        that of a test without a look in between, and an earlier end can only hide what would be found, so the look
        adds no false alarm as long as it is above the p at which something is found.
    is_local
        False leaves out ``p_local``, which is then nan.

    Source
    ------
    barnard1963, besag_diggle1977, phipson_smyth2010
    """
    tested = scatter.chance.sum(axis=0) > 0.0
    roofs = [Ceiling.of(kernel) for kernel in kernels] if ceilings is None else ceilings
    yardsticks = tuple(
        Yardstick.of(kernel, *null_scale(scatter, kernel, tested), ceiling=roof)
        for kernel, roof in zip(kernels, roofs, strict=True)
    )
    seen = scatter.observed()
    observed = np.array([one.surprise(seen) for one in yardsticks])
    observed[:, ~tested] = np.nan
    density = np.asarray(yardsticks[0].kernel @ seen, dtype=np.float64)
    bar = np.where(tested & (density > yardsticks[0].mean), density * (1.0 - SAME_SURPRISE), -np.inf)
    per_block = max(1, (cells_per_block or max(CELLS_PER_BLOCK, LEAST_AT_ONCE * len(tested))) // len(tested))
    largest, n_local = np.zeros((len(kernels), 0)), np.zeros(len(tested), dtype=np.int64)
    for leg in _legs(n_draws, futile_p):
        looks = _looks(scatter, yardsticks, bar if is_local else None, n_draws=leg, per_block=per_block, rng=rng)
        for highest, n_reached in looks:
            largest = np.column_stack([largest, highest])
            n_local += n_reached
            if progress is not None:
                progress(largest.shape[1], n_draws)
        factor = _alike(np.column_stack([np.nanmax(observed, axis=1), largest]))
        any_kernel = (largest * factor[:, None]).max(axis=0)
        p_by_kernel = share_reached(observed * factor[:, None], any_kernel)
        if futile_p is not None and np.nanmin(p_by_kernel) > futile_p:
            break
    if progress is not None and len(any_kernel) < n_draws:
        progress(n_draws, n_draws)
    return NullResult(
        density=density,
        expected_density=yardsticks[0].mean,
        surprise=observed[0],
        p_value=p_by_kernel.min(axis=0),
        p_local=np.where(tested & is_local, (1 + n_local) / (1 + len(any_kernel)), np.nan),
        largest=any_kernel,
        p_by_kernel=p_by_kernel,
        yardsticks=tuple(one.scaled(by) for one, by in zip(yardsticks, factor, strict=True)),
    )


def _legs(n_draws: int, futile_p: float | None) -> tuple[int, ...]:
    """Draws up to the look in between, if there is one, and after it."""
    if futile_p is None or n_draws < 5 * LEAST_DRAWS:
        return (n_draws,)
    return n_draws // 5, n_draws - n_draws // 5


def _looks(
    scatter: Scatter,
    yardsticks: Sequence[Yardstick],
    bar: FloatArray | None,
    *,
    n_draws: int,
    per_block: int,
    rng: np.random.Generator,
) -> Iterator[tuple[FloatArray, IntArray]]:
    """By blocks of draws: (k, draws) largest surprise with each kernel, and (n,) draws that reach each bar."""
    weight, _ = scatter.movable()
    n_stretches = scatter.chance.shape[1]

    def look(places: IntArray) -> tuple[FloatArray, IntArray]:
        counts = _counts(places, weight, n_stretches)
        reached = np.zeros(n_stretches, dtype=np.int64) if bar is None else yardsticks[0].reaching(counts, bar)
        single = counts.astype(np.float32)
        return np.array([one.highest(counts, single=single) for one in yardsticks]), reached

    return in_order(look, relocate(scatter, n_draws=n_draws, draws_per_block=per_block, rng=rng))


def _counts(places: IntArray, weight: FloatArray, n_stretches: int) -> FloatArray:
    """(n, draws) Weighted records on each stretch in each draw."""
    n_draws = len(places)
    cell = places * n_draws + np.arange(n_draws)[:, None]
    weights = np.broadcast_to(weight, places.shape)
    counts = np.bincount(cell.ravel(), weights.ravel(), n_stretches * n_draws).astype(np.float64, copy=False)
    return counts.reshape(n_stretches, n_draws)


def _alike(largest: FloatArray) -> FloatArray:
    """
    (k,) Factors that give the largest surprise of each kernel, in all maps drawn or seen, the same 95 % quantile.

    Narrow kernels look at more places and so reach higher by chance; without the factors they alone would set the bar.
    The observed map counts as one of all, which keeps the test exact.
    """
    high = np.quantile(largest, 0.95, axis=1, method="higher")
    return np.where(high > 0.0, high[0] / np.where(high > 0.0, high, 1.0), 1.0)
