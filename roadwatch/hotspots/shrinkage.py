"""How much more die here than expected, drawn towards the usual so that luck is not taken for danger."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

if TYPE_CHECKING:
    from roadwatch.roads.arrays import FloatArray

SPECIAL_SHARES = (1e-6, 0.005, 0.01, 0.02, 0.04, 0.08, 0.16)
"""Shares of the road that may be special, tried when a prior is fitted; the first is as good as none."""

SPECIAL_RATIOS = (3.0, 6.0, 12.0, 25.0, 50.0, 100.0)
"""Mean ratios that special road may have; around its mean the ratio is spread exponentially."""

USUAL_SHAPES = tuple(np.geomspace(0.1, 300.0, 9))
"""Shapes that the spread of usual road may have: the first wild, the last even to 6 %."""

NEGLIGIBLE = 1e-7
"""Parts of a mixture that weigh less are dropped."""


@dataclass(frozen=True)
class RatePrior:
    """
    What is thought of a ratio before its own count is seen: a mixture of gamma distributions.

    Parameters
    ----------
    weight, shape, rate
        (k,) Share of each gamma distribution in the mixture, and its parameters; a gamma's mean is shape / rate.
    """

    weight: FloatArray
    shape: FloatArray
    rate: FloatArray


@dataclass(frozen=True)
class Ratio:
    """A ratio of rates with the interval that holds it with the probability asked for."""

    mean: float
    low: float
    high: float


def gamma_prior(shape: float, rate: float) -> RatePrior:
    """
    The prior of a single gamma distribution.

    Parameters
    ----------
    shape, rate
        Its parameters, both positive.
    """
    return RatePrior(np.array([1.0]), np.array([shape]), np.array([rate]))


def fit_prior(deaths: FloatArray, expected: FloatArray) -> RatePrior:
    """
    Learn from many sections how ratios are spread: most of the road usual, a small share special.

    Usual ratios follow a gamma distribution, special ones an exponential; the mean over all is 1. How even the usual
    road is, how much is special and by how much is not decided but averaged over, each choice weighted by how likely
    it makes the counts. One gamma for all would take hotspots for chance where they are few.

    Parameters
    ----------
    deaths, expected
        (sections,) Weighted counts and expectations of sections of like length; those that expect nothing are ignored.

    Source
    ------
    dumouchel1999
    """
    x, e = deaths[expected > 0.0], expected[expected > 0.0]
    parts, fits = [], []
    hot = {mean: log_count_chance(x, e, 1.0, 1.0 / mean) for mean in SPECIAL_RATIOS}
    for share, mean, shape in product(SPECIAL_SHARES, SPECIAL_RATIOS, USUAL_SHAPES):
        if share * mean >= 0.9:  # nearly all deaths on special road: the rest would have no rate
            continue
        rate = shape * (1.0 - share) / (1.0 - share * mean)
        usual = log_count_chance(x, e, shape, rate)
        fits.append(np.logaddexp(np.log1p(-share) + usual, np.log(share) + hot[mean]).sum())
        parts.append([(1.0 - share, shape, rate), (share, 1.0, 1.0 / mean)])
    likely = np.exp(np.array(fits) - max(fits))
    mixture = np.array(parts)
    mixture[:, :, 0] *= likely[:, None]
    return _mixture(*mixture.reshape(-1, 3).T)


def log_count_chance(
    count: FloatArray | float, expected: FloatArray | float, shape: FloatArray | float, rate: FloatArray | float
) -> FloatArray:
    """
    Log probability of counts whose ratio to the expected is gamma distributed: the negative binomial.

    Parameters
    ----------
    count, expected
        Counts, which may be weighted, and expectations, positive.
    shape, rate
        The gamma distribution of the ratio. All four are numbers or arrays that broadcast.
    """
    constant = special.gammaln(shape + count) - special.gammaln(shape) - special.gammaln(count + 1.0)
    log_total = np.log(rate + expected)
    return np.asarray(constant + shape * (np.log(rate) - log_total) + count * (np.log(expected) - log_total))


def posterior(deaths: float, expected: float, *, prior: RatePrior) -> RatePrior:
    """
    What is thought of a ratio after its count was seen.

    Parameters
    ----------
    deaths, expected
        Weighted count and what the baseline expects, not negative; where nothing is expected nothing is learnt.
    prior
        What was thought beforehand.
    """
    if not expected > 0.0:
        return prior
    log_weight = np.log(prior.weight) + log_count_chance(deaths, expected, prior.shape, prior.rate)
    return _mixture(np.exp(log_weight - log_weight.max()), prior.shape + deaths, prior.rate + expected)


def draw_ratios(mixture: RatePrior, rng: np.random.Generator, *, n_draws: int) -> FloatArray:
    """
    Draw ratios from a mixture.

    Parameters
    ----------
    mixture
        The mixture.
    rng
        Source of chance.
    n_draws
        Number of draws.

    Returns
    -------
    (n_draws,) Ratios.
    """
    part = rng.choice(len(mixture.weight), n_draws, p=mixture.weight)
    return np.asarray(rng.gamma(mixture.shape[part]) / mixture.rate[part])


def posterior_ratio(deaths: float, expected: float, *, prior: RatePrior, coverage: float = 0.95) -> Ratio:
    """
    Ratio of the true rate to the baseline, given a count and a prior.

    Parameters
    ----------
    deaths, expected
        Weighted count and what the baseline expects, not negative.
    prior
        What is thought of ratios beforehand.
    coverage
        Probability held by the interval.

    Source
    ------
    dumouchel1999
    """
    after = posterior(deaths, expected, prior=prior)
    mean = float((after.weight * after.shape / after.rate).sum())
    tail = (1.0 - coverage) / 2.0
    return Ratio(mean, _quantile(after, tail), _quantile(after, 1.0 - tail))


def _mixture(weight: FloatArray, shape: FloatArray, rate: FloatArray) -> RatePrior:
    """A mixture without its negligible parts."""
    kept = weight > NEGLIGIBLE * weight.sum()
    return RatePrior(weight[kept] / weight[kept].sum(), shape[kept], rate[kept])


def _quantile(mixture: RatePrior, p: float) -> float:
    """Quantile of a gamma mixture: between those of its parts, found by halving."""
    of_parts = special.gammaincinv(mixture.shape, p) / mixture.rate
    low, high = float(of_parts.min()), float(of_parts.max())
    for _ in range(60):
        middle = (low + high) / 2.0
        below = float((mixture.weight * special.gammainc(mixture.shape, mixture.rate * middle)).sum())
        low, high = (middle, high) if below < p else (low, middle)
    return high


def count_interval(count: float, *, coverage: float = 0.95) -> tuple[float, float]:
    """
    Exact interval for the mean of a Poisson count, continued to weighted counts.

    Parameters
    ----------
    count
        The count, not negative.
    coverage
        Least probability that the interval holds the mean.

    Returns
    -------
    (low, high) Bounds; low is 0 for a count of 0.

    Source
    ------
    garwood1936
    """
    tail = (1.0 - coverage) / 2.0
    low = float(special.gammaincinv(count, tail)) if count > 0.0 else 0.0
    return low, float(special.gammaincinv(count + 1.0, 1.0 - tail))
