"""A record does not lie at a point: its chance is spread over the roads near it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.special import ndtr

from roadwatch.records.fields import DEFAULT_POSITION_ERROR_M
from roadwatch.roads.cutting import vertices_of
from roadwatch.roads.stretches import stretch_lines

if TYPE_CHECKING:
    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray, TextArray
    from roadwatch.roads.network import Network
    from roadwatch.roads.snap import Snapped
    from roadwatch.roads.stretches import Stretches

REACH_SD = 2.0
"""Roads further from the record than the nearest one by this many position errors are left out."""

LEAST_SHARE = 0.02
"""A stretch that would get less than this share of a record gets nothing, and the others more."""

LEAST_ERROR_M = 1.0
"""No position is taken to be better than this."""

MOST_ERROR_M = 500.0
"""A position worse than this is spread as if it were this good: it says nothing about hotspots either way."""


@dataclass(frozen=True)
class Spread:
    """
    Records taken apart into the stretches on which they may lie; (k,) rows, those of one record together.

    Parameters
    ----------
    record
        Number of the record, 0..n-1; records that were not placed have no row.
    edge, offset_m
        The likeliest place on the stretch: edge, and metres along it as it is drawn.
    share
        Chance that the record lies on the stretch; the shares of a record sum to 1.
    is_main
        True for the likeliest stretch of each record, once.
    """

    record: IntArray
    edge: IntArray
    offset_m: FloatArray
    share: FloatArray
    is_main: BoolArray


def spread_records(
    network: Network,
    stretches: Stretches,
    snapped: Snapped,
    x_m: FloatArray,
    y_m: FloatArray,
    *,
    position_error_m: FloatArray | float,
) -> Spread:
    """
    Spread each placed record over the stretches near it, by a normal law of its position error.

    The chance of a stretch is the integral of exp(-d^2 / 2 s^2) along it, d being the distance to the record as it
    was written and s its position error: of two roads side by side each gets exp(-d^2 / 2 s^2), and along one road the
    record is smeared by s. The likeliest stretch need not be the one with the nearest point.

    Parameters
    ----------
    network, stretches
        The roads, and the stretches cut from them.
    snapped
        Where the n records were placed.
    x_m, y_m
        (n,) Positions as written, in the network's reference system, metres.
    position_error_m
        (n,) or one number: position error, metres. Blank (nan) is taken as 30 m.
    """
    x_m, y_m = np.asarray(x_m, dtype=np.float64), np.asarray(y_m, dtype=np.float64)
    error_m = np.broadcast_to(np.asarray(position_error_m, dtype=np.float64), x_m.shape)
    error_m = np.clip(np.where(np.isnan(error_m), DEFAULT_POSITION_ERROR_M, error_m), LEAST_ERROR_M, MOST_ERROR_M)
    placed = np.flatnonzero(snapped.edge >= 0)
    if not len(placed):
        none = np.empty(0, dtype=np.int64)
        return Spread(none, none, np.empty(0), np.empty(0), np.empty(0, dtype=bool))
    points = np.asarray(shapely.points(x_m[placed], y_m[placed]), dtype=object)
    lines = stretch_lines(network, stretches)
    reach_m = snapped.distance_m[placed] + REACH_SD * error_m[placed]
    row, stretch = shapely.STRtree(lines).query(points, predicate="dwithin", distance=reach_m)
    near_m = snapped.distance_m[placed][row]
    chance = _along_lines(lines[stretch], x_m[placed][row], y_m[placed][row], error_m[placed][row], near_m)
    row, stretch, share = _large_shares(row, stretch, chance)
    offset_m = stretches.start_m[stretch] + np.minimum(
        shapely.line_locate_point(lines[stretch], points[row]), stretches.length_m[stretch] * (1.0 - 1e-6)
    )
    return Spread(placed[row], stretches.edge[stretch], offset_m, share, _first_of_largest(row, share))


def _along_lines(
    lines: TextArray, x_m: FloatArray, y_m: FloatArray, error_m: FloatArray, near_m: FloatArray
) -> FloatArray:
    """(k,) Integral along each line of the normal law about its record, up to a factor that is the record's own."""
    vertices = vertices_of(lines)
    begin = np.flatnonzero(~np.r_[vertices.line[1:] != vertices.line[:-1], True])
    line = vertices.line[begin]
    step = vertices.xy[begin + 1] - vertices.xy[begin]
    length_m = np.maximum(np.hypot(*step.T), 1e-12)
    to_record = np.column_stack([x_m[line], y_m[line]]) - vertices.xy[begin]
    along_m = (to_record * step).sum(axis=1) / length_m
    aside_m = (to_record[:, 0] * step[:, 1] - to_record[:, 1] * step[:, 0]) / length_m
    s = error_m[line]
    beside = np.exp((near_m[line] ** 2 - aside_m**2) / (2.0 * s**2))
    part = beside * s * (ndtr((length_m - along_m) / s) - ndtr(-along_m / s))
    return np.bincount(line, part, len(lines)).astype(np.float64)


def _large_shares(row: IntArray, stretch: IntArray, chance: FloatArray) -> tuple[IntArray, IntArray, FloatArray]:
    """Chances as shares of each record, small ones left out, sorted by record and stretch."""
    order = np.lexsort((stretch, row))
    row, stretch, chance = row[order], stretch[order], chance[order]
    largest = np.zeros(int(row.max()) + 1)
    np.maximum.at(largest, row, chance)
    share = chance / np.bincount(row, chance)[row]
    kept = (share >= LEAST_SHARE) | (chance >= largest[row])
    row, stretch, share = row[kept], stretch[kept], share[kept]
    return row, stretch, share / np.bincount(row, share)[row]


def _first_of_largest(row: IntArray, share: FloatArray) -> BoolArray:
    """True once for each record, at its largest share."""
    order = np.lexsort((np.arange(len(row)), -share, row))
    is_main = np.zeros(len(row), dtype=bool)
    is_main[order[np.r_[True, np.diff(row[order]) > 0]]] = True
    return is_main
