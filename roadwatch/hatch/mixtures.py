"""One window for a nest that may be of several taxa: their draws together, each taxon by its probability."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hatch.projection import Projected

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from roadwatch.hatch.arrays import Floats
    from roadwatch.hatch.laying import Laying

FIELD_DRAWS = 480
"""Days that stand for a published range."""

GOLDEN = (5**0.5 - 1) / 2
"""Steps of the golden section fill a span evenly in any order of another."""


def mix_windows(parts: Sequence[tuple[Projected, float]], *, coverage: float) -> Projected:
    """
    Join the draws of several taxa.

    Parameters
    ----------
    parts
        What each taxon would give, the most probable first, with its probability; these need not add to 1.
    coverage
        Share of draws between early and late.

    Returns
    -------
    One result: quantiles of the weighted draws, weighted means of the shares, the first taxon's ``mean_c``; progress
    is nan where the first taxon has none.
    """
    total = sum(p for _, p in parts)
    shares = np.array([p / total for _, p in parts])
    days, weights = joined_draws(parts)
    early, likely, late = weighted_quantiles(days, weights, at=((1 - coverage) / 2, 0.5, (1 + coverage) / 2))
    progress = np.array([one.progress for one, _ in parts])
    known = ~np.isnan(progress)
    return replace(
        parts[0][0],
        early=early,
        likely=likely,
        late=late,
        p_hatched=float(shares @ [one.p_hatched for one, _ in parts]),
        p_never=float(shares @ [one.p_never for one, _ in parts]),
        progress=float(np.average(progress[known], weights=shares[known])) if known[0] else float("nan"),
        days=days,
    )


def joined_draws(parts: Sequence[tuple[Projected, float]]) -> tuple[Floats, Floats]:
    """
    Put the draws of several taxa one after another, with their weights.

    Parameters
    ----------
    parts
        As for ``mix_windows``.

    Returns
    -------
    (days, weights) (draws,) each; the weights add to 1.
    """
    total = sum(p for _, p in parts)
    weights = [np.full(len(one.days), p / total / len(one.days)) for one, p in parts]
    return np.concatenate([one.days for one, _ in parts]), np.concatenate(weights)


def weighted_quantiles(days: Floats, weights: Floats, *, at: Sequence[float]) -> list[float]:
    """The first draws at which the summed weight reaches each share; +inf sorts last."""
    order = np.argsort(days, kind="stable")
    reached = np.cumsum(weights[order])
    places = np.searchsorted(reached, np.array(at) * reached[-1] * (1 - 1e-12))
    return [float(days[order[min(int(place), len(days) - 1)]]) for place in places]


def field_draws(laying: Laying, *, days_low: float, days_high: float, as_of_day: int, start: date) -> Projected:
    """
    Let a published range of days stand beside windows from weather, any day of it as likely.

    Parameters
    ----------
    laying
        Span of laying.
    days_low, days_high
        The range, days from laying to hatching.
    as_of_day
        Index of the day on which the reader stands.
    start
        The 1 January from which days count.

    Returns
    -------
    Equally spaced draws over the range, from laying days spread over their span; progress and temperature are nan.
    """
    number = np.arange(FIELD_DRAWS)
    u, untied = (number + 0.5) / FIELD_DRAWS, number * GOLDEN % 1
    laid = (laying.first - start).days + laying.n_days * untied
    days: Floats = laid + days_low + (days_high - days_low) * u
    early, likely, late = (float(np.quantile(days, share)) for share in (0.1, 0.5, 0.9))
    hatched = float(np.mean(days <= as_of_day + 1.0))
    return Projected(early, likely, late, hatched, 0.0, float("nan"), float("nan"), days)
