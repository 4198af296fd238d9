"""Deaths that traffic explains: a negative-binomial curve, learnt on other ground than it is used on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from roadwatch.errors import NotEnoughDataError

if TYPE_CHECKING:
    import pandas as pd

    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray, TextArray

BLOCKS_EAST, BLOCKS_NORTH = 3, 2
"""Into how many blocks of like road length the county is cut, from west to east and each from south to north."""

MOST_IMPUTED = 0.5
"""Where traffic is not known on more of the road than this, no curve is fitted."""

SLOPE_SD = 1.0
"""Before the records speak, deaths are taken to grow with traffic to the power 0, give or take this (a convention)."""


@dataclass(frozen=True)
class TrafficCurve:
    """
    Deaths on a section = exp(level) x traffic^slope x exposure, spread about it with variance m + m^2 / (even x km).

    Parameters
    ----------
    level, slope
        The curve; traffic is counted in units of its typical value.
    slope_se
        Standard error of the slope.
    even
        Shape of the negative binomial per kilometre: the larger, the more even.
    """

    level: float
    slope: float
    slope_se: float
    even: float


@dataclass(frozen=True)
class TrafficBaseline:
    """
    What traffic explains on each stretch.

    Parameters
    ----------
    factor
        (n,) Deaths that traffic lets expect, beside those at typical traffic; from the curve of the other blocks.
    tilt
        (n,) Change of the log of the factor for one standard error of the slope.
    curves
        The curve used in each block, fitted on all others.
    imputed_share
        Share of road length whose traffic was filled in.
    notes
        The same in words.
    """

    factor: FloatArray
    tilt: FloatArray
    curves: tuple[TrafficCurve, ...]
    imputed_share: float
    notes: tuple[str, ...]


def traffic_baseline(
    deaths: FloatArray,
    exposure: FloatArray,
    *,
    traffic: FloatArray,
    road_class: TextArray,
    length_m: FloatArray,
    section: IntArray,
    x_m: FloatArray,
    y_m: FloatArray,
) -> TrafficBaseline:
    """
    Fit how deaths grow with traffic on five of six blocks of the county, and use it on the sixth, in turn.

    Parameters
    ----------
    deaths, exposure
        (n,) Weighted records on each stretch, and those expected from search (or length) alone.
    traffic
        (n,) Vehicles a day, nan where unknown.
    road_class
        (n,) Kind of road, from which unknown traffic is filled in: the middle value of its kind, by length.
    length_m, section
        (n,) Length of each stretch, and the section of road it belongs to, on which deaths are counted.
    x_m, y_m
        (n,) Centres of the stretches, metres.

    Raises
    ------
    NotEnoughDataError
        Traffic is not known on half of the road.

    Source
    ------
    hauer2001, roberts2017
    """
    filled, imputed_share = fill_traffic(traffic, road_class=road_class, length_m=length_m)
    log_traffic = np.log(filled)
    log_traffic -= np.average(log_traffic, weights=length_m)
    block = spatial_blocks(x_m, y_m, length_m)
    factor, tilt = np.ones_like(length_m), np.zeros_like(length_m)
    curves = []
    for number in range(int(block.max()) + 1):
        curve = fit_curve(*_sections(deaths, exposure, log_traffic, length_m, section, block != number))
        here = block == number
        factor[here] = np.exp(curve.slope * log_traffic[here])
        tilt[here] = curve.slope_se * log_traffic[here]
        curves.append(curve)
    return TrafficBaseline(factor, tilt, tuple(curves), imputed_share, _notes(curves, imputed_share))


def fill_traffic(traffic: FloatArray, *, road_class: TextArray, length_m: FloatArray) -> tuple[FloatArray, float]:
    """
    Fill in unknown traffic with the middle value, by length, of roads of the same class; else of all roads.

    Parameters
    ----------
    traffic, road_class, length_m
        (n,) Vehicles a day (nan or 0 where unknown), kind of road (blank where unknown), and length.

    Returns
    -------
    (traffic, share) (n,) Vehicles a day, and the share of length that was filled in.

    Raises
    ------
    NotEnoughDataError
        Traffic is not known on half of the road.
    """
    known = traffic > 0.0
    share = float(length_m[~known].sum() / length_m.sum())
    if share > MOST_IMPUTED:
        raise NotEnoughDataError(
            f"not enough data: traffic is not known on {share:.0%} of the road length, at most {MOST_IMPUTED:.0%} may "
            "be filled in; add traffic_per_day to the road layer, or ask --beyond search"
        )
    filled = np.where(known, traffic, _middle(traffic[known], length_m[known]))
    for kind in sorted({str(kind) for kind in road_class[~known]}):
        of_kind = road_class.astype(str) == kind
        if (of_kind & known).any():
            filled[of_kind & ~known] = _middle(traffic[of_kind & known], length_m[of_kind & known])
    return filled, share


def road_classes(edges: pd.DataFrame) -> TextArray:
    """
    The kind of each road, as far as the layer tells: its class, else its speed limit and whether it is divided.

    Parameters
    ----------
    edges
        Edges of a network, with the layer's attributes.
    """
    speed = edges["speed_limit"].map("{:g} mph".format) + edges["divided"].map({True: ", divided"}).fillna("")
    if "road_class" not in edges:
        return speed.to_numpy(dtype=object)
    return edges["road_class"].where(edges["road_class"].notna(), speed).to_numpy(dtype=object)


def spatial_blocks(x_m: FloatArray, y_m: FloatArray, length_m: FloatArray) -> IntArray:
    """
    Cut a county into six blocks of like road length: three from west to east, each in two from south to north.

    Parameters
    ----------
    x_m, y_m, length_m
        (n,) Centre and length of each stretch.
    """
    column = _parts(x_m, length_m, BLOCKS_EAST)
    block = np.zeros(len(x_m), dtype=np.int64)
    for number in range(BLOCKS_EAST):
        here = column == number
        block[here] = number * BLOCKS_NORTH + _parts(y_m[here], length_m[here], BLOCKS_NORTH)
    return block


def fit_curve(deaths: FloatArray, exposure: FloatArray, log_traffic: FloatArray, length_km: FloatArray) -> TrafficCurve:
    """
    Fit the negative-binomial curve by greatest likelihood, the slope held near 0 by a weak normal prior.

    Parameters
    ----------
    deaths, exposure, log_traffic, length_km
        (sections,) Weighted records, those expected from search alone (positive), log of traffic, and length. The
        spread is that of a length: twice the road is twice as even.

    Source
    ------
    hauer2001
    """
    from scipy import optimize  # slow to import, and needed here only

    start = np.array([np.log(max(deaths.sum(), 0.5) / exposure.sum()), 0.0, 0.0])
    bounds = [(start[0] - 8.0, start[0] + 8.0), (-5.0, 5.0), (-6.0, 8.0)]
    data = deaths, exposure, log_traffic, length_km
    found = optimize.minimize(_minus_log_likelihood, start, args=data, jac=True, method="L-BFGS-B", bounds=bounds)
    level, slope, log_even = found.x
    mean = exposure * np.exp(level + slope * log_traffic)
    even = np.exp(log_even)
    information = mean / (1.0 + mean / (even * length_km))  # of the log mean, Fisher's
    centred = log_traffic - np.average(log_traffic, weights=information)
    slope_se = 1.0 / np.sqrt((information * centred**2).sum() + SLOPE_SD**-2)
    return TrafficCurve(float(level), float(slope), float(slope_se), float(even))


def _minus_log_likelihood(
    theta: FloatArray, deaths: FloatArray, exposure: FloatArray, log_traffic: FloatArray, length_km: FloatArray
) -> tuple[float, FloatArray]:
    """The negative log posterior and its gradient by level, slope and log of evenness."""
    log_mean = np.log(exposure) + theta[0] + theta[1] * log_traffic
    mean, shape = np.exp(log_mean), np.exp(theta[2]) * length_km
    log_total = np.log(shape + mean)
    value = (
        special.gammaln(deaths + shape)
        - special.gammaln(shape)
        - special.gammaln(deaths + 1.0)
        + shape * (np.log(shape) - log_total)
        + deaths * (log_mean - log_total)
    )
    by_log_mean = shape * (deaths - mean) / (shape + mean)
    by_shape = special.digamma(deaths + shape) - special.digamma(shape) + np.log(shape) - log_total
    by_shape += (mean - deaths) / (shape + mean)
    gradient = np.array([by_log_mean.sum(), (by_log_mean * log_traffic).sum(), (by_shape * shape).sum()])
    prior = np.array([0.0, theta[1] / SLOPE_SD**2, 0.0])
    return float(0.5 * (theta[1] / SLOPE_SD) ** 2 - value.sum()), prior - gradient


def _sections(
    deaths: FloatArray,
    exposure: FloatArray,
    log_traffic: FloatArray,
    length_m: FloatArray,
    section: IntArray,
    is_used: BoolArray,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Deaths, exposure, log traffic and kilometres of the sections used; those never searched left out."""
    used = is_used & (exposure > 0.0)
    _, number = np.unique(section[used], return_inverse=True)
    length = np.bincount(number, length_m[used])
    mean_log = np.bincount(number, length_m[used] * log_traffic[used]) / length
    expected = np.bincount(number, exposure[used])
    found = np.bincount(number, deaths[used])
    return found.astype(np.float64), expected.astype(np.float64), mean_log, length / 1000.0


def _parts(values: FloatArray, length_m: FloatArray, n_parts: int) -> IntArray:
    """(n,) Which of ``n_parts`` of like length each stretch falls in, by its value; equal values stay together."""
    level, number = np.unique(np.round(values, 3), return_inverse=True)
    of_level = np.bincount(number, length_m, len(level))
    middle = np.cumsum(of_level) - of_level / 2.0
    part = np.minimum((n_parts * middle / length_m.sum()).astype(np.int64), n_parts - 1)
    return np.asarray(part[number], dtype=np.int64)


def _middle(values: FloatArray, weight: FloatArray) -> float:
    """Median by weight."""
    order = np.argsort(values, kind="stable")
    reach = np.cumsum(weight[order])
    return float(values[order][np.searchsorted(reach, reach[-1] / 2.0)])


def _notes(curves: list[TrafficCurve], imputed_share: float) -> tuple[str, ...]:
    slopes = [curve.slope for curve in curves]
    error = float(np.mean([curve.slope_se for curve in curves]))
    fitted = (
        f"Traffic: deaths grow with vehicles a day to the power {np.mean(slopes):.2f} (from {min(slopes):.2f} to "
        f"{max(slopes):.2f} over {len(curves)} blocks, each left out in turn; standard error {error:.2f}, which the "
        "scatterings carry)."
    )
    if imputed_share <= 0.0:
        return (fitted,)
    return (fitted, f"Traffic was not known on {imputed_share:.0%} of the road length and filled in by kind of road.")
