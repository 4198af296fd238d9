"""Rules on places: on the globe, inside the season's area, each number in its own column."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roadwatch.records.rules import CheckContext, Faulty, number_of, rule

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from roadwatch.records.fields import Kind

_PLACED: tuple[Kind, ...] = ("crossings", "nests")
_PLACE = ("longitude", "latitude")


@rule(
    "the place is not longitude 0, latitude 0",
    kinds=_PLACED,
    severity="hold back",
    columns=_PLACE,
    fault="longitude 0, latitude 0 is what a device writes when it has no position",
    cure="write the place",
)
def is_null_island(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Both coordinates are zero."""
    is_zero: Faulty = (number_of(table, "longitude") == 0) & (number_of(table, "latitude") == 0)
    return is_zero


@rule(
    "latitude and longitude stand each in its own column",
    kinds=_PLACED,
    severity="hold back",
    columns=_PLACE,
    fault="latitude and longitude look swapped: {longitude} north, {latitude} east lies inside the season's area",
    cure="write longitude {latitude}, latitude {longitude}",
)
def is_swapped(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """Outside, and inside once the two change places."""
    longitude, latitude = number_of(table, "longitude"), number_of(table, "latitude")
    return _is_outside(table, context) & _is_inside(latitude, longitude, context)


@rule(
    "a western longitude carries its minus sign",
    kinds=_PLACED,
    severity="hold back",
    columns=_PLACE,
    fault="longitude {longitude} with the other sign lies inside the season's area",
    cure="write {minus_longitude}: west of Greenwich is negative, east of it positive",
)
def has_wrong_sign(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """Outside, and inside once the longitude changes its sign."""
    longitude, latitude = number_of(table, "longitude"), number_of(table, "latitude")
    return _is_outside(table, context) & _is_inside(-longitude, latitude, context) & ~is_swapped(table, context)


@rule(
    "a western longitude carries its minus sign and stands in its own column",
    kinds=_PLACED,
    severity="hold back",
    columns=_PLACE,
    fault="latitude {latitude} looks like a longitude without its minus sign, longitude {longitude} like a latitude",
    cure="write longitude -{latitude}, latitude {longitude}",
)
def is_swapped_without_sign(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """Outside, and inside once the two change places and the longitude becomes negative."""
    longitude, latitude = number_of(table, "longitude"), number_of(table, "latitude")
    inside = (latitude > 0) & _is_inside(-latitude, longitude, context)
    return _is_outside(table, context) & inside & ~has_wrong_sign(table, context)


@rule(
    "the place lies inside the season's area",
    kinds=_PLACED,
    severity="hold back",
    columns=_PLACE,
    fault="longitude {longitude}, latitude {latitude} lies outside the season's area",
    cure="correct the place, or add the roads of that area to the season",
)
def is_elsewhere(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """Outside, with no simple slip that explains it."""
    slips = (is_null_island, is_swapped, has_wrong_sign, is_swapped_without_sign)
    explained = [slip(table, context) for slip in slips]
    is_unexplained: Faulty = _is_outside(table, context) & ~np.any(explained, axis=0)
    return is_unexplained


def _is_inside(longitude: NDArray[np.float64], latitude: NDArray[np.float64], context: CheckContext) -> Faulty:
    is_between: Faulty = (longitude >= context.west) & (longitude <= context.east)
    is_between &= (latitude >= context.south) & (latitude <= context.north)
    return is_between


def _is_outside(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """Outside a known extent; a blank place, or an unknown extent, is not."""
    longitude, latitude = number_of(table, "longitude"), number_of(table, "latitude")
    is_known = bool(np.isfinite([context.west, context.south, context.east, context.north]).all())
    is_placed = ~np.isnan(longitude) & ~np.isnan(latitude)
    return is_placed & ~_is_inside(longitude, latitude, context) & is_known
