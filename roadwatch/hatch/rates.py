"""
How fast eggs develop at a temperature: the straight line, and two curves for whoever has fitted one.

The straight line with a flat top is what ``hatch`` takes where the table says ``linear``. A table of one's own may say
``schoolfield`` or ``dallwitz_higgins`` instead and give the curve's parameters; no shipped row does, because no
published set for a turtle of these regions is identified by its data.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import UnfitFileError
from roadwatch.hatch.degree_days import degree_days
from roadwatch.hatch.values import hatch_value

if TYPE_CHECKING:
    from roadwatch.hatch.arrays import Floats
    from roadwatch.hatch.development import ParameterSet

GAS_CONSTANT_CAL = 1.987
"""Calories a mole and kelvin, as the curve's authors use it (schoolfield1981)."""

KELVIN, REFERENCE_K = 273.15, 298.15

HOURS = 24
"""A day's sine is read at this many equal steps where the rate is no straight line."""


def schoolfield_rate(
    temp_c: Floats, *, rate_25: float, activation_cal: float, half_high_c: float, inhibition_cal: float
) -> Floats:
    """
    Rate of development by the four-parameter model with inhibition at high temperature.

    Parameters
    ----------
    temp_c
        Degrees C, any shape.
    rate_25
        Rate at 25 degrees C without inhibition, a day.
    activation_cal, inhibition_cal
        Enthalpies of activation and of inhibition, calories a mole.
    half_high_c
        Temperature at which half of the enzyme is inhibited, degrees C.

    Returns
    -------
    Share of development a day.

    Source
    ------
    schoolfield1981
    """
    kelvin = np.asarray(temp_c, float) + KELVIN
    rise = np.exp(activation_cal / GAS_CONSTANT_CAL * (1 / REFERENCE_K - 1 / kelvin))
    fall = np.exp(inhibition_cal / GAS_CONSTANT_CAL * (1 / (half_high_c + KELVIN) - 1 / kelvin))
    rate: Floats = rate_25 * kelvin / REFERENCE_K * rise / (1 + fall)
    return rate


def dallwitz_higgins_rate(
    temp_c: Floats, *, b1: float, b2_c: float, b3_c: float, b4: float = 6.0, b5: float = 0.4
) -> Floats:
    """
    Rate of development by the five-parameter curve with an optimum.

    Parameters
    ----------
    temp_c
        Degrees C, any shape.
    b1
        Greatest rate; the result has its unit (per cent a day, or a share).
    b2_c, b3_c
        Temperature at which the rate is about a tenth of it, and the optimum, degrees C.
    b4, b5
        Shape; the authors' usual values stand as defaults.

    Returns
    -------
    Rate in the unit of ``b1``.

    Source
    ------
    dallwitz_higgins1992
    """
    c1 = 1 / (1 + 0.28 * b4 + 0.72 * np.log(1 + b4))
    c2 = 1 + b4 / (1 + 1.5 * b4 + 0.39 * b4 * b4)
    u = (np.asarray(temp_c, float) - b3_c) / (b3_c - b2_c) - c1
    v = (u + np.exp(np.minimum(b4 * u, 50.0))) / c2
    power = np.minimum(v * v * (1 - b5 + b5 * v * v), 300.0)
    rate: Floats = b1 * 10.0**-power
    return rate


def daily_development(low_c: Floats, high_c: Floats, *, parameters: ParameterSet, base_c: Floats) -> Floats:
    """
    Development of each day, in the unit of the set's own sum.

    Parameters
    ----------
    low_c, high_c
        (rows, days) In the nest, degrees C.
    parameters
        Of basis ``linear`` or ``one_duration`` (degree-days), or of a curve (share of development).
    base_c
        Base temperature of each row, degrees C; a curve has none.

    Returns
    -------
    (rows, days) Degree-days, or shares.
    """
    if parameters.basis not in CURVES:
        return degree_days(low_c, high_c, base_c=base_c, upper_c=hatch_value("upper_c"))
    hour = (np.arange(HOURS) + 0.5) / HOURS
    middle, half = (low_c + high_c) / 2, (high_c - low_c) / 2
    total = np.zeros_like(middle)
    for wave in np.sin(2 * np.pi * hour):
        total += rate_of(parameters, middle + half * wave)
    return total / HOURS


def rate_of(parameters: ParameterSet, temp_c: Floats) -> Floats:
    """
    Share of development a day by a set's curve.

    Raises
    ------
    UnfitFileError
        The set gives a wrong number of parameters for its curve.
    """
    names = CURVES[parameters.basis]
    if len(parameters.curve) not in {len(names), len(names) - 2 if parameters.basis == "dallwitz_higgins" else -1}:
        raise UnfitFileError(
            f"development.csv, {parameters.taxon}: a {parameters.basis} curve needs {len(names)} numbers in column "
            f"'curve' ({'; '.join(names)}), found {len(parameters.curve)}"
        )
    given = dict(zip(names, parameters.curve, strict=False))
    if parameters.basis == "schoolfield":
        return schoolfield_rate(temp_c, **given)
    return dallwitz_higgins_rate(temp_c, **given)


CURVES: dict[str, tuple[str, ...]] = {
    "schoolfield": ("rate_25", "activation_cal", "half_high_c", "inhibition_cal"),
    "dallwitz_higgins": ("b1", "b2_c", "b3_c", "b4", "b5"),
}
"""Curves that a table may name, with the order of their numbers in its column ``curve``."""
