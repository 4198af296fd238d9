"""
From air to nest: how much warmer a nest is than the air on average, and how depth flattens the daily wave.

The mean decides when eggs hatch; the wave matters only on days whose low comes near the base temperature. A nest's
own logger replaces all of this.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import UsageError
from roadwatch.hatch.values import hatch_value, hatch_values

if TYPE_CHECKING:
    from roadwatch.hatch.arrays import Floats

DAY_S = 86_400.0
YEAR_S = 365.0 * DAY_S


@dataclass(frozen=True)
class NestOffset:
    """
    How a nest's mean follows the air's: ``mean_c + slope * air``, with one standard deviation ``sd_c``, degrees C.

    Without a logger the slope is 1. ``smooth_days`` is the length of the air's running mean that the nest follows;
    ``range_ratio`` its daily range over the air's, None where depth decides.
    """

    exposure: str
    mean_c: float
    sd_c: float
    stated: bool
    slope: float = 1.0
    smooth_days: int = 1
    range_ratio: float | None = None


@dataclass(frozen=True)
class Soil:
    """What the step down to the nest rests on: see ``hatch_values.csv`` for the source of each value."""

    diffusivity_m2_s: float
    surface_range_ratio: float
    blank_depth_cm: float


def default_soil() -> Soil:
    """The shipped soil: a middle diffusivity, the range at the surface over that of the air, and a middle depth."""
    return Soil(*(hatch_value(name) for name in ("diffusivity_m2_s", "surface_range_ratio", "blank_depth_cm")))


def nest_offset(exposure: str | None) -> NestOffset:
    """
    Say how much warmer than the air a nest is taken to be.

    Parameters
    ----------
    exposure
        ``open``, ``partial`` or ``closed`` canopy; None when nobody noted it: the middle, with a wider spread.

    Returns
    -------
    Mean and standard deviation, degrees C, inferred from the source; ``stated`` is False for None.

    Raises
    ------
    UsageError
        The exposure is none of the three words.

    Source
    ------
    folkertscaldwell2026
    """
    word = exposure or "unknown"
    if f"offset_{word}_c" not in hatch_values():
        raise UsageError(f"'{exposure}' is not an exposure; write open, partial or closed, or leave it blank")
    return NestOffset(word, hatch_value(f"offset_{word}_c"), hatch_value(f"offset_{word}_sd_c"), exposure is not None)


def damping_depth_m(diffusivity_m2_s: float, *, period_s: float = DAY_S) -> float:
    """
    Depth at which a temperature wave has shrunk to 1/e.

    Parameters
    ----------
    diffusivity_m2_s
        Thermal diffusivity of the soil, square metres a second.
    period_s
        Length of the wave, seconds: a day or a year.

    Source
    ------
    campbell1998

    Examples
    --------
    >>> round(damping_depth_m(0.5e-6), 3)
    0.117
    """
    return float(np.sqrt(diffusivity_m2_s * period_s / np.pi))


def soil_temperature_c(
    hours: Floats, *, depth_m: float, mean_c: float, amplitude_c: float, damping_m: float, period_s: float = DAY_S
) -> Floats:
    """
    Temperature in the ground under a sine wave at the surface.

    Parameters
    ----------
    hours
        (n,) Time since the surface passed its mean on the way up, hours.
    depth_m, damping_m
        Depth, and depth of damping of the same wave, metres.
    mean_c, amplitude_c
        Mean and half range at the surface, degrees C.
    period_s
        Length of the wave, seconds.

    Returns
    -------
    (n,) Degrees C: the wave is smaller by exp(-z/d) and later by z/d radians.

    Source
    ------
    campbell1998
    """
    depth = depth_m / damping_m
    angle = 2 * np.pi * np.asarray(hours, float) * 3600.0 / period_s
    wave: Floats = np.sin(angle - depth)
    ground: Floats = mean_c + amplitude_c * np.exp(-depth) * wave
    return ground


def conducted_c(surface_c: Floats, *, depth_m: float, diffusivity_m2_s: float, step_s: float = 3600.0) -> Floats:
    """
    Temperature in the ground under any course at the surface, harmonic by harmonic.

    Parameters
    ----------
    surface_c
        (n,) Temperatures at equal steps, degrees C, taken to repeat after the last.
    depth_m
        Depth, metres.
    diffusivity_m2_s
        Thermal diffusivity of the soil, square metres a second.
    step_s
        Time between temperatures, seconds.

    Returns
    -------
    (n,) Degrees C. Each wave of the course shrinks and lags by its own depth of damping; the mean goes through.

    Source
    ------
    campbell1998
    """
    waves = np.fft.rfft(np.asarray(surface_c, float))
    turns = np.arange(len(waves)) / (len(surface_c) * step_s)  # a second
    damped = depth_m * np.sqrt(np.pi * turns / diffusivity_m2_s)  # depth over depth of damping, per wave
    ground: Floats = np.fft.irfft(waves * np.exp(-damped * (1 + 1j)), n=len(surface_c))
    return ground


def running_mean(daily_c: Floats, *, days: int) -> Floats:
    """
    Average each day with those before it.

    Parameters
    ----------
    daily_c
        (..., days) Degrees C, nan where missing.
    days
        Length of the mean; the first days take what there is.

    Returns
    -------
    (..., days) Mean over the days present; nan only where today is.
    """
    if days == 1:
        return daily_c
    total, count = np.zeros_like(daily_c), np.zeros_like(daily_c)
    for back in range(days):
        shifted = daily_c[..., : daily_c.shape[-1] - back]
        total[..., back:] += np.nan_to_num(shifted)
        count[..., back:] += ~np.isnan(shifted)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(np.isnan(daily_c), np.nan, total / count)


def nest_wave(
    low_c: Floats,
    high_c: Floats,
    *,
    offset_c: float | Floats,
    depth_cm: float,
    soil: Soil | None = None,
    like: NestOffset | None = None,
) -> tuple[Floats, Floats]:
    """
    Carry a day's air temperatures down to the middle of a clutch.

    Parameters
    ----------
    low_c, high_c
        (..., days) Air, degrees C.
    offset_c
        How far the nest's mean lies above the air's, degrees C; an array must broadcast against the days.
    depth_cm
        Middle of the clutch, cm.
    soil
        None is the shipped soil.
    like
        Gives the slope, the running mean and the range that a logger showed; None is 1, a day, and what depth makes.

    Returns
    -------
    Low and high in the nest, degrees C. The lag of an hour or two, and the flattening of spells of several days, are
    left out: at these depths both are small against the spread of the offset.
    """
    ground = soil or default_soil()
    ratio = ground.surface_range_ratio * np.exp(-depth_cm / 100.0 / damping_depth_m(ground.diffusivity_m2_s))
    middle, half = (low_c + high_c) / 2, (high_c - low_c) / 2
    if like is not None:
        middle = running_mean(middle, days=like.smooth_days) * like.slope
        ratio = ratio if like.range_ratio is None else like.range_ratio
    middle, half = middle + offset_c, half * ratio
    return middle - half, middle + half
