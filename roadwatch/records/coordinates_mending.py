"""Applying what is certain about slips in places, and refusing what is no place."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from roadwatch.records.coordinates_places import Mended, Places, complaint_about, number_text, place_text
from roadwatch.records.coordinates_repair import SLIPS, Area, Mending, mend

MOST_LONGITUDE, MOST_LATITUDE = 180.0, 90.0


def mend_places(places: Places, area: Area) -> None:
    """
    Mend, in place, the slips that are certain; refuse what can be on no globe, with a proposal where one is likely.

    Parameters
    ----------
    places
        (n,) places as read.
    area
        The season's area; nothing is mended where it is not known.
    """
    mended = mend(places.longitude, places.latitude, area)
    for axis, read, new in (
        ("longitude", places.longitude, mended.longitude),
        ("latitude", places.latitude, mended.latitude),
    ):
        for row in np.flatnonzero(mended.is_certain & (read != new)):
            old = places.texts[axis].iloc[row] or number_text(read[row])
            places.repairs.append(Mended(int(row), axis, old, number_text(new[row]), _why(mended, int(row))))
    certain = mended.is_certain
    places.longitude[certain], places.latitude[certain] = mended.longitude[certain], mended.latitude[certain]
    _refuse_out_of_range(places, mended)


def _why(mended: Mending, row: int) -> str:
    place = place_text(mended.longitude[row], mended.latitude[row])
    what = SLIPS[mended.slip[row]].what if mended.slip[row] >= 0 else "longitude and latitude are wrong"
    return f"{what}: {place} lies inside the season's area, and no other repair brings it there"


def _refuse_out_of_range(places: Places, mended: Mending) -> None:
    told = places.told_rows
    for axis, values, most in (
        ("longitude", places.longitude, MOST_LONGITUDE),
        ("latitude", places.latitude, MOST_LATITUDE),
    ):
        for row in np.flatnonzero(np.abs(values) > most):
            text = places.texts[axis].iloc[row] or number_text(values[row])
            values[row] = np.nan
            if int(row) in told:
                continue
            why = f"lies outside what {axis} can be (from {-most:g} to {most:g}); write decimal degrees"
            likely = mended.slip[row] >= 0
            new = {"longitude": mended.longitude[row], "latitude": mended.latitude[row]}
            proposal = {name: number_text(value) for name, value in new.items()} if likely else None
            places.complaints.append(replace(complaint_about(int(row), axis, text, why), proposal=proposal))
