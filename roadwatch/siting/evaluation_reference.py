"""What sections of road like one another let expect: deaths by traffic and nearness to water, before a measure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import optimize

if TYPE_CHECKING:
    from roadwatch.roads.arrays import FloatArray
    from roadwatch.siting.evaluation_controls import Features

DEATHS_A_TRAIT = 10
"""A trait is used where so many deaths stand for each (peduzzi1996)."""
LEAST_KNOWN = 0.5
"""Traffic is used where it is known on this share of the sections (a convention); the rest has the mean."""
LEAST_SPREAD = 1e-6
LEAST_DISPERSION, MOST_DISPERSION = 1e-6, 20.0
LARGEST_LOG = 30.0
SLOPE_SPREAD = 1.5
"""One standard deviation of a trait may change the log of the rate by so much: a normal prior (a convention)."""
TRAITS = ("traffic", "nearness to water")
MOST_TIMES = 20.0
"""No traits make a rate more than so many times the mean's, nor less than its inverse (a convention)."""


@dataclass(frozen=True)
class Reference:
    """
    How many times the county's rate sections have for their traits.

    Parameters
    ----------
    traits
        Names of the traits that are used; none where deaths are too few or the traits do not vary.
    slope, middle
        (k,) Change of the log of the rate for one unit of each trait, and the trait's mean.
    """

    traits: tuple[str, ...]
    slope: FloatArray
    middle: FloatArray

    def like(self, features: Features) -> FloatArray:
        """
        (n,) Rate of sections with such traits over that of a section with mean traits.

        Parameters
        ----------
        features
            The sections.
        """
        table = np.column_stack([np.zeros(len(features.near_water)), *(_trait(features, name) for name in self.traits)])
        apart = np.nan_to_num(table[:, 1:] - self.middle)
        bound = np.log(MOST_TIMES)
        return np.asarray(np.exp(np.clip(apart @ self.slope, -bound, bound)))


def fit_reference(deaths: FloatArray, km: FloatArray, features: Features) -> Reference:
    """
    Learn from all sections how rates go with traffic and nearness to water: a negative-binomial model.

    A place chosen because it lies at water, or has much traffic, is then drawn towards places like it and not towards
    the county's mean, which would take a part of its danger for luck.

    Parameters
    ----------
    deaths, km
        (n,) Deaths before, and search-kilometres before, positive.
    features
        Traits of the sections.

    Source
    ------
    hauer1997, peduzzi1996
    """
    usable = [name for name in TRAITS if _varies(_trait(features, name))]
    traits = tuple(usable[: int(deaths.sum() // DEATHS_A_TRAIT)])
    if not traits:
        return Reference((), np.zeros(0), np.zeros(0))
    table = np.column_stack([_trait(features, name) for name in traits])
    middle = np.nanmean(table, axis=0)
    return Reference(traits, _slopes(deaths, km, np.nan_to_num(table - middle)), middle)


def reference_words(reference: Reference) -> str:
    """
    Say towards what the rates before are drawn.

    Parameters
    ----------
    reference
        The model.
    """
    if not reference.traits:
        return (
            "Rates before are drawn towards the county's mean: traffic and nearness to water are not known, do not "
            f"vary, or have fewer than {DEATHS_A_TRAIT} deaths each to learn from."
        )
    return f"Rates before are drawn towards those of sections alike in {' and '.join(reference.traits)}."


def _trait(features: Features, name: str) -> FloatArray:
    if name == "traffic":
        return np.log(np.maximum(features.traffic, 1.0))
    return np.asarray(features.near_water, dtype=np.float64)


def _varies(values: FloatArray) -> bool:
    known = values[np.isfinite(values)]
    return len(known) >= max(LEAST_KNOWN * len(values), 2.0) and float(known.std()) > LEAST_SPREAD


def _slopes(deaths: FloatArray, km: FloatArray, apart: FloatArray) -> FloatArray:
    """Slopes of a negative-binomial model; its dispersion is that of the moments about the Poisson model."""
    mean, _ = _fitted(deaths, km, apart, LEAST_DISPERSION)
    beyond = float(((deaths - mean) ** 2 - deaths).sum() / (mean**2).sum())
    return _fitted(deaths, km, apart, float(np.clip(beyond, LEAST_DISPERSION, MOST_DISPERSION)))[1]


def _fitted(deaths: FloatArray, km: FloatArray, apart: FloatArray, dispersion: float) -> tuple[FloatArray, FloatArray]:
    """Means and slopes at the greatest likelihood, times the prior that holds slopes back where counts say nothing."""
    design, offset = np.column_stack([np.ones(len(deaths)), apart]), np.log(km)
    weight = np.r_[0.0, (apart.std(axis=0) / SLOPE_SPREAD) ** 2]

    def loss(values: FloatArray) -> tuple[float, FloatArray]:
        log_mean = np.clip(design @ values + offset, -LARGEST_LOG, LARGEST_LOG)
        mean = np.exp(log_mean)
        each = (deaths + 1.0 / dispersion) * np.log1p(dispersion * mean) - deaths * log_mean
        slope = design.T @ ((mean - deaths) / (1.0 + dispersion * mean))
        return float(each.sum() + 0.5 * (weight * values**2).sum()), slope + weight * values

    start = np.r_[np.log(deaths.sum() / km.sum()), np.zeros(apart.shape[1])]
    found = optimize.minimize(loss, start, jac=True, method="L-BFGS-B").x
    return np.exp(np.clip(design @ found + offset, -LARGEST_LOG, LARGEST_LOG)), np.asarray(found[1:])
