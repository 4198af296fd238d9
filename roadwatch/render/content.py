"""What a season's map shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from roadwatch.errors import RoadwatchError

if TYPE_CHECKING:
    import geopandas as gpd

    from roadwatch.share.hotspot_view import ShownHotspots
    from roadwatch.share.masking import Audience, ShownPlaces


@dataclass(frozen=True)
class MapContent:
    """
    Everything on one map page, already decided for its audience.

    Parameters
    ----------
    title, subtitle
        Heading of the page, and the line below it (county, season, how far the records go).
    audience
        ``public`` or ``team``.
    places
        Crossings and nests, from :func:`roadwatch.share.masking.show_places`.
    hotspots
        Ranked hotspots, from :func:`roadwatch.share.hotspot_view.show_hotspots`.
    roads, water, protected
        Lines and polygons in any CRS; a column ``road`` or ``name`` is shown where it exists.
    measures
        What was built: points, lines or polygons with ``kind built_on removed_on sides``.
    notes
        Sentences on the data: share masked, seed, search effort unknown.

    Raises
    ------
    RoadwatchError
        Places or hotspots were made for another audience than the page.
    """

    title: str
    subtitle: str
    audience: Audience
    places: ShownPlaces
    hotspots: ShownHotspots
    roads: gpd.GeoDataFrame
    water: gpd.GeoDataFrame
    protected: gpd.GeoDataFrame
    measures: gpd.GeoDataFrame
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for part, audience in (("places", self.places.audience), ("hotspots", self.hotspots.audience)):
            if audience != self.audience:
                raise RoadwatchError(
                    f"the page is for '{self.audience}' but its {part} were made for '{audience}'; "
                    "make both for the same audience"
                )
