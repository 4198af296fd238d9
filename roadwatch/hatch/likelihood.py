"""The likelihood of durations in logarithms: a base, a sum, and eggs of one clutch that err together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import minimize, minimize_scalar

if TYPE_CHECKING:
    from roadwatch.hatch.arrays import Floats, Ints

COLDEST_BASE_C = -30.0
"""The search for the base ends here; a base found there is no base."""


@dataclass(frozen=True)
class ClutchLikelihood:
    """What the likelihood reads: a clutch adds ``share`` times the residual variance to all of its eggs together."""

    temp: Floats
    log_days: Floats
    weight: Floats
    clutch: Ints

    def product(self, a: Floats, b: Floats, share: float) -> float:
        """``a' V^-1 b`` in units of the residual variance, clutch by clutch (Sherman and Morrison)."""
        sums = [np.bincount(self.clutch, self.weight * one) for one in (np.ones_like(a), a, b)]
        return float((self.weight * a) @ b - (share / (1 + share * sums[0]) * sums[1]) @ sums[2])

    def log_determinant(self, share: float) -> float:
        """Logarithm of the determinant of V in units of the residual variance."""
        total = np.bincount(self.clutch, self.weight)
        return float(np.log1p(share * total).sum() - np.log(self.weight).sum())

    def log_sum(self, base: float, share: float) -> float:
        """The best logarithm of the sum for a base, by weighted least squares."""
        one = np.ones_like(self.temp)
        shifted = self.log_days + np.log(self.temp - base)
        return self.product(one, shifted, share) / self.product(one, one, share)

    def deviance(self, base: float, share: float) -> float:
        """Minus twice the log-likelihood at its best sum and residual variance."""
        residual = self.log_days + np.log(self.temp - base) - self.log_sum(base, share)
        n = len(self.temp)
        variance = max(self.product(residual, residual, share) / n, 1e-300)
        return float(n * (np.log(2 * np.pi * variance) + 1) + self.log_determinant(share))


def best_base_and_share(rows: ClutchLikelihood, *, has_clutches: bool) -> tuple[float, float]:
    """Base and clutch share of the highest likelihood."""
    bounds = (COLDEST_BASE_C, float(rows.temp.min()) - 1e-3)
    alone = minimize_scalar(
        lambda base: rows.deviance(base, 0.0), bounds=bounds, method="bounded", options={"xatol": 1e-8}
    )
    if not has_clutches:
        return float(alone.x), 0.0

    def deviance(at: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
        return rows.deviance(float(at[0]), float(np.exp(at[1])))

    ends = [bounds, (-12.0, 8.0)]
    found = [
        minimize(deviance, np.array([alone.x, start]), method="Nelder-Mead", bounds=ends, tol=1e-8)
        for start in (-3.0, 0.0, 3.0)
    ]
    best = min(found, key=lambda one: float(one.fun))
    return float(best.x[0]), float(np.exp(best.x[1]))
