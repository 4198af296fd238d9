"""What a page may draw beside places, already decided for its audience: hotspots of a choice, and saved results."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    import geopandas as gpd

    from roadwatch.hotspots.road_curve import RoadCurve
    from roadwatch.share.hotspot_view import ShownHotspots

DrawnKind = Literal["fence runs", "signs", "rounds"]


@dataclass(frozen=True)
class HotspotAnswer:
    """
    Hotspots of one choice of a page's filters.

    Parameters
    ----------
    year
        Four figures; None is all years.
    taxon
        Canonical name; None is all turtles.
    shown
        The hotspots, masked for the audience.
    curves
        One a row of ``shown.table``; None where the audience may not see it.
    note
        Blank, or why there is no answer.
    """

    year: str | None
    taxon: str | None
    shown: ShownHotspots
    curves: tuple[RoadCurve | None, ...]
    note: str


@dataclass(frozen=True)
class DrawnResult:
    """
    A saved result drawn on the map.

    Parameters
    ----------
    kind
        What it holds.
    table
        EPSG:4326, with the file's own columns as written.
    source
        The file's name as shown.
    notes
        Sentences that belong beside it.
    """

    kind: DrawnKind
    table: gpd.GeoDataFrame
    source: str
    notes: tuple[str, ...]
