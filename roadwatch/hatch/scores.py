"""
How good past forecasts were: coverage, width, the continuous ranked probability score, and where the truth fell.

An ensemble is a row of days, the truth one day; +inf is 'not by 31 December'. Scores that need a number take the end of
the year for it, and the caller counts how often.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from roadwatch.hatch.arrays import Bools, Floats, Ints


ROUNDING = 1e-9
"""Places and days closer than this are the same."""


def ranked_probability(ensemble: Floats, truth: Floats, *, fair: bool = True) -> Floats:
    """
    Continuous ranked probability score of ensembles: smaller is better, in the unit of the truth.

    Parameters
    ----------
    ensemble
        (n, members), nan where a row has fewer members.
    truth
        (n,)
    fair
        Whether the spread is that of ``n (n - 1)`` pairs, as if the ensemble were without end.

    Returns
    -------
    (n,) mean distance to the truth less half the mean distance between members.

    Source
    ------
    gneiting_raftery2007

    Examples
    --------
    >>> float(ranked_probability(np.array([[1.0, 3.0]]), np.array([2.0]), fair=False)[0])
    0.5
    """
    ranked = np.sort(ensemble, axis=1)  # nan last
    present = ~np.isnan(ranked)
    count = present.sum(axis=1)
    position = np.arange(1, ranked.shape[1] + 1)
    # The sum over pairs of |x - x'| is 2 sum (2 i - n - 1) x_(i) for ranked members.
    pairs = 2 * np.nansum((2 * position - count[:, None] - 1) * ranked, axis=1)
    n_pairs = count * (count - 1) if fair else count * count
    with np.errstate(invalid="ignore", divide="ignore"):
        away: Floats = np.nansum(np.abs(ranked - truth[:, None]), axis=1) / count - pairs / (2 * n_pairs)
    return away


def central_interval(ensemble: Floats, *, coverage: float) -> tuple[Floats, Floats]:
    """
    Ends of the central interval, at ``(n + 1) p`` of the members.

    Parameters
    ----------
    ensemble
        (n, members), nan where a row has fewer members; +inf members push the late end out.
    coverage
        Share between the ends. Members exchangeable with the truth then hold it at this rate, unless they are too few
        for it: then the ends are the outermost members.

    Returns
    -------
    (n,) early and late.
    """
    ranked = np.sort(ensemble, axis=1)
    count = (~np.isnan(ranked)).sum(axis=1)
    rows = np.arange(len(ranked))
    ends = []
    for share in ((1 - coverage) / 2, (1 + coverage) / 2):
        place = np.clip(share * (count + 1), 1, count) - 1
        below = np.floor(place + ROUNDING).astype(np.int64)
        above = np.minimum(below + 1, count - 1)
        lower, upper = ranked[rows, below], ranked[rows, above]
        part = np.where(place - below < ROUNDING, 0.0, place - below)
        with np.errstate(invalid="ignore"):
            ends.append(np.where((part <= 0) | (lower == upper), lower, lower + part * (upper - lower)))
    return ends[0], ends[1]


def probability_integral(ensemble: Floats, truth: Floats) -> Floats:
    """
    Where the truth falls among the members: 0 before all of them, 1 after all, evenly spread when all is well.

    Parameters
    ----------
    ensemble
        (n, members), nan where a row has fewer.
    truth
        (n,)

    Returns
    -------
    (n,) ranks ``(members before + half of those equal + 1/2) / (members + 1)``.
    """
    present = ~np.isnan(ensemble)
    before = ((ensemble < truth[:, None]) & present).sum(axis=1)
    equal = ((ensemble == truth[:, None]) & present).sum(axis=1)
    rank: Floats = (before + equal / 2 + 0.5) / (present.sum(axis=1) + 1)
    return rank


def needed_factor(middle: Floats, early: Floats, late: Floats, truth: Floats) -> Floats:
    """
    Factor by which each window's own side would have had to be stretched to hold the truth.

    Parameters
    ----------
    middle, early, late, truth
        (n,)

    Returns
    -------
    (n,) distance of the truth from the middle over that of the end on its side; +inf for a side without width, nan for
    a middle that is not in the year.
    """
    with np.errstate(invalid="ignore", divide="ignore"):  # a middle beyond 31 December tells nothing
        side = np.where(truth >= middle, late - middle, middle - early)
        factor = np.abs(truth - middle) / side
    return np.where(np.abs(truth - middle) < 1e-9, 0.0, factor)


def stretch(needed: Floats, *, coverage: float) -> float:
    """
    Factor that would have made past windows hold their share; never below 1.

    Parameters
    ----------
    needed
        (k,) As ``needed_factor`` returns it, of past windows; those of a side without width are passed over.
    coverage
        Share that stretched windows should hold; from ``1 / (1 - coverage) - 1`` windows on they do so on average.

    Returns
    -------
    The ``(k + 1) coverage``-th smallest, at most the greatest; 1 where no window counts.

    Source
    ------
    vovk2005
    """
    past = needed[np.isfinite(needed)]
    if not len(past):
        return 1.0
    place = min(int(np.ceil((len(past) + 1) * coverage - ROUNDING)), len(past)) - 1
    return max(float(np.partition(past, place)[place]), 1.0)


def learned_factors(needed: Floats, year: Ints, *, coverage: float, fewest_years: int) -> Floats:
    """
    Learn for each year, from earlier years alone, how far to stretch its windows; never below 1.

    Parameters
    ----------
    needed
        (n,) As ``needed_factor`` returns it.
    year
        (n,) Year of each window; those of one year share a factor.
    coverage
        Share that the stretched windows should hold.
    fewest_years
        Years with fewer earlier ones keep 1.

    Returns
    -------
    (n,) factors: the ``(k + 1) coverage``-th smallest of what the k earlier windows needed.

    Source
    ------
    vovk2005
    """
    factors = np.ones(len(needed))
    for one in np.unique(year):
        if len(np.unique(year[year < one])) >= fewest_years:
            factors[year == one] = stretch(needed[year < one], coverage=coverage)
    return factors


@dataclass(frozen=True)
class Share:
    """A share with its standard error by resampling whole years, and the number of cases behind it."""

    share: float
    se: float
    n: int


def share_by_years(held: Bools, year: Ints, *, rng: np.random.Generator, n_resamples: int = 1000) -> Share:
    """
    Share of cases that held, and its error when whole years are drawn again.

    Parameters
    ----------
    held
        (n,) Whether each case held.
    year
        (n,) Year of each; its cases stay together, as one summer makes them all.
    rng
        Source of chance.
    n_resamples
        Draws of years with replacement.
    """
    _, of_year = np.unique(year, return_inverse=True)
    hits, count = np.bincount(of_year, held.astype(float)), np.bincount(of_year).astype(float)
    drawn = rng.integers(0, len(count), (n_resamples, len(count)))
    again = hits[drawn].sum(axis=1) / count[drawn].sum(axis=1)
    return Share(float(held.mean()), float(again.std(ddof=1)), len(held))
