"""Before, after, control, impact: how many times the deaths per search-kilometre that the controls let expect."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import optimize, special

from roadwatch.errors import NotEnoughDataError

if TYPE_CHECKING:
    import pandas as pd

    from roadwatch.roads.arrays import FloatArray

FEW = 5
"""Where any of the four counts is smaller, the interval is the exact conditional one (a convention)."""
TAIL = 0.025
"""Chance left outside the interval on each side."""
LARGEST_DISPERSION = 20.0
GROUPS = ((1, 1), (1, 0), (0, 1), (0, 0))
"""Impact after, impact before, control after, control before: each as (is impact, is after)."""


@dataclass(frozen=True)
class Baci:
    """
    Ratio of two ratios, (impact after / before) / (control after / before), each per search-kilometre.

    Parameters
    ----------
    ratio, low, high
        Estimate and 95 % interval; below 1 is fewer deaths than the controls let expect. High may be infinite.
    p_value
        Two-sided chance of so unlike a ratio if the measure did nothing.
    model
        ``negative binomial``, ``Poisson`` or ``exact conditional``.
    dispersion
        Extra variance between rows over the squared mean; 0 with Poisson.
    extra_variance
        What the dispersion adds to the variance of the log of the ratio.
    """

    ratio: float
    low: float
    high: float
    p_value: float
    model: str
    dispersion: float
    extra_variance: float


def four_cells(rows: pd.DataFrame) -> tuple[FloatArray, FloatArray]:
    """
    Sum deaths and kilometres of impact after and before, control after and before.

    Parameters
    ----------
    rows
        One row a group and span of time: ``impact after`` (0 or 1), ``deaths``, ``km``.

    Returns
    -------
    (4,) deaths and (4,) search-kilometres, in the order of ``GROUPS``.
    """
    of_group = [rows[(rows["impact"] == impact) & (rows["after"] == after)] for impact, after in GROUPS]
    return (
        np.array([group["deaths"].sum() for group in of_group], dtype=np.float64),
        np.array([group["km"].sum() for group in of_group], dtype=np.float64),
    )


def fit_baci(rows: pd.DataFrame) -> Baci:
    """
    Fit the ratio of ratios by a negative-binomial model with the log of the search-kilometres as offset.

    The dispersion is that which makes Pearson's statistic equal its degrees of freedom; where rows vary no more than
    Poisson counts, or there are no degrees of freedom, the model is Poisson. With a count under 5 in any of the four
    groups a Poisson interval is the exact conditional one, of the counts rounded to whole ones. Intervals of the
    negative binomial use Student's t.

    Parameters
    ----------
    rows
        One row a group and year: ``impact after`` (0 or 1), ``deaths`` (with parts, where records lie partly
        inside), ``km`` (not negative; rows without search are left out).

    Raises
    ------
    NotEnoughDataError
        One of the four groups has no search, or impact or control has no death at all.

    Source
    ------
    stewart_oaten1986, breslow1984, cornfield1956
    """
    used = rows[rows["km"] > 0.0]
    deaths, km = four_cells(used)
    if not (km > 0.0).all() or deaths[:2].sum() == 0 or deaths[2:].sum() == 0:
        raise NotEnoughDataError("not enough data: no search in one of the four groups, or no death in two of them")
    ratio = plain_ratio(deaths, km)
    dispersion, degrees = _dispersion(used) if (deaths > 0).all() else (0.0, 0)
    if dispersion > 0.0:
        return _negative_binomial(used, dispersion, degrees)
    whole = np.rint(deaths)
    low, high = exact_interval(whole, km) if deaths.min() < FEW else wald_interval(deaths, km)
    model = "exact conditional" if deaths.min() < FEW else "Poisson"
    if model == "Poisson":
        z = abs(np.log(ratio)) / np.sqrt((1.0 / deaths).sum())
        return Baci(ratio, low, high, float(special.erfc(z / np.sqrt(2.0))), model, 0.0, 0.0)
    below, above = exact_tails(whole[None, :], km)
    return Baci(ratio, low, high, min(1.0, 2.0 * min(float(below[0]), float(above[0]))), model, 0.0, 0.0)


def plain_ratio(deaths: FloatArray, km: FloatArray) -> float:
    """
    The ratio of ratios of four sums; 0 or infinite where a count is 0.

    Parameters
    ----------
    deaths, km
        (4,) In the order of ``GROUPS``.
    """
    rate = deaths / km
    above, below = float(rate[0] * rate[3]), float(rate[1] * rate[2])
    return above / below if below > 0.0 else (np.inf if above > 0.0 else np.nan)


def wald_interval(deaths: FloatArray, km: FloatArray) -> tuple[float, float]:
    """
    Interval on the log scale from the sum of the reciprocals of the four counts, all positive.

    Parameters
    ----------
    deaths, km
        (4,) In the order of ``GROUPS``.
    """
    half = -special.ndtri(TAIL) * np.sqrt((1.0 / deaths).sum())
    middle = np.log(plain_ratio(deaths, km))
    return float(np.exp(middle - half)), float(np.exp(middle + half))


def exact_tails(deaths: FloatArray, km: FloatArray, *, ratio: float = 1.0) -> tuple[FloatArray, FloatArray]:
    """
    Chance of so few and of so many deaths at the impact after, given all margins, if the ratio were as stated.

    Parameters
    ----------
    deaths
        (k, 4) Whole counts in the order of ``GROUPS``.
    km
        (4,) Search-kilometres.
    ratio
        The ratio of ratios under which the chance is taken.

    Returns
    -------
    (k,), (k,) Lower and upper tail, each with the count seen.

    Source
    ------
    cornfield1956
    """
    impact, after = deaths[:, :2].sum(axis=1), deaths[:, 0] + deaths[:, 2]
    control = deaths[:, 2:].sum(axis=1)
    count = np.arange(int(impact.max()) + 1.0)[None, :]
    left = after[:, None] - count
    possible = (count <= impact[:, None]) & (left >= 0.0) & (left <= control[:, None])
    log_odds = np.log(ratio) + np.log(km[0] / km[1]) - np.log(km[2] / km[3])
    with np.errstate(invalid="ignore"):
        chance = _log_choose(impact[:, None], count) + _log_choose(control[:, None], left) + count * log_odds
    chance = np.where(possible, chance, -np.inf)
    chance = np.exp(chance - chance.max(axis=1, keepdims=True))
    chance /= chance.sum(axis=1, keepdims=True)
    seen = deaths[:, :1]
    return (chance * (count <= seen)).sum(axis=1), (chance * (count >= seen)).sum(axis=1)


def exact_interval(deaths: FloatArray, km: FloatArray) -> tuple[float, float]:
    """
    The ratios of ratios under which neither tail is rarer than 2.5 %.

    Parameters
    ----------
    deaths, km
        (4,) In the order of ``GROUPS``; counts whole.

    Source
    ------
    cornfield1956
    """
    cells = deaths[None, :]

    def off(log_ratio: float, tail: int) -> float:
        return float(exact_tails(cells, km, ratio=float(np.exp(log_ratio)))[tail][0]) - TAIL

    is_least = deaths[0] == 0 or deaths[3] == 0
    is_most = deaths[1] == 0 or deaths[2] == 0
    low = 0.0 if is_least else float(np.exp(optimize.brentq(off, -40.0, 40.0, args=(1,))))
    high = np.inf if is_most else float(np.exp(optimize.brentq(off, -40.0, 40.0, args=(0,))))
    return low, high


def _log_choose(n: FloatArray, k: FloatArray) -> FloatArray:
    held = np.clip(k, 0.0, n)
    return np.asarray(special.gammaln(n + 1.0) - special.gammaln(held + 1.0) - special.gammaln(n - held + 1.0))


def _dispersion(rows: pd.DataFrame) -> tuple[float, int]:
    """
    Dispersion at which Pearson's statistic equals its degrees of freedom; 0 where Poisson counts vary as much.

    In a model with a rate for each of the four groups the fitted means hang on the dispersion only a little; they are
    found anew at each.
    """
    group = rows["impact"].to_numpy() * 2 + rows["after"].to_numpy()
    deaths, km = rows["deaths"].to_numpy(dtype=np.float64), rows["km"].to_numpy(dtype=np.float64)
    degrees = len(rows) - len(np.unique(group))
    if degrees < 1:
        return 0.0, 0

    def excess(dispersion: float) -> float:
        mean = _means(deaths, km, group, dispersion)
        return float(((deaths - mean) ** 2 / (mean + dispersion * mean**2)).sum()) - degrees

    if excess(0.0) <= 0.0:
        return 0.0, degrees
    if excess(LARGEST_DISPERSION) > 0.0:
        return LARGEST_DISPERSION, degrees
    return float(optimize.brentq(excess, 0.0, LARGEST_DISPERSION)), degrees


def _means(deaths: FloatArray, km: FloatArray, group: FloatArray, dispersion: float) -> FloatArray:
    """Fitted means of rows whose group has one rate, by weighted means until they stay."""
    mean = np.zeros(len(deaths))
    for one in np.unique(group):
        own = group == one
        rate = deaths[own].sum() / km[own].sum()
        for _ in range(50):
            weight = km[own] / (1.0 + dispersion * rate * km[own])
            rate = float((weight * deaths[own] / km[own]).sum() / weight.sum())
        mean[own] = rate * km[own]
    return mean


def _negative_binomial(rows: pd.DataFrame, dispersion: float, degrees: int) -> Baci:
    from statsmodels.genmod.families import NegativeBinomial  # type: ignore[import-untyped]
    from statsmodels.genmod.generalized_linear_model import GLM  # type: ignore[import-untyped]

    impact, after = rows["impact"].to_numpy(dtype=np.float64), rows["after"].to_numpy(dtype=np.float64)
    design = np.column_stack([np.ones(len(rows)), impact, after, impact * after])
    family = NegativeBinomial(alpha=dispersion)
    fit = GLM(
        rows["deaths"].to_numpy(dtype=np.float64), design, family=family, offset=np.log(rows["km"].to_numpy())
    ).fit(tol=1e-10)
    middle, error = float(fit.params[3]), float(fit.bse[3])
    t = float(special.stdtrit(degrees, 1.0 - TAIL))
    p = 2.0 * float(special.stdtr(degrees, -abs(middle) / error))
    deaths, _ = four_cells(rows)
    extra = max(error**2 - float((1.0 / deaths).sum()), 0.0)
    low, high = np.exp([middle - t * error, middle + t * error])
    return Baci(float(np.exp(middle)), float(low), float(high), p, "negative binomial", dispersion, extra)
