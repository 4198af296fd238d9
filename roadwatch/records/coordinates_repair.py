"""Slips in a place that the season's own extent shows: columns changed over, a sign that is lost or wrong."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Degrees = NDArray[np.float64]


@dataclass(frozen=True)
class Area:
    """
    Extent of the season's area, degrees on WGS 84; nan where it is not known.

    ``margin_deg`` is the part of it that lies beyond the roads: a record there is taken in, a repair is not certain.
    """

    west: float = float("nan")
    south: float = float("nan")
    east: float = float("nan")
    north: float = float("nan")
    margin_deg: float = 0.0

    @property
    def is_known(self) -> bool:
        """All four sides are numbers."""
        return bool(np.isfinite([self.west, self.south, self.east, self.north]).all())

    def holds(self, longitude: Degrees, latitude: Degrees, *, within_margin: bool = False) -> NDArray[np.bool_]:
        """Tell which of (n,) places lie inside; with ``within_margin`` those inside the roads' own extent only."""
        less = self.margin_deg if within_margin else 0.0
        is_between = (longitude >= self.west + less) & (longitude <= self.east - less)
        is_between &= (latitude >= self.south + less) & (latitude <= self.north - less)
        return np.asarray(is_between, dtype=bool)


NO_AREA = Area()
"""Nothing is known, so nothing lies outside."""


@dataclass(frozen=True)
class Slip:
    """One way to write a place wrongly: what it is, and what brings the place back."""

    what: str
    swap: bool = False
    turn_longitude: bool = False
    turn_latitude: bool = False

    @property
    def n_changes(self) -> int:
        """How many things went wrong at once."""
        return self.swap + self.turn_longitude + self.turn_latitude

    def mended(self, longitude: Degrees, latitude: Degrees) -> tuple[Degrees, Degrees]:
        """
        The (n,) longitudes and latitudes without the slip.

        Where columns were changed over only a lost minus is put back: a minus too many is no slip of that kind.
        """
        x, y = (latitude, longitude) if self.swap else (longitude, latitude)
        lost = self.swap
        return (
            np.where((x > 0) | (not lost), -x, np.nan) if self.turn_longitude else x,
            np.where((y > 0) | (not lost), -y, np.nan) if self.turn_latitude else y,
        )


SLIPS = (
    Slip("latitude and longitude look swapped", swap=True),
    Slip("longitude has the wrong sign", turn_longitude=True),
    Slip("latitude has the wrong sign", turn_latitude=True),
    Slip("latitude and longitude look swapped, and longitude lost its minus sign", swap=True, turn_longitude=True),
    Slip("latitude and longitude look swapped, and latitude lost its minus sign", swap=True, turn_latitude=True),
    Slip("longitude and latitude have the wrong sign", turn_longitude=True, turn_latitude=True),
)


@dataclass(frozen=True, eq=False)
class Mending:
    """
    What became of places that lie outside.

    Parameters
    ----------
    longitude, latitude
        (n,) the likeliest place; as given where nothing brings it inside.
    slip
        (n,) index of the slip in ``SLIPS``, -1 where there is none or more than one explains the place equally well.
    n_places
        (n,) how many different places inside the area slips lead to.
    is_certain
        (n,) exactly one place, and it lies inside the roads' own extent.
    """

    longitude: Degrees
    latitude: Degrees
    slip: NDArray[np.int64]
    n_places: NDArray[np.int64]
    is_certain: NDArray[np.bool_]


def mend(longitude: Degrees, latitude: Degrees, area: Area) -> Mending:
    """
    Look for the slips that bring places back into the season's area.

    Parameters
    ----------
    longitude, latitude
        (n,) places as read, degrees; nan where blank.
    area
        The season's area; nothing is mended where it is not known.

    Returns
    -------
    A place inside the area, a blank one, and longitude 0 latitude 0 (what a device without a fix writes) stay as read.
    """
    n = len(longitude)
    asked = ~area.holds(longitude, latitude) & np.isfinite(longitude) & np.isfinite(latitude) & area.is_known
    rows = np.flatnonzero(asked & ((longitude != 0) | (latitude != 0)))
    mended = Mending(
        longitude.copy(), latitude.copy(), np.full(n, -1), np.zeros(n, dtype=np.int64), np.zeros(n, dtype=bool)
    )
    if not len(rows):
        return mended
    x, y = np.transpose([slip.mended(longitude[rows], latitude[rows]) for slip in SLIPS], (1, 2, 0))
    inside = area.holds(x, y)
    changes = np.where(inside, [slip.n_changes for slip in SLIPS], 99)
    best = np.argmin(changes, axis=1)
    at = np.arange(len(rows))
    is_first = inside & ~_is_repeated(x, y, inside)
    n_places = is_first.sum(axis=1)
    is_told = n_places > 0
    is_tied = is_told & ((is_first & (changes == changes[at, best][:, None])).sum(axis=1) > 1)
    mended.longitude[rows] = np.where(is_told, x[at, best], longitude[rows])
    mended.latitude[rows] = np.where(is_told, y[at, best], latitude[rows])
    mended.slip[rows] = np.where(is_told & ~is_tied, best, -1)
    mended.n_places[rows] = n_places
    in_core = area.holds(mended.longitude[rows], mended.latitude[rows], within_margin=True)
    mended.is_certain[rows] = (n_places == 1) & in_core
    return mended


def _is_repeated(x: Degrees, y: Degrees, inside: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(n, slips) places that an earlier slip leads to as well."""
    repeated = np.zeros_like(inside)
    for later in range(1, x.shape[1]):
        same = (x[:, :later] == x[:, [later]]) & (y[:, :later] == y[:, [later]]) & inside[:, :later]
        repeated[:, later] = same.any(axis=1)
    return repeated
