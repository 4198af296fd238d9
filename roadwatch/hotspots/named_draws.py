"""Is a hotspot of a taxon still there in other sets of names that the records could have?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from roadwatch.hotspots.shrinkage import Ratio, draw_ratios, posterior, posterior_ratio
from roadwatch.hotspots.stepdown import step_down
from roadwatch.identify.counts import pool

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from scipy import sparse

    from roadwatch.hotspots.ceilings import Ceiling
    from roadwatch.hotspots.clusters import Run
    from roadwatch.hotspots.null import NullResult, Scatter
    from roadwatch.hotspots.shrinkage import RatePrior
    from roadwatch.hotspots.study import Study
    from roadwatch.identify.counts import Pooled
    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray

SCATTERINGS_A_SET = 199
"""Scatterings of each set of names: with them p is exact at 5 %, only coarser than with 999."""

LEAST_SUPPORT = 0.5
"""A hotspot that stands out in fewer of the sets is not confirmed: its median p over the sets is above 5 %."""

RATIOS_A_SET = 400
"""Draws of a ratio in each set, from which its interval over all sets is read."""


@dataclass(frozen=True)
class NamedDraws:
    """
    The same search in several sets of drawn names.

    Parameters
    ----------
    weight
        (sets, r) Weight of each row of the study's records where its drawn name is of the taxon, 0 elsewhere.
    marked
        (sets, n) True for stretches that stand out in the set.
    stretch
        (r,) Stretch of each row.
    """

    weight: FloatArray
    marked: BoolArray
    stretch: IntArray

    def support_by_stretch(self) -> FloatArray:
        """(n,) Share of the sets in which each stretch stands out."""
        return np.asarray(self.marked.mean(axis=0), dtype=np.float64)

    def support(self, run: Run) -> float:
        """Share of the sets in which any of the stretches that stand out in a run's cluster does."""
        return float(self.marked[:, run.marked].any(axis=1).mean())

    def deaths_in(self, run: Run) -> Pooled:
        """
        Deaths of a run over all sets: each set counts like a Poisson count, and sets differ.

        Source
        ------
        rubin1987
        """
        by_set = self.weight[:, np.isin(self.stretch, run.stretch)].sum(axis=1)
        return pool(by_set, by_set)

    def ratio_in(self, run: Run, expected: float, *, prior: RatePrior, rng: np.random.Generator) -> Ratio:
        """
        Ratio of a run with its 95 % interval, the posteriors of all sets taken together.

        Source
        ------
        rubin1987
        """
        total = self.weight.sum(axis=1)
        by_set = self.weight[:, np.isin(self.stretch, run.stretch)].sum(axis=1)
        each = [(float(x), float(expected * t)) for x, t in zip(by_set, total / max(total.mean(), 1e-300), strict=True)]
        mean = float(np.mean([posterior_ratio(x, e, prior=prior).mean for x, e in each]))
        drawn = [draw_ratios(posterior(x, e, prior=prior), rng, n_draws=RATIOS_A_SET) for x, e in each]
        low, high = np.quantile(np.concatenate(drawn), [0.025, 0.975])
        return Ratio(mean, float(low), float(high))


def search_drawn_names(
    study: Study,
    scatter: Scatter,
    is_of: BoolArray,
    *,
    kernels: Sequence[sparse.csr_array],
    mark: Callable[[NullResult], BoolArray],
    n_draws: int,
    rng: np.random.Generator,
    ceilings: Sequence[Ceiling] | None = None,
) -> NamedDraws:
    """
    Repeat the search in each set of drawn names, each record being of the taxon with its whole weight, or not at all.

    The test of record is the one of all records weighted by their probability, whose rate of false alarms is exact: it
    moves each record with its weight. The sets can only take away from it: what stands out in fewer than half of
    them, that is, with a median p above 5 %, stays provisional. So sets never add a false alarm, and a place
    that stands out by many records of which few can be of the taxon is not called confirmed.

    Parameters
    ----------
    study, scatter
        Records with ``identity``, the probability in their weight, and their chances.
    is_of
        (sets, r) True where the drawn name of a row's record is of the taxon.
    kernels, mark, rng, ceilings
        As in the search itself, so that nothing of a kernel is computed twice.
    n_draws
        Most scatterings of a set; no more than ``SCATTERINGS_A_SET`` are made.

    Source
    ------
    rubin1987, eekhout2017, barnard1963
    """
    identity = study.records["identity"].to_numpy(dtype=np.float64)
    weight = np.where(is_of, scatter.weight / np.maximum(identity, 1e-12), 0.0)
    marked = np.zeros((len(is_of), scatter.chance.shape[1]), dtype=bool)
    for number, kept in enumerate(is_of):
        if not kept.any():
            continue
        record = None if scatter.record is None else scatter.record[kept]
        one = replace(
            scatter,
            stretch=scatter.stretch[kept],
            weight=weight[number, kept],
            stratum=scatter.stratum[kept],
            record=record,
        )
        most = min(n_draws, SCATTERINGS_A_SET)
        rounds = step_down(one, kernels=kernels, mark=mark, n_draws=most, rng=rng, ceilings=ceilings)
        marked[number] = np.any([found.marked for found in rounds], axis=0)
    return NamedDraws(weight, marked, scatter.stretch)


def pooled_interval(mean: float, total: float, *, coverage: float = 0.95) -> tuple[float, float]:
    """
    Interval of a mean count whose variance is larger than a count's own, by the gamma distributions that fit both.

    Parameters
    ----------
    mean, total
        Count, and its variance; with equal numbers the interval is that of a Poisson count.
    coverage
        Probability held by the interval.

    Source
    ------
    garwood1936
    """
    tail = (1.0 - coverage) / 2.0
    low = 0.0 if mean <= 0.0 else float(special.gammaincinv(mean**2 / max(total, 1e-300), tail) * total / mean)
    scale = (total + 1.0) / (mean + 1.0)
    high = float(special.gammaincinv((mean + 1.0) / scale, 1.0 - tail) * scale)
    return low, high
