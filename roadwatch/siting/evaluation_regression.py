"""Take regression to the mean out: measures are built where counts were high, and high counts fall by themselves."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hotspots.shrinkage import RatePrior, draw_ratios, fit_prior, log_count_chance, posterior

if TYPE_CHECKING:
    from roadwatch.roads.arrays import FloatArray, IntArray

N_DRAWS = 4000
SECTION_KM_LEAST = 1e-9


@dataclass(frozen=True)
class Sections:
    """
    Sections of road of like length with their counts; every array is (n,).

    Parameters
    ----------
    deaths_before, km_before, deaths_after, km_after
        Deaths found on searches, and search-kilometres, before and after a day.
    like
        How many times the county's rate sections of the same traits have; None takes 1 for all.
    """

    deaths_before: FloatArray
    km_before: FloatArray
    deaths_after: FloatArray
    km_after: FloatArray
    like: FloatArray | None = None

    def usual_km(self) -> FloatArray:
        """(n,) Search-kilometres before, each as often as sections of its traits have the county's rate."""
        return self.km_before if self.like is None else self.km_before * self.like

    def alike(self, like: FloatArray) -> Sections:
        """
        The same with what sections of their traits let expect.

        Parameters
        ----------
        like
            (n,) As in ``Sections``.
        """
        return replace(self, like=like)

    def joined(self, other: Sections) -> Sections:
        """
        These and others behind them; both know what is like them, or neither does.

        Parameters
        ----------
        other
            The others.
        """
        like = None if self.like is None or other.like is None else np.r_[self.like, other.like]
        return Sections(
            np.r_[self.deaths_before, other.deaths_before],
            np.r_[self.km_before, other.km_before],
            np.r_[self.deaths_after, other.deaths_after],
            np.r_[self.km_after, other.km_after],
            like,
        )

    def take(self, rows: IntArray) -> Sections:
        """
        Keep some sections.

        Parameters
        ----------
        rows
            (k,) Their numbers, or (n,) True for those kept.
        """
        like = None if self.like is None else self.like[rows]
        return Sections(
            self.deaths_before[rows], self.km_before[rows], self.deaths_after[rows], self.km_after[rows], like
        )


@dataclass(frozen=True)
class BeforeRates:
    """
    What is thought of the rates before, once luck is allowed for.

    Parameters
    ----------
    per_km
        Deaths per search-kilometre over all sections, of those with ``like`` 1.
    prior
        How the ratio of a section's rate to that of sections like it is spread over the county.
    """

    per_km: float
    prior: RatePrior

    def expected(self, sections: Sections) -> FloatArray:
        """
        (n,) Deaths that each section's true rate lets expect before, drawn towards the usual.

        Parameters
        ----------
        sections
            The sections.
        """
        deaths, usual = sections.deaths_before[:, None], self.per_km * sections.usual_km()[:, None]
        prior = self.prior
        log_weight = np.log(prior.weight) + log_count_chance(deaths, usual, prior.shape, prior.rate)
        weight = np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
        ratio = (weight * (prior.shape + deaths) / (prior.rate + usual)).sum(axis=1) / weight.sum(axis=1)
        return np.asarray(ratio * usual[:, 0])

    def draw(self, sections: Sections, rng: np.random.Generator, *, n_draws: int) -> FloatArray:
        """
        (n_draws,) Draws of the deaths that all sections together let expect before.

        Parameters
        ----------
        sections
            The sections.
        rng
            Source of chance.
        n_draws
            Number of draws.
        """
        total = np.zeros(n_draws)
        for deaths, km in zip(sections.deaths_before, sections.usual_km(), strict=True):
            usual = float(self.per_km * km)
            total += draw_ratios(posterior(float(deaths), usual, prior=self.prior), rng, n_draws=n_draws) * usual
        return total


@dataclass(frozen=True)
class Corrected:
    """The ratio of ratios with regression to the mean taken out, and the deaths that were to be expected before."""

    ratio: float
    low: float
    high: float
    expected_before: float


def before_rates(sections: Sections) -> BeforeRates:
    """
    Learn from all sections of the county how rates before were spread, around those of sections like them.

    Parameters
    ----------
    sections
        All searched sections, those with a measure among them; at least one death.

    Source
    ------
    hauer1997, dumouchel1999
    """
    usual_km = sections.usual_km()
    per_km = float(sections.deaths_before.sum() / usual_km.sum())
    return BeforeRates(per_km, fit_prior(sections.deaths_before, per_km * usual_km))


def corrected_ratio(
    impact: Sections,
    control: Sections,
    *,
    rates: BeforeRates,
    extra_variance: float,
    rng: np.random.Generator,
    n_draws: int = N_DRAWS,
) -> Corrected:
    """
    Compare what came after with what the true rates before, not the lucky counts, let expect.

    Counts before are replaced by what the section's rate lets expect once the county's spread of rates is known, for
    the impact and for the controls alike, as controls matched on their counts fall back as well.

    Parameters
    ----------
    impact, control
        Sections with the measure, and those compared with.
    rates
        What is thought of the rates before.
    extra_variance
        Variance of the log of the ratio beyond that of Poisson counts.
    rng
        Source of chance.
    n_draws
        Number of draws for the interval.

    Returns
    -------
    The median of the draws and the 95 % interval. Rates after have Jeffreys' prior.

    Source
    ------
    hauer1997
    """
    side = []
    for sections in (impact, control):
        after = rng.gamma(sections.deaths_after.sum() + 0.5, size=n_draws) / sections.km_after.sum()
        before = rates.draw(sections, rng, n_draws=n_draws) / sections.km_before.sum()
        side.append(after / np.maximum(before, SECTION_KM_LEAST))
    noise = np.exp(np.sqrt(extra_variance) * rng.standard_normal(n_draws))
    low, middle, high = np.quantile(noise * side[0] / side[1], [0.025, 0.5, 0.975])
    return Corrected(float(middle), float(low), float(high), float(rates.expected(impact).sum()))
