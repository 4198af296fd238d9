"""Carcasses that were gone or overlooked: what a count says about the animals that died."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import UsageError

if TYPE_CHECKING:
    from roadwatch.roads.arrays import BoolArray, FloatArray


@dataclass(frozen=True)
class CarcassTrial:
    """
    What a trial with placed carcasses found.

    Parameters
    ----------
    persistence_days, persistence_days_se
        Mean time until a carcass is gone, exponential, and its standard error.
    found_share, found_share_se
        Share of the carcasses present that one search finds, and its standard error.
    days_between_searches
        Days from one search of a road to the next.
    looked_again
        True where a carcass missed once may be found by a later search, False where it counts only at the first.
    """

    persistence_days: float
    persistence_days_se: float
    found_share: float
    found_share_se: float
    days_between_searches: float
    looked_again: bool = True

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        if not (self.persistence_days > 0.0 and self.days_between_searches > 0.0 and 0.0 < self.found_share <= 1.0):
            raise UsageError(
                f"carcass trial: persistence {self.persistence_days} d, interval {self.days_between_searches} d, "
                f"found share {self.found_share}; expected days above 0 and a share above 0 and up to 1"
            )


def present_share(persistence_days: FloatArray | float, days_between_searches: FloatArray | float) -> FloatArray:
    """
    Share of the animals killed between two searches whose carcass is still there at the second.

    Parameters
    ----------
    persistence_days, days_between_searches
        Mean persistence (exponential) and interval, days.

    Source
    ------
    shoenfeld2004
    """
    intervals = np.asarray(days_between_searches, dtype=np.float64) / persistence_days
    return np.asarray(-np.expm1(-intervals) / intervals)


def recorded_share(
    persistence_days: FloatArray | float,
    found_share: FloatArray | float,
    days_between_searches: FloatArray | float,
    *,
    looked_again: bool = True,
) -> FloatArray:
    """
    Share of the animals killed whose carcass is recorded at all.

    Parameters
    ----------
    persistence_days, found_share, days_between_searches, looked_again
        As in ``CarcassTrial``.

    Source
    ------
    shoenfeld2004
    """
    once = present_share(persistence_days, days_between_searches) * found_share
    if not looked_again:
        return once
    stays = np.exp(-np.asarray(days_between_searches, dtype=np.float64) / persistence_days)
    return np.asarray(once / (1.0 - (1.0 - np.asarray(found_share)) * stays))


def animals_killed(recorded: float, share: float) -> tuple[float, float]:
    """
    Estimate the animals killed from those recorded, and the variance that chance of recording alone gives.

    Parameters
    ----------
    recorded
        Carcasses recorded.
    share
        Chance of each to be recorded.

    Source
    ------
    horvitz_thompson1952
    """
    return recorded / share, recorded * (1.0 - share) / share**2


def killed_interval(
    recorded: float, trial: CarcassTrial, rng: np.random.Generator, *, n_draws: int = 4000, coverage: float = 0.95
) -> tuple[float, float, float]:
    """
    Animals killed with the interval that holds their mean: chance of the count, of persistence and of finding.

    Parameters
    ----------
    recorded
        Carcasses recorded, weighted.
    trial
        Persistence and finding with their errors.
    rng
        Source of chance.
    n_draws
        Draws of all three.
    coverage
        Probability held by the interval.

    Returns
    -------
    (estimate, low, high).
    """
    share = draw_recorded_share(trial, rng, n_draws=n_draws)
    mean = rng.gamma(recorded + 0.5, size=n_draws)
    tail = (1.0 - coverage) / 2.0
    low, high = np.quantile(mean / share, [tail, 1.0 - tail])
    best = recorded_share(
        trial.persistence_days, trial.found_share, trial.days_between_searches, looked_again=trial.looked_again
    )
    return recorded / float(best), float(low), float(high)


def draw_recorded_share(trial: CarcassTrial, rng: np.random.Generator, *, n_draws: int) -> FloatArray:
    """
    Draw the share recorded as far as the trial knows it.

    Parameters
    ----------
    trial
        Persistence (drawn log-normally) and finding (drawn from a beta distribution) with their errors.
    rng
        Source of chance.
    n_draws
        Number of draws.

    Returns
    -------
    (n_draws,) Shares.
    """
    relative = trial.persistence_days_se / trial.persistence_days
    days = trial.persistence_days * np.exp(rng.standard_normal(n_draws) * np.sqrt(np.log1p(relative**2)))
    p, variance = trial.found_share, trial.found_share_se**2
    found = np.full(n_draws, p)
    if variance > 0.0 and p < 1.0:
        size = max(p * (1.0 - p) / variance - 1.0, 1e-3)
        found = np.maximum(rng.beta(p * size, (1.0 - p) * size, n_draws), 1e-6)
    return recorded_share(days, found, trial.days_between_searches, looked_again=trial.looked_again)


def fit_persistence(days: FloatArray, is_gone: BoolArray) -> tuple[float, float]:
    """
    Mean persistence and its standard error from carcasses that were watched, by greatest likelihood.

    Parameters
    ----------
    days
        (n,) Days until each was gone, or until it was last seen.
    is_gone
        (n,) False for carcasses that outlasted the trial.

    Raises
    ------
    UsageError
        None was gone: the trial was too short to say.
    """
    n_gone = int(np.sum(is_gone))
    if not n_gone:
        raise UsageError("carcass trial: every carcass outlasted it; watch longer, or give a persistence from a source")
    mean = float(np.sum(days)) / n_gone
    return mean, mean / float(np.sqrt(n_gone))


def fit_found_share(n_found: int, n_placed: int) -> tuple[float, float]:
    """
    Share that searchers find, and its standard error: mean and spread under a Jeffreys prior.

    Parameters
    ----------
    n_found, n_placed
        Carcasses found by one search, and those that lay there.

    Raises
    ------
    UsageError
        None was placed, or more were found than placed.
    """
    if not 0 <= n_found <= n_placed or not n_placed:
        raise UsageError(
            f"carcass trial: {n_found} of {n_placed} found; expected at least one placed, and no more found"
        )
    mean = (n_found + 0.5) / (n_placed + 1.0)
    return mean, float(np.sqrt(mean * (1.0 - mean) / (n_placed + 2.0)))
