"""Which written columns hold a place in another way than one number each for longitude and latitude."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from roadwatch.records.written_columns import plain_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

_LATITUDE_FIRST = frozenset(
    {
        *("latlon", "latlong", "latlng", "latitudelongitude", "latandlong", "latandlon", "latitudeandlongitude"),
        *("coordinates", "coordinate", "coords", "coord", "verbatimcoordinates", "gpscoordinates", "gpscoords"),
        *("position", "location", "gps", "gpsposition", "gpslocation", "geopoint", "point", "latlongcoordinates"),
    }
)
_LONGITUDE_FIRST = frozenset({"lonlat", "longlat", "lnglat", "longitudelatitude", "longitudeandlatitude", "lonandlat"})
_EASTING = frozenset({"easting", "eastings", "utme", "utmeasting", "eastingutm", "eutm", "utmx", "xutm"})
_NORTHING = frozenset({"northing", "northings", "utmn", "utmnorthing", "northingutm", "nutm", "utmy", "yutm"})
_ZONE = frozenset({"zone", "utmzone", "gridzone", "zonenumber", "utm"})
_BAND = frozenset({"band", "zoneletter", "utmband", "utmzoneletter", "zonehemisphere", "utmhemisphere"})
_REFERENCE = frozenset({"datum", "geodeticdatum", "epsg", "epsgcode", "crs", "srs", "referencesystem", "verbatimsrs"})
_ZONE_IN_NAME = re.compile(
    r"(?:(?:utm|zone)\W*)?(?<!\d)(?P<zone>\d{1,2})\s*(?P<letter>[c-hj-np-x])?(?![a-z0-9])", re.IGNORECASE
)
_AXES = {"latitude": ("latitude", "lat"), "longitude": ("longitude", "long", "lon", "lng")}
_PARTS = (("degrees", "deg", "d"), ("minutes", "min", "m"), ("seconds", "sec", "s"))
_LETTERS = {
    "latitude": ("ns", "latns", "latitudens", "latref", "latituderef", "latdir", "lathemisphere", "gpslatituderef"),
    "longitude": (
        "ew",
        "lonew",
        "longew",
        "longitudeew",
        "lonref",
        "longituderef",
        "londir",
        "longdir",
        "gpslongituderef",
    ),
}


@dataclass(frozen=True)
class PlaceColumns:
    """
    The written columns of a place; blank where there is none.

    Parameters
    ----------
    pair, longitude_first
        Both coordinates in one column, and whether its name says that longitude comes first.
    easting, northing, zone, band
        Metres, the zone's number, and its letter or hemisphere in a column of its own.
    zone_in_name
        The zone, where the name of a column says it.
    reference
        The datum or the reference system.
    parts
        Canonical name to further columns of that coordinate: minutes, seconds, letter.
    degrees
        Canonical name to the column with its degrees, where only these parts tell it.
    """

    pair: str = ""
    longitude_first: bool = False
    easting: str = ""
    northing: str = ""
    zone: str = ""
    band: str = ""
    zone_in_name: str = ""
    reference: str = ""
    parts: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    degrees: Mapping[str, str] = field(default_factory=dict)

    @property
    def gives_both(self) -> bool:
        """Longitude and latitude can be told without a column of their own."""
        return bool(self.pair or (self.easting and self.northing))

    @property
    def used(self) -> frozenset[str]:
        """Every written name that takes part."""
        alone = (self.pair, self.easting, self.northing, self.zone, self.band, self.reference)
        parted = (name for names in self.parts.values() for name in names)
        return frozenset(filter(None, (*alone, *parted, *self.degrees.values())))


def find_place_columns(written: Sequence[str], *, longitude: str | None, latitude: str | None) -> PlaceColumns:
    """
    Find the columns of a place by their names.

    Parameters
    ----------
    written
        Column names as they stand in the file.
    longitude, latitude
        The columns that are already known to hold them; ``x`` and ``y`` among them may hold metres.

    >>> find_place_columns(["UTM_E_17N", "UTM_N_17N"], longitude=None, latitude=None).zone_in_name
    '17N'
    """
    parted = {axis: _parts(written, axis) for axis in _AXES}
    degrees = {axis: names[0] for axis, names in parted.items() if names}
    free = [name for name in written if name not in {longitude, latitude, *degrees.values()}]
    easting, northing = (_first(free, names, zone_aside=True) for names in (_EASTING, _NORTHING))
    if not (easting and northing):
        easting = northing = ""
    lon_lat = _first(free, _LONGITUDE_FIRST)
    metric = (easting, northing) if easting else (longitude or "", latitude or "")
    return PlaceColumns(
        pair=lon_lat or _first(free, _LATITUDE_FIRST),
        longitude_first=bool(lon_lat),
        easting=easting,
        northing=northing,
        zone=_first(free, _ZONE),
        band=_first(free, _BAND),
        zone_in_name=next((zone for name in metric if (zone := _zone_in(name))), ""),
        reference=_first(free, _REFERENCE),
        parts={axis: (*names[1:], *_letter(free, axis)) for axis, names in parted.items()},
        degrees=degrees,
    )


def _first(written: Iterable[str], names: frozenset[str], *, zone_aside: bool = False) -> str:
    """The first written name among these; the zone in it may be set aside."""
    asides = (lambda name: plain_name(_ZONE_IN_NAME.sub("", name.replace("_", " ")))) if zone_aside else plain_name
    return next((name for name in written if plain_name(name) in names or asides(name) in names), "")


def _zone_in(name: str) -> str:
    found = _ZONE_IN_NAME.search(name.replace("_", " "))
    return f"{found['zone']}{found['letter'] or ''}" if found and 1 <= int(found["zone"]) <= 60 else ""


def _parts(written: Sequence[str], axis: str) -> tuple[str, ...]:
    """Columns of degrees, minutes and, where there are some, seconds; nothing without degrees and minutes."""
    by_plain = {plain_name(name): name for name in reversed(written)}
    columns = []
    for number, endings in enumerate(_PARTS):
        names = [f"{start}{end}" for start in _AXES[axis] for end in endings]
        names += [f"{end}{start}" for start in _AXES[axis] for end in endings if len(end) > 1]
        columns.append(next((by_plain[name] for name in names if name in by_plain), ""))
        if number < 2 and not columns[-1]:
            return ()
    return tuple(filter(None, columns))


def _letter(written: Iterable[str], axis: str) -> tuple[str, ...]:
    found = _first(written, frozenset(_LETTERS[axis]))
    return (found,) if found else ()
