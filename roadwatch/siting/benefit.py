"""How many die on each stretch in a year, as far as the records tell: drawn towards the usual, with its doubt."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from roadwatch.hotspots.shrinkage import fit_prior, log_count_chance

if TYPE_CHECKING:
    from scipy import sparse

    from roadwatch.hotspots.study import Study
    from roadwatch.roads.arrays import BoolArray, FloatArray


@dataclass(frozen=True)
class DeathRates:
    """
    What is thought of the deaths on each stretch: a mixture of gamma distributions of the ratio to the usual.

    Parameters
    ----------
    weight, shape, rate
        (n, k) The mixture of each stretch.
    usual_per_m
        Deaths per metre and year on all searched road together, as recorded.
    is_known
        (n,) False where nobody searched: nothing is known there, and that is not zero.
    shared
        (n, n) How much two stretches owe to the same records.
    """

    weight: FloatArray
    shape: FloatArray
    rate: FloatArray
    usual_per_m: float
    is_known: BoolArray
    shared: sparse.csr_array

    def mean(self) -> FloatArray:
        """(n,) Deaths per metre and year, nan where nothing is known."""
        ratio = (self.weight * self.shape / self.rate).sum(axis=1)
        return np.where(self.is_known, ratio * self.usual_per_m, np.nan)

    def scaled(self, factor: float) -> DeathRates:
        """
        The same rates with every death counted a number of times: once for each animal that stays unrecorded.

        Parameters
        ----------
        factor
            The number.
        """
        return replace(self, usual_per_m=self.usual_per_m * factor)

    def draw(self, rng: np.random.Generator, *, n_draws: int) -> FloatArray:
        """
        Draw what the rates may be; neighbours that owe to the same records move together.

        Parameters
        ----------
        rng
            Source of chance.
        n_draws
            Number of draws.

        Returns
        -------
        (n_draws, n) Deaths per metre and year, nan where nothing is known.
        """
        known = np.flatnonzero(self.is_known)
        which, how = self._even(rng, n_draws)[:, known], self._even(rng, n_draws)[:, known]
        order = np.argsort((self.shape[known] / self.rate[known]).mean(axis=0), kind="stable")
        steps = np.cumsum(self.weight[known][:, order], axis=1)
        steps /= steps[:, -1:]
        place = np.arange(len(known))
        flat = (steps + place[:, None]).ravel()
        part = np.searchsorted(flat, which + place, side="left") - place * steps.shape[1]
        part = order[np.clip(part, 0, steps.shape[1] - 1)]
        ratio = special.gammaincinv(self.shape[known, part], how) / self.rate[known, part]
        drawn = np.full((n_draws, len(self.is_known)), np.nan)
        drawn[:, known] = ratio * self.usual_per_m
        return drawn

    def _even(self, rng: np.random.Generator, n_draws: int) -> FloatArray:
        """(n_draws, n) Numbers even between 0 and 1, alike on stretches that share records."""
        noise = rng.standard_normal((self.shared.shape[1], n_draws))
        spread = np.sqrt(np.asarray(self.shared.multiply(self.shared).sum(axis=1)).ravel())
        smooth = (self.shared @ noise) / np.where(spread > 0.0, spread, 1.0)[:, None]
        return np.asarray(np.clip(special.ndtr(smooth), 1e-9, 1.0 - 1e-9).T)


def death_rates(study: Study, kernel: sparse.csr_array) -> DeathRates:
    """
    Deaths per metre and year of every stretch at the usual search effort.

    What was seen and what was expected within the kernel's reach are taken as counts (the kernel's effective count,
    500 m of road for an Epanechnikov kernel of 300 m); their ratio is drawn towards the usual by the prior of the
    ranking, which was learnt on sections of the same length; and the ratio times the usual rate is the rate. The ratio
    is per kilometre searched, so that a place does not look worse for being searched more often.

    Parameters
    ----------
    study
        Records, roads and baseline.
    kernel
        (n, n) Kernel matrix of the study's stretches.

    Source
    ------
    dumouchel1999
    """
    deaths, expected = study.deaths(), study.expected
    section = study.section()
    prior = fit_prior(
        np.bincount(section, deaths).astype(np.float64), np.bincount(section, expected).astype(np.float64)
    )
    seen, mean = np.asarray(kernel @ deaths), np.asarray(kernel @ expected)
    spread = np.asarray(kernel.multiply(kernel) @ expected)
    scale = np.divide(mean, spread, out=np.zeros_like(mean), where=spread > 0.0)
    count, chance = seen * scale, np.maximum(mean * scale, 1e-12)
    log_weight = np.log(prior.weight) + log_count_chance(count[:, None], chance[:, None], prior.shape, prior.rate)
    weight = np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
    weight /= weight.sum(axis=1, keepdims=True)
    is_known = expected > 0.0
    searched_m = float(study.stretches.length_m[is_known].sum())
    return DeathRates(
        weight,
        prior.shape + count[:, None],
        prior.rate + chance[:, None],
        float(deaths.sum()) / (searched_m * study.n_years()),
        is_known,
        kernel,
    )
