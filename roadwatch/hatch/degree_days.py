"""
Warmth of a day above a base temperature, from its lowest and highest temperature.

Every method is built from two quantities of a curve drawn through the day: how far it rises above a temperature on
average (``above``), and for what share of the day it is above it (``share``). The cut-offs are sums of these.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, get_args

import numpy as np

from roadwatch.errors import UnfitFileError, UsageError

if TYPE_CHECKING:
    from collections.abc import Callable

    from roadwatch.hatch.arrays import Floats

CurveName = Literal["sine", "triangle", "simple", "simple_clamped"]
CutOff = Literal["none", "horizontal", "intermediate", "vertical"]


@dataclass(frozen=True)
class Curve:
    """A day's course: mean excess above a temperature, and share of the day above it, from (low, high, level)."""

    above: Callable[[Floats, Floats, Floats], Floats]
    share: Callable[[Floats, Floats, Floats], Floats]


def degree_days(
    low_c: Floats,
    high_c: Floats,
    *,
    base_c: float | Floats,
    upper_c: float | Floats | None = None,
    cutoff: CutOff = "horizontal",
    curve: CurveName = "sine",
    next_low_c: Floats | None = None,
) -> Floats:
    """
    Sum the warmth above a base temperature for each day.

    Parameters
    ----------
    low_c, high_c
        (..., days) Lowest and highest temperature of each day, degrees C. A missing day is nan and stays nan.
    base_c
        Temperature below which nothing develops, degrees C; an array must broadcast against the days.
    upper_c
        Temperature above which development no longer speeds up, degrees C; None means no upper limit.
    cutoff
        What happens above ``upper_c``: ``horizontal`` the rate stays, ``intermediate`` it falls as fast as it rose
        (and ends at zero), ``vertical`` development stops, ``none`` the limit is ignored.
    curve
        ``sine`` or ``triangle`` through the day; ``simple`` takes the day's middle temperature all day;
        ``simple_clamped`` first brings low and high into the limits, then averages.
    next_low_c
        (..., days) Lowest temperature of the following day: gives the double method, half a day each. A next low
        above today's high is a half wave that rises to it.

    Returns
    -------
    (..., days) Degree-days, degrees C x days, never negative.

    Raises
    ------
    UnfitFileError
        A low is above its high; the message names the first such day, counted from 1.
    UsageError
        The upper limit is below the base, or the curve or cut-off is not known.

    Source
    ------
    baskerville1969, allen1976, zalom1983, mcmaster1997

    Examples
    --------
    >>> degree_days(np.array([5.0]), np.array([5.0]), base_c=4.0)
    array([1.])
    """
    low, high = np.broadcast_arrays(np.asarray(low_c, float), np.asarray(high_c, float))
    base = np.asarray(base_c, float)
    upper = None if upper_c is None or cutoff == "none" else np.asarray(upper_c, float)
    _check_choice(curve, get_args(CurveName), "curve")
    _check_choice(cutoff, get_args(CutOff), "cut-off")
    _check_lows(low, high)
    if upper is not None and np.any(upper < base):
        raise UsageError(f"the upper temperature {upper_c} is below the base {base_c}; give a higher one")
    today = _one_curve(low, high, base, upper, cutoff, CURVES[curve])
    if next_low_c is None:
        return today
    after = np.asarray(next_low_c, float)
    tonight = _one_curve(np.minimum(after, high), np.maximum(after, high), base, upper, cutoff, CURVES[curve])
    return (today + tonight) / 2


def next_lows(low_c: Floats) -> Floats:
    """Shift lows one day ahead for the double method; the last day keeps its own low, as none follows it."""
    low = np.asarray(low_c, float)
    return np.concatenate([low[..., 1:], low[..., -1:]], axis=-1)


def _check_choice(word: str, known: tuple[str, ...], what: str) -> None:
    if word not in known:
        raise UsageError(f"'{word}' is not a {what}; choose one of {', '.join(known)}")


def _check_lows(low: Floats, high: Floats) -> None:
    wrong = np.atleast_1d(low > high)
    if not wrong.any():
        return
    by_day = wrong.reshape(-1, wrong.shape[-1])
    day = int(np.argmax(by_day.any(axis=0)))
    place = (int(np.argmax(by_day[:, day])), day)
    found, limit = (float(temps.reshape(by_day.shape)[place]) for temps in (low, high))
    raise UnfitFileError(
        f"day {day + 1}: the low {found:g} is above the high {limit:g}; correct that day or leave it blank"
    )


def _one_curve(low: Floats, high: Floats, base: Floats, upper: Floats | None, cutoff: str, curve: Curve) -> Floats:
    warmth = curve.above(low, high, base)
    if upper is None:
        return warmth
    hot = curve.above(low, high, upper)
    warmth = warmth - hot
    if cutoff == "vertical":
        warmth = warmth - (upper - base) * curve.share(low, high, upper)
    elif cutoff == "intermediate":
        # The last term keeps the falling rate from passing below zero: it is flat again from 2 upper - base on.
        warmth = warmth - hot + curve.above(low, high, 2 * upper - base)
    return np.maximum(warmth, 0.0)


def _where_crossed(
    low: Floats, high: Floats, level: Floats, *, otherwise: Floats, inside: Callable[[Floats, Floats], Floats]
) -> Floats:
    """Only days that the level cuts need the curve: ``inside`` of half range and height of the level, -1 to 1."""
    values = np.array(otherwise)
    crossed = (low < level) & (level < high)  # never on a day without a wave, nor on a missing one
    low, high, level = (np.broadcast_to(one, crossed.shape)[crossed] for one in (low, high, level))
    half = (high - low) / 2
    values[crossed] = inside(half, np.clip((level - low) / half - 1.0, -1.0, 1.0))
    return values


def _whole_above(low: Floats, high: Floats, level: Floats) -> Floats:
    return np.maximum((low + high) / 2 - level, 0.0)


def _whole_share(low: Floats, high: Floats, level: Floats) -> Floats:
    """All of the day or none of it, by its middle temperature."""
    return np.where(np.isnan(low + high), np.nan, np.where((low + high) / 2 > level, 1.0, 0.0))


def _sine_above(low: Floats, high: Floats, level: Floats) -> Floats:
    def _inside(half: Floats, height: Floats) -> Floats:
        return half / np.pi * (np.sqrt(1.0 - height * height) - height * np.arccos(height))

    return _where_crossed(low, high, level, otherwise=_whole_above(low, high, level), inside=_inside)


def _sine_share(low: Floats, high: Floats, level: Floats) -> Floats:
    def _inside(_half: Floats, height: Floats) -> Floats:
        return np.arccos(height) / np.pi

    return _where_crossed(low, high, level, otherwise=_whole_share(low, high, level), inside=_inside)


def _triangle_above(low: Floats, high: Floats, level: Floats) -> Floats:
    def _inside(half: Floats, height: Floats) -> Floats:
        return half * ((1.0 - height) / 2) ** 2

    return _where_crossed(low, high, level, otherwise=_whole_above(low, high, level), inside=_inside)


def _triangle_share(low: Floats, high: Floats, level: Floats) -> Floats:
    def _inside(_half: Floats, height: Floats) -> Floats:
        return (1.0 - height) / 2

    return _where_crossed(low, high, level, otherwise=_whole_share(low, high, level), inside=_inside)


def _clamped_above(low: Floats, high: Floats, level: Floats) -> Floats:
    """As if half the day stood at the low and half at the high: clamping each is what the cut-offs then do."""
    return (np.maximum(low - level, 0.0) + np.maximum(high - level, 0.0)) / 2


def _clamped_share(low: Floats, high: Floats, level: Floats) -> Floats:
    return (_whole_share(low, low, level) + _whole_share(high, high, level)) / 2


CURVES: dict[str, Curve] = {
    "sine": Curve(_sine_above, _sine_share),
    "triangle": Curve(_triangle_above, _triangle_share),
    "simple": Curve(_whole_above, _whole_share),
    "simple_clamped": Curve(_clamped_above, _clamped_share),
}
