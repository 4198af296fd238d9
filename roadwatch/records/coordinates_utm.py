"""Places in metres: UTM with its zone, in one column or several, turned to degrees by pyproj."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Literal

import numpy as np
from pyproj import CRS, Transformer
from pyproj.exceptions import CRSError

from roadwatch.records.complaints import Misread

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

Datum = Literal["WGS84", "NAD83", "NAD27"]

LEAST_EASTING_M, GREATEST_EASTING_M = 100_000.0, 900_000.0
GREATEST_NORTHING_M = 10_000_000.0
"""What UTM coordinates can be; a zone is 6 degrees wide, 166 to 834 km at the equator."""

_FIRST_EPSG: dict[tuple[Datum, bool], int] = {
    ("WGS84", True): 32600,
    ("WGS84", False): 32700,
    ("NAD83", True): 26900,
    ("NAD27", True): 26700,
}
"""EPSG code of zone 0, by datum and northern hemisphere; NAD83 has zones 1 to 23, NAD27 1 to 22."""
_LAST_ZONE: dict[Datum, int] = {"WGS84": 60, "NAD83": 23, "NAD27": 22}
_GEOGRAPHIC: dict[int, Datum] = {4326: "WGS84", 4269: "NAD83", 4267: "NAD27"}

_NAMED = {
    **dict.fromkeys(("wgs84", "wgs1984", "gps"), 4326),
    **dict.fromkeys(("nad83", "nad1983", "northamericandatum1983"), 4269),
    **dict.fromkeys(("nad27", "nad1927", "northamericandatum1927"), 4267),
}

_ZONE = re.compile(r"(?:utm\s*)?(?:zone\s*)?(?P<zone>\d{1,2})\s*(?P<letter>[c-hj-np-x]|north|south)?", re.IGNORECASE)
_METRES = r"\d{5,8}(?:\.\d+)?"
_IN_ONE = re.compile(
    rf"(?:utm\s*)?(?:zone\s*)?(?P<zone>\d{{1,2}})\s*(?P<letter>[c-hj-np-x])?[\s,;:]+(?:e\s*)?(?P<easting>{_METRES})\s*(?:m?\s*e)?"
    rf"[\s,;]+(?:n\s*)?(?P<northing>{_METRES})\s*(?:m?\s*n)?",
    re.IGNORECASE,
)
_ZONE_LAST = re.compile(
    rf"(?:e\s*)?(?P<easting>{_METRES})\s*(?:m?\s*e)?[\s,;]+(?:n\s*)?(?P<northing>{_METRES})\s*(?:m?\s*n)?"
    rf"(?:[\s,;]+(?:utm\s*)?(?:zone\s*)?(?P<zone>\d{{1,2}})\s*(?P<letter>[c-hj-np-x])?)?",
    re.IGNORECASE,
)
_GRID = re.compile(r"\d{1,2}[c-hj-np-x]\s*[a-z]{2}\s*(?:\d\s*){4,10}", re.IGNORECASE)


@dataclass(frozen=True)
class Zone:
    """
    A UTM zone.

    Parameters
    ----------
    number
        1 to 60.
    north
        In the northern hemisphere; None where the letter S leaves it open: the band S lies in the north (32 to 40
        degrees), while many write S for south.
    """

    number: int
    north: bool | None = True

    def __str__(self) -> str:
        """As ``17N``."""
        return f"{self.number}{'N' if self.north else 'S'}"


@dataclass(frozen=True)
class Metres:
    """Easting and northing in metres, with the zone where it is written."""

    easting_m: float
    northing_m: float
    zone: Zone | None = None


def read_zone(text: str) -> Zone | Misread:
    """
    Read a zone such as ``17``, ``17N``, ``17 R`` or ``UTM zone 17 north``; a mere number is taken as north.

    >>> read_zone("17R"), read_zone("17S").north
    (Zone(number=17, north=True), None)
    """
    found = _ZONE.fullmatch(" ".join(text.split()))
    if not found or not 1 <= int(found["zone"]) <= 60:
        return Misread("is not a UTM zone; write its number and hemisphere, such as 17N")
    return Zone(int(found["zone"]), _is_north(found["letter"] or ""))


def read_metres(text: str) -> Metres | Misread | None:
    """
    Read easting, northing and zone from one cell; None where the text is no such thing.

    >>> read_metres("17R 414765 3507652")
    Metres(easting_m=414765.0, northing_m=3507652.0, zone=Zone(number=17, north=True))
    """
    plain = " ".join(text.split())
    if _GRID.fullmatch(plain):
        return Misread("looks like a reference of the military grid; write easting, northing and zone, or degrees")
    found = _IN_ONE.fullmatch(plain) or _ZONE_LAST.fullmatch(plain)
    if not found:
        return None
    zone = read_zone(f"{found['zone']}{found['letter'] or ''}") if found["zone"] else None
    if isinstance(zone, Misread):
        return zone
    return Metres(float(found["easting"]), float(found["northing"]), zone)


def are_metres(easting: NDArray[np.float64], northing: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell which of (n,) pairs of numbers can be UTM coordinates and not degrees."""
    is_easting = (easting >= LEAST_EASTING_M) & (easting <= GREATEST_EASTING_M)
    return np.asarray(is_easting & (northing > 360) & (northing <= GREATEST_NORTHING_M), dtype=bool)


def degrees_of(
    easting_m: NDArray[np.float64], northing_m: NDArray[np.float64], *, zone: Zone, datum: Datum = "WGS84"
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """
    Longitude and latitude on WGS 84 of places in one zone.

    Parameters
    ----------
    easting_m, northing_m
        (n,) metres.
    zone
        Its hemisphere is taken as north where it is open.
    datum
        Datum of the metres; NAD27 is good to some metres only, as no grid of shifts is shipped.

    Returns
    -------
    (n,) longitude and (n,) latitude; nan where there is none, as for a zone that the datum has not.

    Source
    ------
    epsg
    """
    north = zone.north is not False
    first = _FIRST_EPSG.get((datum, north))
    if first is None or zone.number > _LAST_ZONE[datum]:
        return np.full(len(easting_m), np.nan), np.full(len(easting_m), np.nan)
    longitude, latitude = _to_wgs84(first + zone.number).transform(easting_m, northing_m)
    is_place = np.isfinite(longitude) & np.isfinite(latitude)
    return np.where(is_place, longitude, np.nan), np.where(is_place, latitude, np.nan)


def shifted(
    longitude: NDArray[np.float64], latitude: NDArray[np.float64], *, epsg: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Longitude and latitude on WGS 84 of (n,) coordinates x, y in another reference system; nan where none is."""
    x, y = _to_wgs84(epsg).transform(longitude, latitude)
    is_place = np.isfinite(x) & np.isfinite(y)
    return np.where(is_place, x, np.nan), np.where(is_place, y, np.nan)


def read_reference(text: str) -> int | Misread:
    """
    The EPSG code of a reference system as written: WGS84, NAD83, NAD27, or EPSG:26917.

    >>> read_reference("WGS 84"), read_reference("EPSG:26917")
    (4326, 26917)
    """
    plain = "".join(sign for sign in text.casefold() if sign.isalnum())
    if plain in _NAMED:
        return _NAMED[plain]
    digits = re.fullmatch(r"(?:urnogcdefcrs)?(?:epsg)?(\d{4,5})", plain)
    if digits and _is_known(int(digits[1])):
        return int(digits[1])
    return Misread("is not a reference system that is known; write WGS84, NAD83, NAD27 or EPSG and its number")


def datum_of(epsg: int) -> Datum | None:
    """The datum of a geographic reference system, None of any other."""
    return _GEOGRAPHIC.get(epsg)


@cache
def is_projected(epsg: int) -> bool:
    """Tell whether a reference system that is known counts in metres or feet, and not in degrees."""
    return bool(CRS.from_epsg(epsg).is_projected)


def zones_around(longitudes: Iterable[float]) -> list[int]:
    """
    Numbers of the zones of these longitudes, and of their neighbours, in order.

    >>> zones_around([-81.9])
    [16, 17, 18]
    """
    own = {int((longitude + 180) // 6) % 60 + 1 for longitude in longitudes}
    return sorted({(number + step - 1) % 60 + 1 for number in own for step in (-1, 0, 1)})


def _is_north(letter: str) -> bool | None:
    """Bands C to M lie in the south, N to X in the north; N and S are also written for the hemispheres."""
    if len(letter) > 1:
        return letter.lower() == "north"
    if letter.upper() == "S":
        return None
    return not letter or letter.upper() >= "N"


@cache
def _is_known(epsg: int) -> bool:
    try:
        CRS.from_epsg(epsg)
    except CRSError:
        return False
    return True


@cache
def _to_wgs84(epsg: int) -> Transformer:
    return Transformer.from_crs(epsg, 4326, always_xy=True)
