"""The day on which summed warmth reaches what the eggs need, for many nests and years at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from roadwatch.hatch.arrays import Floats


def cumulative_warmth(degree_days: Floats) -> Floats:
    """
    Sum degree-days from the first day on.

    Parameters
    ----------
    degree_days
        (rows, days) Degree-days of each day; a missing day counts as none, so leave out rows that miss a needed day.

    Returns
    -------
    (rows, days + 1) Warmth gathered before the start of each day; it begins with 0.
    """
    warmth = np.zeros((degree_days.shape[0], degree_days.shape[1] + 1))
    np.cumsum(np.nan_to_num(degree_days), axis=1, out=warmth[:, 1:])
    return warmth


def warmth_at(cumulative: Floats, day: Floats) -> Floats:
    """
    Read cumulative warmth at moments inside a day.

    Parameters
    ----------
    cumulative
        (rows, days + 1) As ``cumulative_warmth`` returns it.
    day
        (n,) or (n, rows) Moments in days from the start of the first; before the start counts as the start.

    Returns
    -------
    (n, rows) Degree-days.
    """
    last = cumulative.shape[1] - 1
    moment = np.clip(day if day.ndim == 2 else day[:, None], 0.0, last)
    whole = np.minimum(moment.astype(np.int64), last - 1)
    rows = np.arange(cumulative.shape[0])[None, :]
    before, after = cumulative[rows, whole], cumulative[rows, whole + 1]
    inside: Floats = before + (moment - whole) * (after - before)
    return inside


def crossing_days(cumulative: Floats, lay_day: Floats, sum_dd: Floats) -> Floats:
    """
    Find when each nest has gathered its sum of degree-days, in each row of weather.

    Parameters
    ----------
    cumulative
        (rows, days + 1) Warmth before the start of each day, never falling; a row is a year, or a year and a draw.
    lay_day
        (n,) or (n, rows) Laying, days from the start of the first day; fractions are times of day.
    sum_dd
        (n,) or (n, rows) Degree-days from laying to hatching, above zero.

    Returns
    -------
    (n, rows) Days from the start of the first day, interpolated inside the day of crossing; +inf where the sum is
    not reached by the end.
    """
    needed = warmth_at(cumulative, lay_day) + (sum_dd if sum_dd.ndim == 2 else sum_dd[:, None])
    n_rows, n_places = cumulative.shape
    last = cumulative[:, -1]
    # One search for all rows: each row is lifted above the one before it, so that the whole table rises.
    lift = np.arange(n_rows) * (last.max(initial=0.0) + 1.0)
    lifted = (cumulative + lift[:, None]).ravel()
    reached = needed <= last
    found = np.searchsorted(lifted, (np.minimum(needed, last) + lift).T).T - np.arange(n_rows) * n_places
    after, row = np.clip(found, 1, n_places - 1), np.arange(n_rows)
    start, end = cumulative[row, after - 1], cumulative[row, after]
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.clip((needed - start) / (end - start), 0.0, 1.0)
    return np.where(reached, after - 1 + share, np.inf)


def order_statistics(draws: Floats, *, coverage: float) -> Floats:
    """
    Read the central interval and the middle from draws, as members of the draws themselves.

    Parameters
    ----------
    draws
        (n, draws) Days; +inf sorts last, so that 'not this year' pushes the late end out, never drops away.
    coverage
        Share of draws between the first and the last.

    Returns
    -------
    (n, 3) Early, middle and late.
    """
    ranked = np.sort(draws, axis=1)
    count = ranked.shape[1]
    early = int((1.0 - coverage) / 2 * count + 1e-9)  # a tenth of 100 is 10, whatever its binary form
    return ranked[:, [early, count // 2, count - 1 - early]]
