"""Simulated counties with one measure, in which it is known what the measure does. Everything is invented."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from roadwatch.siting.evaluation_controls import Features, nearest_controls
from roadwatch.siting.evaluation_model import Baci, fit_baci
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
    before_after: float


def simulate_study(rng: np.random.Generator, *, effect: float, chosen_by: str, shape: float = 1.0) -> Study:
    """
    Count 150 sections for two years before and two after; build on one of them; evaluate it.

    The site is the one of the highest ``count``, one of the ten of the highest true ``rate``, or any of the ten of
    the highest count (``upper``).
    """
    rate = PER_KM * rng.gamma(shape, 1.0 / shape, N_SECTIONS)
    km = rng.uniform(3.0, 9.0, (sum(YEARS), N_SECTIONS))
    is_after = np.arange(sum(YEARS)) >= YEARS[0]
    mean = km * rate * np.where(is_after, TREND, 1.0)[:, None]
    before = rng.poisson(mean[~is_after])
    seen = before.sum(axis=0)
    order = np.argsort(-rate) if chosen_by == "rate" else np.argsort(-seen, kind="stable")
    site = int(order[0] if chosen_by == "count" else rng.choice(order[:10]))
    mean[is_after, site] *= effect
    deaths = np.vstack([before, rng.poisson(mean[is_after])]).astype(float)
    sections = Sections(
        deaths[~is_after].sum(axis=0), km[~is_after].sum(axis=0), deaths[is_after].sum(axis=0), km[is_after].sum(axis=0)
    )
    rates = before_rates(sections)
    others = np.delete(np.arange(N_SECTIONS), site)
    per_km = rates.expected(sections) / sections.km_before
    words = np.full(N_SECTIONS, "road", dtype=object)
    features = [
        Features(per_km[rows], words[rows], np.full(len(rows), 1000.0), np.zeros(len(rows)))
        for rows in (np.array([site]), others)
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
    corrected = corrected_ratio(
        sections.take(np.array([site])),
        sections.take(control),
        rates=rates,
        extra_variance=naive.extra_variance,
        rng=rng,
        n_draws=1000,
    )
    after, was = sections.deaths_after[site] / sections.km_after[site], sections.deaths_before[site]
    return Study(naive, corrected, after / TREND / (was / sections.km_before[site]) if was else np.inf)
