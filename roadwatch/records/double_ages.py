"""How long a carcass can be seen, and whether two classes of carcass age fit one death."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.records.double_values import carcass_ages, value

if TYPE_CHECKING:
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]
    Ints = npt.NDArray[np.int64]

STEP_DAYS, OLDEST_DAYS = 0.25, 90.0
BLUR = 0.3
"""A class reaches beyond its interval by this share of the limit and of a day: heat and traffic shift all of them."""
EVEN_WEIGHT = 10.0
"""So many records are spread evenly over the classes before the season's own are counted (a convention)."""


def share_left(days: npt.ArrayLike) -> Floats:
    """
    Share of carcasses that can still be seen so many days after death.

    Source
    ------
    santos2011, doubles_convention
    """
    short, days = value("short_share"), np.asarray(days, dtype=np.float64)
    fast, slow = np.exp(-days / value("short_days")), np.exp(-days / value("long_days"))
    return np.asarray(short * fast + (1 - short) * slow, dtype=np.float64)


def lag_density(days: Ints) -> Floats:
    """
    Probability that a further record of a carcass is made on the day so many days before or after a record of it.

    Source
    ------
    santos2011, doubles_convention
    """
    longest = int(value("longest_days"))
    all_lags = share_left(np.abs(np.arange(-longest, longest + 1)))
    return np.where(np.abs(days) <= longest, share_left(np.abs(days)) / all_lags.sum(), 0.0)


def class_given_age() -> Floats:
    """
    (ages, 5) Probability of each class of carcass age by true age, in quarter days from 0 to 90.

    Source
    ------
    doubles_convention
    """
    age = np.arange(0, OLDEST_DAYS + STEP_DAYS, STEP_DAYS)[:, None]
    low, high = np.array(list(carcass_ages().values())).T
    beyond = np.maximum(low - age, 0) / (BLUR * (low + 1))
    beyond += np.where(np.isfinite(high), np.maximum(age - high, 0) / (BLUR * (np.minimum(high, 1e6) + 1)), 0.0)
    weight = np.exp(-(beyond**2)) + value("slip")
    return np.asarray(weight / weight.sum(axis=1, keepdims=True))


@cache
def _later_class() -> Floats:
    """(6, days, 5) Probability of the later record's class by the earlier one's (last: blank) and days between."""
    longest = int(value("longest_days"))
    by_age = class_given_age()
    left = share_left(np.arange(len(by_age)) * STEP_DAYS)
    first = np.column_stack([by_age * left[:, None], left])
    first /= first.sum(axis=0)
    steps = round(1 / STEP_DAYS)
    moved = [np.minimum(np.arange(len(by_age)) + lag * steps, len(by_age) - 1) for lag in range(longest + 1)]
    return np.stack([first.T @ by_age[rows] for rows in moved], axis=1)


def age_log_odds(earlier: Ints, later: Ints, days: Ints, share: Floats) -> Floats:
    """
    Natural logarithm of P(class of the later record | one carcass) over P(that class | another carcass).

    Parameters
    ----------
    earlier, later
        (k,) classes 0 to 4 (fresh, recent, old, dry, remains), -1 for blank.
    days
        (k,) days from the earlier to the later record, 0 to 30.
    share
        (5,) share of the season's records in each class.

    Source
    ------
    doubles_convention
    """
    table = _later_class()
    common = (share * EVEN_WEIGHT + table[-1, 0] * EVEN_WEIGHT) / (2 * EVEN_WEIGHT) if share.any() else table[-1, 0]
    days = np.minimum(days, table.shape[1] - 1)
    odds = table[earlier, days, later] / common[later]
    return np.where(later < 0, 0.0, np.log(np.maximum(odds, value("slip"))))
