"""Kernels: how one record is smeared along the road on either side of it."""

from __future__ import annotations

from math import erf, pi, sqrt
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Callable

    from roadwatch.roads.arrays import FloatArray

GAUSSIAN_REACH_SD = 4.0
"""The Gaussian is cut at this many standard deviations, which is its half-width, and rescaled to hold mass 1."""


def _epanechnikov(share: FloatArray) -> FloatArray:
    return 0.75 * (1.0 - share**2)


def _quartic(share: FloatArray) -> FloatArray:
    return 0.9375 * (1.0 - share**2) ** 2


def _gaussian(share: FloatArray) -> FloatArray:
    height = GAUSSIAN_REACH_SD / sqrt(2.0 * pi) / erf(GAUSSIAN_REACH_SD / sqrt(2.0))
    return height * np.exp(-0.5 * (GAUSSIAN_REACH_SD * share) ** 2)


KERNELS: dict[str, Callable[[FloatArray], FloatArray]] = {
    "epanechnikov": _epanechnikov,
    "quartic": _quartic,
    "gaussian": _gaussian,
}
"""Each kernel on a half-width of 1; all are symmetric, hold mass 1 and are zero from the half-width on."""


def kernel_density(distance_m: FloatArray, *, half_width_m: float, kernel: str = "epanechnikov") -> FloatArray:
    """
    Density per metre at a distance from one record on an endless road.

    Parameters
    ----------
    distance_m
        Distances along the road, any shape, metres.
    half_width_m
        Distance at which the kernel ends. The standard deviation is half-width / sqrt(5) for Epanechnikov,
        / sqrt(7) for quartic, and / 4 for the Gaussian, which is cut there.
    kernel
        ``epanechnikov``, ``quartic`` or ``gaussian``.

    Raises
    ------
    UsageError
        The kernel has no such name, or the half-width is not a positive number.

    Source
    ------
    silverman1986
    """
    check_kernel(half_width_m=half_width_m, kernel=kernel)
    share = np.abs(distance_m) / half_width_m
    return np.where(share < 1.0, KERNELS[kernel](np.minimum(share, 1.0)), 0.0) / half_width_m


def check_kernel(*, half_width_m: float, kernel: str) -> None:
    """
    Refuse a kernel that does not exist or has no width.

    Raises
    ------
    UsageError
        The kernel has no such name, or the half-width is not a positive number.
    """
    if kernel not in KERNELS:
        raise UsageError(f"kernel '{kernel}' is not known; choose one of {', '.join(KERNELS)}")
    if not (np.isfinite(half_width_m) and half_width_m > 0.0):
        raise UsageError(f"half-width {half_width_m} m is not a width; give a positive number of metres, such as 300")
