"""Rules on places: on the globe, inside the season's area, each number in its own column, not far from a road."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roadwatch.records.coordinates_places import number_text, place_text
from roadwatch.records.coordinates_repair import SLIPS, Mending, mend
from roadwatch.records.rules import CheckContext, Detail, Faulty, number_of, rule, text_of
from roadwatch.records.shapes import wkt_of

if TYPE_CHECKING:
    import pandas as pd

    from roadwatch.records.fields import Kind

_PLACED: tuple[Kind, ...] = ("crossings", "nests")
_PLACE = ("longitude", "latitude")

FAR_FROM_ROADS_M = 1000.0
"""A crossing farther than this from every road is asked about (a convention)."""


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


def slip_details(rows: pd.DataFrame, context: CheckContext) -> list[Detail]:
    """What went wrong in each of some rows, and the place that is likely meant."""
    mended = _mended(rows, context)
    return [_detail_of(mended, row) for row in range(len(rows))]


@rule(
    "latitude and longitude stand each in its own column, with its own sign",
    kinds=_PLACED,
    severity="hold back",
    columns=_PLACE,
    fault="{slip}: {place} lies inside the season's area",
    cure="write {place}{if_meant}",
    details=slip_details,
)
def is_slip(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """Outside, and inside once columns change places or a sign turns."""
    return _mended(table, context).n_places > 0


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
    longitude, latitude = number_of(table, "longitude"), number_of(table, "latitude")
    is_placed = ~np.isnan(longitude) & ~np.isnan(latitude) & context.area.is_known
    is_outside = is_placed & ~context.area.holds(longitude, latitude)
    return is_outside & ~is_slip(table, context) & ~is_null_island(table, context)


@rule(
    "a crossing lies within 1000 m of a road",
    kinds=("crossings",),
    severity="ask",
    columns=_PLACE,
    fault="longitude {longitude}, latitude {latitude} lies more than 1000 m from every road",
    cure="look at the place on the map; a road that is missing can be added to the season",
)
def is_far_from_roads(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """Farther from the nearest road than a crossing can be; nothing where the roads are not known."""
    if context.distance_to_road_m is None or not len(table):
        return np.zeros(len(table), dtype=bool)
    distance_m = context.distance_to_road_m(number_of(table, "longitude"), number_of(table, "latitude"))
    is_far: Faulty = distance_m > FAR_FROM_ROADS_M
    return is_far & ~is_elsewhere(table, context) & ~is_slip(table, context) & ~is_null_island(table, context)


def _mended(table: pd.DataFrame, context: CheckContext) -> Mending:
    return mend(number_of(table, "longitude"), number_of(table, "latitude"), context.area)


def _detail_of(mended: Mending, row: int) -> Detail:
    longitude, latitude = float(mended.longitude[row]), float(mended.latitude[row])
    is_told = mended.slip[row] >= 0
    if_meant = ""
    if not mended.is_certain[row]:
        is_only = mended.n_places[row] == 1
        why = "it lies beyond the roads" if is_only else "another repair would bring it into the area as well"
        if_meant = f" if that is meant ({why})"
    words = {
        "slip": SLIPS[mended.slip[row]].what if is_told else "more than one slip explains this place",
        "place": place_text(longitude, latitude),
        "if_meant": if_meant,
    }
    proposal = {"longitude": number_text(longitude), "latitude": number_text(latitude)}
    return Detail(words, proposal if is_told else None)


@rule(
    "a person starts from inside the season's area",
    kinds=("people",),
    severity="ask",
    columns=("start_longitude", "start_latitude"),
    fault="start_longitude {start_longitude}, start_latitude {start_latitude} lies outside the season's area",
    cure="correct the place: a sign left out, or the two numbers changed over, is the usual slip",
)
def is_distant_start(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """West, east, south or north of the area; nothing where the area or the place is not known."""
    longitude, latitude = number_of(table, "start_longitude"), number_of(table, "start_latitude")
    is_beside = np.logical_or(longitude < context.west, longitude > context.east)
    return np.logical_or(is_beside, (latitude < context.south) | (latitude > context.north))


@rule(
    "a measure has a place",
    kinds=("measures",),
    severity="note",
    columns=("measure_id",),
    fault="{measure_id} has neither a line, an area nor a point: it can be neither drawn nor evaluated",
    cure="send it as a map layer, or with the columns longitude and latitude",
)
def is_measure_without_place(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Nothing among the row's other columns is a geometry."""
    return text_of(table, "other").map(lambda other: wkt_of(other) is None).to_numpy(dtype=bool)
