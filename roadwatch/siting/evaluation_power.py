"""How small a fall this much search could have shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from roadwatch.siting.evaluation_model import FEW, TAIL, exact_tails

if TYPE_CHECKING:
    from roadwatch.roads.arrays import BoolArray, FloatArray

CHANCE = 0.8
"""The chance with which a fall is to be seen; common practice, no source."""
FALLS = np.arange(0.05, 1.0001, 0.05)
N_DRAWS = 400


def power(
    expected: FloatArray,
    km: FloatArray,
    *,
    fall: float,
    rng: np.random.Generator,
    extra_variance: float = 0.0,
    n_draws: int = N_DRAWS,
) -> float:
    """
    Chance that the 95 % interval lies wholly below 1 if deaths truly fell by a share, by simulation.

    Parameters
    ----------
    expected
        (4,) Deaths to be expected without a measure: impact after and before, control after and before.
    km
        (4,) Search-kilometres.
    fall
        Share by which the measure lowers deaths at the impact, 0 to 1.
    rng
        Source of chance.
    extra_variance
        Variance of the log of the ratio beyond that of Poisson counts.
    n_draws
        Number of simulated studies.
    """
    mean = expected * np.array([1.0 - fall, 1.0, 1.0, 1.0])
    spread = np.exp(np.sqrt(extra_variance) * rng.standard_normal(n_draws))
    means = np.tile(mean, (n_draws, 1))
    means[:, 0] *= spread
    return float(is_fall_seen(rng.poisson(means).astype(np.float64), km, extra_variance=extra_variance).mean())


def is_fall_seen(deaths: FloatArray, km: FloatArray, *, extra_variance: float = 0.0) -> BoolArray:
    """
    Say for each study whether its 95 % interval lies below 1: exact where a count is under 5, else on the log scale.

    Parameters
    ----------
    deaths
        (k, 4) Counts.
    km
        (4,) Search-kilometres.
    extra_variance
        Variance of the log of the ratio beyond that of Poisson counts; with any, the log scale is used throughout.
    """
    below, _ = exact_tails(deaths, km)
    has_deaths = (deaths[:, :2].sum(axis=1) > 0) & (deaths[:, 2:].sum(axis=1) > 0)
    seen = (below < TAIL) & has_deaths
    is_large = (deaths.min(axis=1) >= FEW) | ((extra_variance > 0.0) & (deaths > 0).all(axis=1))
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = deaths / km
        middle = np.log(rate[:, 0] * rate[:, 3] / (rate[:, 1] * rate[:, 2]))
        error = np.sqrt((1.0 / deaths).sum(axis=1) + extra_variance)
        by_log = middle - special.ndtri(TAIL) * error < 0.0
    return np.asarray(np.where(is_large, by_log, seen), dtype=bool)


def smallest_fall(
    expected: FloatArray,
    km: FloatArray,
    *,
    rng: np.random.Generator,
    extra_variance: float = 0.0,
    n_draws: int = N_DRAWS,
) -> float:
    """
    Find the smallest fall that would be seen with 80 % chance.

    Parameters
    ----------
    expected, km, rng, extra_variance, n_draws
        As in ``power``.

    Returns
    -------
    Share from 0 to 1, between the two falls of a grid of 5 % at which the chance passes 80 %; nan where not even the
    end of all deaths would be seen so often.
    """
    found = np.array(
        [
            power(expected, km, fall=float(fall), rng=rng, extra_variance=extra_variance, n_draws=n_draws)
            for fall in FALLS
        ]
    )
    if found[-1] < CHANCE:
        return float("nan")
    at = int(np.flatnonzero(found < CHANCE)[-1]) + 1 if (found < CHANCE).any() else 0
    if at == 0:
        return float(FALLS[0])
    share = (CHANCE - found[at - 1]) / (found[at] - found[at - 1])
    return float(FALLS[at - 1] + share * (FALLS[at] - FALLS[at - 1]))
