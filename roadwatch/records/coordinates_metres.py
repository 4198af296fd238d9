"""Turning the metric places of one file to degrees: zones told by column, cell or the season's own extent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.records.coordinates_utm import (
    Datum,
    Zone,
    are_metres,
    datum_of,
    degrees_of,
    is_projected,
    shifted,
    zones_around,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from roadwatch.records.coordinates_repair import Area

    Numbers = NDArray[np.float64]

NO_ZONE = "is in metres without a UTM zone; write the zone in a column zone, such as 17N"
OPEN_LETTER = "has a zone with S, which is the latitude band S or the southern hemisphere; write 17N or 17 south"
NOWHERE = "is no place in this zone and datum; correct the easting, the northing or the zone"


WGS84 = 4326
LARGEST_DEGREES = 360.0


class MetricRows:
    """
    Rows in metres, gathered from all ways of writing.

    Parameters
    ----------
    n
        Rows of the file. ``easting`` and ``northing`` are (n,), nan where a row is in degrees or blank; ``epsg`` is
        (n,) the reference system of every row; ``zones`` maps rows to the zone that stands in their cell.
    """

    def __init__(self, n: int) -> None:
        self.epsg = np.full(n, WGS84, dtype=np.int64)
        self.easting, self.northing = np.full(n, np.nan), np.full(n, np.nan)
        self.zones: dict[int, Zone | None] = {}

    def fits(self, x: Numbers, y: Numbers) -> NDArray[np.bool_]:
        """Which pairs of numbers are no degrees: UTM by their size, or in a projected system that the row names."""
        projected = [code for code in set(self.epsg.tolist()) if is_projected(code)]
        is_large = (np.abs(x) > LARGEST_DEGREES) | (np.abs(y) > LARGEST_DEGREES)
        return are_metres(x, y) | (np.isin(self.epsg, projected) & is_large)

    @property
    def rows(self) -> NDArray[np.int64]:
        """The rows that are in metres."""
        return np.flatnonzero(np.isfinite(self.easting) & np.isfinite(self.northing))


@dataclass(frozen=True, eq=False)
class MetricPlaces:
    """
    Places in metres, before and after.

    Parameters
    ----------
    longitude, latitude
        (n,) degrees on WGS 84, nan where the place could not be told.
    reasons
        Row to why not.
    taken
        Zone to the number of rows for which it was taken because no other puts them inside the season's area.
    """

    longitude: Numbers
    latitude: Numbers
    reasons: dict[int, str]
    taken: dict[Zone, int]


def degrees_of_metres(
    easting_m: Numbers,
    northing_m: Numbers,
    *,
    zones: list[Zone | None],
    epsg: NDArray[np.int64],
    area: Area,
) -> MetricPlaces:
    """
    Turn places in metres to degrees, each with its own zone and reference system.

    Parameters
    ----------
    easting_m, northing_m
        (n,) metres.
    zones
        (n,) the zone as written; None where it is not.
    epsg
        (n,) reference system: a projected one stands for itself and needs no zone; a geographic one names the datum.
    area
        Where the zone, or its hemisphere, is open, the one that puts the place inside is taken if there is only one.
    """
    n = len(easting_m)
    found = MetricPlaces(np.full(n, np.nan), np.full(n, np.nan), {}, {})
    groups: dict[tuple[Zone | None, int], list[int]] = {}
    for row, key in enumerate(zip(zones, epsg.tolist(), strict=True)):
        groups.setdefault(key, []).append(row)
    for (zone, code), rows in groups.items():
        _fill(found, np.array(rows), easting_m, northing_m, zone, code, area)
    return found


def _fill(
    found: MetricPlaces,
    rows: NDArray[np.int64],
    easting_m: Numbers,
    northing_m: Numbers,
    zone: Zone | None,
    epsg: int,
    area: Area,
) -> None:
    """Fill the rows of one zone and one reference system."""
    x, y = easting_m[rows], northing_m[rows]
    datum = datum_of(epsg)
    if datum is None:
        places, why = shifted(x, y, epsg=epsg), NOWHERE
    elif zone and zone.north is not None:
        places, why = degrees_of(x, y, zone=zone, datum=datum), NOWHERE
    else:
        places, taken = _by_area(x, y, zone, datum, area)
        why = OPEN_LETTER if zone else NO_ZONE
        for one, n in taken.items():
            found.taken[one] = found.taken.get(one, 0) + n
    found.longitude[rows], found.latitude[rows] = places
    found.reasons.update(dict.fromkeys(rows[np.isnan(places[0])].tolist(), why))


def _by_area(
    x: Numbers, y: Numbers, zone: Zone | None, datum: Datum, area: Area
) -> tuple[tuple[Numbers, Numbers], dict[Zone, int]]:
    """The one zone, of those that can be, that puts each place inside the area; nan where none or several do."""
    longitude, latitude = np.full(len(x), np.nan), np.full(len(x), np.nan)
    times = np.zeros(len(x), dtype=np.int64)
    taken: dict[Zone, int] = {}
    if not area.is_known:
        return (longitude, latitude), taken
    numbers = [zone.number] if zone else zones_around([area.west, area.east])
    for one in (Zone(number, north) for number in numbers for north in (True, False)):
        lon, lat = degrees_of(x, y, zone=one, datum=datum)
        inside = area.holds(lon, lat)
        longitude[inside], latitude[inside] = lon[inside], lat[inside]
        times += inside
        if inside.any():
            taken[one] = int(inside.sum())
    longitude[times != 1] = latitude[times != 1] = np.nan
    return (longitude, latitude), taken
