"""
Nest success from days at risk: a daily rate with its interval, two groups compared, and the survival curve.

A nest that is lost early is seldom found, so the plain share of nests that succeed flatters. Mayfield's method counts
losses over nest-days at risk instead; the product-limit curve does the same day by day, each nest entering when found.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.special import betaincinv, gammaincinv, ndtri

if TYPE_CHECKING:
    from roadwatch.hatch.arrays import Bools, Floats


@dataclass(frozen=True)
class DailySurvival:
    """
    Daily survival over ``exposure_d`` nest-days with ``losses`` losses; ``low`` and ``high`` are its interval.

    ``se`` is the usual large-sample error; the interval is exact for a count of losses.
    """

    losses: int
    exposure_d: float
    daily: float
    se: float
    low: float
    high: float

    def over(self, days: float) -> tuple[float, float, float]:
        """Success over a number of days, with its interval: the daily rate to that power."""
        return self.daily**days, self.low**days, self.high**days


def daily_survival(losses: int, exposure_d: float, *, coverage: float = 0.95) -> DailySurvival:
    """
    Estimate daily survival from losses and nest-days.

    Parameters
    ----------
    losses
        Nests lost while at risk.
    exposure_d
        Nest-days at risk, above zero for an estimate.
    coverage
        Of the interval.

    Returns
    -------
    ``1 - losses / exposure``, its error ``sqrt((E - L) L / E^3)``, and the interval from the exact limits of a
    Poisson count; nan without exposure.

    Source
    ------
    mayfield1975, johnson1979, garwood1936

    Examples
    --------
    >>> daily_survival(35, 878.0).daily
    0.9601366742596811
    """
    if not exposure_d > 0:
        return DailySurvival(losses, exposure_d, *[float("nan")] * 4)
    tail = (1 - coverage) / 2
    most = float(gammaincinv(losses + 1, 1 - tail)) / exposure_d
    least = float(gammaincinv(losses, tail)) / exposure_d if losses else 0.0
    se = float(np.sqrt(max(exposure_d - losses, 0.0) * losses / exposure_d**3))
    return DailySurvival(losses, exposure_d, 1 - losses / exposure_d, se, max(1 - most, 0.0), max(1 - least, 0.0))


def loss_ratio(
    losses: tuple[int, int], exposure_d: tuple[float, float], *, coverage: float = 0.95
) -> tuple[float, float, float]:
    """
    Compare the loss rates of two groups.

    Parameters
    ----------
    losses, exposure_d
        Of the first and the second group.
    coverage
        Of the interval.

    Returns
    -------
    Rate of the first over that of the second with its exact interval: given all losses, those of the first are
    binomial. nan and 0 to +inf where it cannot be told.

    Source
    ------
    przyborowski1940
    """
    (a, b), (e, f) = losses, exposure_d
    if not (e > 0 and f > 0) or a + b == 0:
        return float("nan"), 0.0, float("inf")
    tail = (1 - coverage) / 2
    low = float(betaincinv(a, b + 1, tail)) if a else 0.0
    high = float(betaincinv(a + 1, b, 1 - tail)) if b else 1.0

    def ratio(share: float) -> float:
        return float("inf") if share >= 1 else share / (1 - share) * f / e

    return ratio(a / (a + b)), ratio(low), ratio(high)


def survival_curve(entered: Floats, left: Floats, is_loss: Bools, *, coverage: float = 0.95) -> pd.DataFrame:
    """
    Product-limit curve of nests that enter when found.

    Parameters
    ----------
    entered, left
        (n,) Days since laying at which each nest came under watch and left it.
    is_loss
        (n,) True where it left by loss.
    coverage
        Of the interval, which is of the log-log kind.

    Returns
    -------
    Table with ``day survival low high at_risk losses``; a row for each day with a loss, the first at day 0.

    Source
    ------
    kaplan_meier1958
    """
    from statsmodels.duration.survfunc import SurvfuncRight  # type: ignore[import-untyped]

    head = pd.DataFrame(
        [(0.0, 1.0, 1.0, 1.0, len(left), 0)], columns=["day", "survival", "low", "high", "at_risk", "losses"]
    )
    watched = left > entered
    if not (is_loss & watched).any():
        return head
    curve = SurvfuncRight(left[watched], is_loss[watched].astype(int), entry=entered[watched])
    survival, se = np.asarray(curve.surv_prob, float), np.asarray(curve.surv_prob_se, float)
    with np.errstate(divide="ignore", invalid="ignore"):
        spread = float(ndtri((1 + coverage) / 2)) * se / (survival * np.log(survival))
        low, high = survival ** np.exp(-spread), survival ** np.exp(spread)
    table = pd.DataFrame(
        {
            "day": np.asarray(curve.surv_times, float),
            "survival": survival,
            "low": np.where((survival > 0) & (survival < 1), low, 0.0),
            "high": np.where((survival > 0) & (survival < 1), high, 1.0),
            "at_risk": np.asarray(curve.n_risk),
            "losses": np.asarray(curve.n_events).astype(int),
        }
    )
    return pd.concat([head, table[table["losses"] > 0]], ignore_index=True)
