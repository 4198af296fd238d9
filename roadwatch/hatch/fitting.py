"""
Base temperature and degree-day sum from durations that somebody measured at constant temperatures.

The main fit is in the logarithm of the duration, as errors are proportional: log D = log K - log(T - T0) + clutch +
error, by maximum likelihood, the clutch a normal effect. Beside it stands the plain straight line of 1/D on T. Where
the data do not carry a line, nothing is given but the reasons.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import NotEnoughDataError
from roadwatch.hatch.likelihood import ClutchLikelihood, best_base_and_share
from roadwatch.hatch.values import hatch_value

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roadwatch.hatch.arrays import Floats

FEWEST_TEMPERATURES = 3
LEAST_SPAN_C = 4.0
WORST_BASE_SE_C = 3.0
"""Limits below or beyond which no parameters are given (convention)."""


@dataclass(frozen=True)
class Line:
    """The straight line of 1/days on temperature by least squares: base and sum with their standard errors."""

    slope: float
    base_c: float
    base_se_c: float
    sum_dd: float
    sum_se_dd: float


@dataclass(frozen=True)
class DurationFit:
    """
    Parameters of a linear rate, degrees C and degree-days.

    ``clutch_sd`` and ``residual_sd`` are shares of the duration; ``clutch_sd`` is nan where no clutch was named twice.
    ``rising_c`` lists temperatures at which eggs took longer than at a lower one.
    """

    base_c: float
    base_se_c: float
    sum_dd: float
    sum_se_dd: float
    correlation: float
    clutch_sd: float
    residual_sd: float
    log_likelihood: float
    n_eggs: float
    n_rows: int
    temperatures_c: tuple[float, ...]
    n_clutches: int
    rising_c: tuple[float, ...]
    line: Line


def fit_durations(
    temp_c: Floats, days: Floats, *, clutch: Sequence[str] | None = None, n_eggs: Floats | None = None
) -> DurationFit:
    """
    Fit base and sum to durations.

    Parameters
    ----------
    temp_c, days
        (rows,) Constant temperature, degrees C, and days from laying to hatching, above zero.
    clutch
        (rows,) Name of the clutch; None takes all eggs as unrelated.
    n_eggs
        (rows,) Eggs behind each duration where it is a mean; None is one each.

    Returns
    -------
    The fit with its errors.

    Raises
    ------
    NotEnoughDataError
        With every reason: fewer than 3 temperatures, a span under 4 degrees C, a rate that does not rise with
        temperature, or a base known worse than to 3 degrees C.

    Source
    ------
    common_practice
    """
    temp, duration = np.asarray(temp_c, float), np.asarray(days, float)
    weight = np.ones(len(temp)) if n_eggs is None else np.asarray(n_eggs, float)
    levels = np.unique(temp)
    reasons = _too_little(levels)
    line = straight_line(temp, duration) if len(levels) > 1 and len(temp) > 2 else None
    if line is not None and not line.slope > 0:
        reasons.append("the rate does not rise with temperature (slope of 1/days at or below zero)")
    rising = _rising(temp, duration, weight, levels)
    if reasons or line is None:
        raise NotEnoughDataError(_refusal(reasons, rising))
    fit = _by_likelihood(temp, duration, weight, clutch, rising, line)
    if not max(fit.base_se_c, line.base_se_c) <= WORST_BASE_SE_C:
        worst = max(fit.base_se_c, line.base_se_c)
        reasons.append(f"the base is known only to {worst:.1f} °C (standard error; {WORST_BASE_SE_C:g} at most)")
        raise NotEnoughDataError(_refusal(reasons, rising))
    return fit


def straight_line(temp_c: Floats, days: Floats) -> Line:
    """
    Least squares of 1/days on temperature.

    Parameters
    ----------
    temp_c, days
        (rows,) Degrees C, and days.

    Returns
    -------
    Base -a/b and sum 1/b with errors by the usual formulae for a ratio; nan where the slope is zero.
    """
    rate, across = 1 / days, temp_c - temp_c.mean()
    spread = float(across @ across)
    slope = float(across @ rate) / spread
    residual = rate - rate.mean() - slope * across
    scatter = float(np.sqrt(residual @ residual / (len(rate) - 2)))
    with np.errstate(divide="ignore", invalid="ignore"):
        base = temp_c.mean() - rate.mean() / np.float64(slope)
        base_se = scatter / abs(slope) * np.sqrt(1 / len(rate) + (rate.mean() / np.float64(slope)) ** 2 / spread)
        return Line(
            slope, float(base), float(base_se), float(1 / np.float64(slope)), scatter / np.sqrt(spread) / slope**2
        )


def _too_little(levels: Floats) -> list[str]:
    reasons = []
    if len(levels) < FEWEST_TEMPERATURES:
        reasons.append(f"{len(levels)} temperatures ({FEWEST_TEMPERATURES} are needed)")
    span = float(np.ptp(levels)) if len(levels) else 0.0
    if span < LEAST_SPAN_C:
        reasons.append(f"they span {span:g} °C ({LEAST_SPAN_C:g} are needed)")
    return reasons


def _refusal(reasons: list[str], rising: tuple[float, ...]) -> str:
    words = "not enough data for a base and a sum: " + "; ".join(reasons or ["no two temperatures"])
    if rising:
        words += (
            f". Eggs took longer at {', '.join(f'{one:g}' for one in rising)} °C than at a lower temperature: if that "
            "is beyond the best temperature, leave it out"
        )
    return words


def _rising(temp: Floats, days: Floats, weight: Floats, levels: Floats) -> tuple[float, ...]:
    """Temperatures whose mean duration is longer than that of some lower temperature."""
    means = np.array([np.average(days[temp == one], weights=weight[temp == one]) for one in levels])
    longer = means > np.minimum.accumulate(means) if len(means) else np.zeros(0, bool)
    return tuple(float(one) for one in levels[longer])


def _by_likelihood(
    temp: Floats, days: Floats, weight: Floats, clutch: Sequence[str] | None, rising: tuple[float, ...], line: Line
) -> DurationFit:
    names = np.arange(len(temp)).astype(str) if clutch is None else np.array([str(one) for one in clutch])
    _, of_clutch = np.unique(names, return_inverse=True)
    n_clutches = int(of_clutch.max()) + 1
    has_clutches = 1 < n_clutches < len(temp)
    rows = ClutchLikelihood(temp, np.log(days), weight, of_clutch)
    base, share = best_base_and_share(rows, has_clutches=has_clutches)
    one, lean = np.ones_like(temp), 1 / (temp - base)
    residual = rows.log_days + np.log(temp - base) - rows.log_sum(base, share)
    variance = rows.product(residual, residual, share) / (len(temp) - 2)
    information = np.array(
        [
            [rows.product(one, one, share), rows.product(one, lean, share)],
            [rows.product(one, lean, share), rows.product(lean, lean, share)],
        ]
    )
    covariance = variance * np.linalg.inv(information)
    sum_dd = float(np.exp(rows.log_sum(base, share)))
    return DurationFit(
        base_c=base,
        base_se_c=float(np.sqrt(covariance[1, 1])),
        sum_dd=sum_dd,
        sum_se_dd=float(sum_dd * np.sqrt(covariance[0, 0])),
        correlation=float(covariance[0, 1] / np.sqrt(covariance[0, 0] * covariance[1, 1])),
        clutch_sd=float(np.sqrt(share * variance)) if has_clutches else float("nan"),
        residual_sd=float(np.sqrt(variance)),
        log_likelihood=-rows.deviance(base, share) / 2,
        n_eggs=float(weight.sum()),
        n_rows=len(temp),
        temperatures_c=tuple(float(level) for level in np.unique(temp)),
        n_clutches=n_clutches if clutch is not None else 0,
        rising_c=rising,
        line=line,
    )


def days_at(fit: DurationFit, temp_c: float) -> tuple[float, float]:
    """
    Days at a constant temperature, with their standard error.

    Parameters
    ----------
    fit
        As ``fit_durations`` returns it.
    temp_c
        Degrees C, above the base.

    Returns
    -------
    Days and one standard error, from the errors of base and sum together.
    """
    above = temp_c - fit.base_c
    days = fit.sum_dd / above
    of_sum, of_base = fit.sum_se_dd / above, days / above * fit.base_se_c
    variance = of_sum**2 + of_base**2 + 2 * fit.correlation * of_sum * of_base
    return float(days), float(np.sqrt(max(variance, 0.0)))


def parameter_row(fit: DurationFit, *, taxon: str, region: str, source: str) -> dict[str, object]:
    """
    Write a fit as a row of ``development.csv``, ready for a folder of one's own tables.

    Parameters
    ----------
    fit
        As ``fit_durations`` returns it.
    taxon, region
        The row's keys.
    source
        Where the durations come from, in words.
    """
    sure = len(fit.temperatures_c) > FEWEST_TEMPERATURES and fit.base_se_c <= hatch_value("good_base_se_c")
    return {
        "taxon": taxon,
        "region": region,
        "basis": "linear",
        "base_c": round(fit.base_c, 3),
        "base_se_c": round(fit.base_se_c, 3),
        "sum_dd": round(fit.sum_dd, 2),
        "sum_se_dd": round(fit.sum_se_dd, 2),
        "correlation": round(fit.correlation, 4),
        **dict.fromkeys(("days", "days_se", "at_c", "days_low", "days_high")),
        "lowest_c": fit.temperatures_c[0],
        "highest_c": fit.temperatures_c[-1],
        "n": fit.n_eggs,
        "evidence": "fitted",
        "source": source,
        "sureness": "medium" if sure else "low",
        "remark": f"Fitted to {fit.n_rows} durations at {len(fit.temperatures_c)} temperatures",
    }
