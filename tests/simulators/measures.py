"""Simulated counties with one measure, in which it is known what the measure does. Everything is invented."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from roadwatch.siting.evaluation_controls import Features, nearest_controls
from roadwatch.siting.evaluation_model import Baci, fit_baci
from roadwatch.siting.evaluation_reference import fit_reference
from roadwatch.siting.evaluation_regression import Corrected, Sections, before_rates, corrected_ratio

N_SECTIONS = 150
YEARS = (2, 2)
"""Years before and after."""
PER_KM = 0.12
"""Deaths per search-kilometre over the county."""
TREND = 0.8
"""What happens to all rates from before to after."""


@dataclass(frozen=True)
class Study:
    naive: Baci
    corrected: Corrected
    to_county_mean: Corrected
    before_after: float


def simulate_study(
    rng: np.random.Generator, *, effect: float, chosen_by: str, shape: float = 1.0, explained: float = 0.0
) -> Study:
    """
    Count 150 sections for two years before and two after; build on one of them; evaluate it.

    The site is the one of the highest ``count``, one of the ten of the highest true ``rate``, any of the ten of
    the highest count (``upper``), or any of the ten of most traffic (``known``). The log of the rate goes with that
    of the traffic, by a spread of ``explained``; around it rates are gamma distributed.
    """
    busy = rng.standard_normal(N_SECTIONS)
    rate = PER_KM * rng.gamma(shape, 1.0 / shape, N_SECTIONS) * np.exp(explained * busy - explained**2 / 2.0)
    km = rng.uniform(3.0, 9.0, (sum(YEARS), N_SECTIONS))
    is_after = np.arange(sum(YEARS)) >= YEARS[0]
    mean = km * rate * np.where(is_after, TREND, 1.0)[:, None]
    before = rng.poisson(mean[~is_after])
    seen = before.sum(axis=0)
    site = _site(rng, chosen_by, seen=seen, rate=rate, busy=busy)
    mean[is_after, site] *= effect
    deaths = np.vstack([before, rng.poisson(mean[is_after])]).astype(float)
    counted = Sections(
        deaths[~is_after].sum(axis=0), km[~is_after].sum(axis=0), deaths[is_after].sum(axis=0), km[is_after].sum(axis=0)
    )
    traffic = 1000.0 * np.exp(busy)
    words = np.full(N_SECTIONS, "road", dtype=object)
    traits = Features(np.full(N_SECTIONS, np.nan), words, traffic, np.zeros(N_SECTIONS))
    sections = counted.alike(fit_reference(counted.deaths_before, counted.km_before, traits).like(traits))
    rates = before_rates(sections)
    others = np.delete(np.arange(N_SECTIONS), site)
    per_km = rates.expected(sections) / sections.km_before
    features = [
        Features(per_km[rows], words[rows], traffic[rows], np.zeros(len(rows))) for rows in (np.array([site]), others)
    ]
    control = others[nearest_controls(*features, deaths_before=seen[others])]
    rows = pd.DataFrame(
        {
            "impact": impact,
            "after": int(is_after[year]),
            "deaths": deaths[year, chosen].sum(),
            "km": km[year, chosen].sum(),
        }
        for impact, chosen in ((1, [site]), (0, control))
        for year in range(sum(YEARS))
    )
    naive = fit_baci(rows)
    corrected, to_county_mean = (
        corrected_ratio(
            some.take(np.array([site])),
            some.take(control),
            rates=before_rates(some),
            extra_variance=naive.extra_variance,
            rng=rng,
            n_draws=1000,
        )
        for some in (sections, counted)
    )
    after, was = sections.deaths_after[site] / sections.km_after[site], sections.deaths_before[site]
    crude = after / TREND / (was / sections.km_before[site]) if was else np.inf
    return Study(naive, corrected, to_county_mean, crude)


def _site(rng: np.random.Generator, chosen_by: str, *, seen: np.ndarray, rate: np.ndarray, busy: np.ndarray) -> int:
    by = {"count": seen, "upper": seen, "rate": rate, "known": busy}[chosen_by]
    order = np.argsort(-by, kind="stable")
    return int(order[0] if chosen_by == "count" else rng.choice(order[:10]))
