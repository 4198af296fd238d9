"""Names and conversions of units: temperature, length, speed, and the text form of dates."""

from __future__ import annotations

METRES_PER_MILE = 1609.344
"""International mile in metres, exact (NIST Handbook 44, Appendix C)."""

METRES_PER_FOOT = 0.3048
"""International foot in metres, exact (NIST Handbook 44, Appendix C)."""


def celsius_from_fahrenheit(degrees_f: float) -> float:
    """
    Convert degrees Fahrenheit to degrees Celsius.

    >>> celsius_from_fahrenheit(212.0)
    100.0

    Source
    ------
    nist811
    """
    return (degrees_f - 32.0) / 1.8


def celsius_degree_days(degree_days_f: float) -> float:
    """
    Convert Fahrenheit degree-days to Celsius degree-days; a difference has no offset of 32.

    >>> celsius_degree_days(18.0)
    10.0

    Source
    ------
    nist811
    """
    return degree_days_f / 1.8
