"""What a season's map shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from roadwatch.errors import RoadwatchError
from roadwatch.render.tiles import tile_host

if TYPE_CHECKING:
    import geopandas as gpd

    from roadwatch.records.taxonomy import Taxonomy
    from roadwatch.share.hotspot_view import ShownHotspots
    from roadwatch.share.map_parts import DrawnResult, HotspotAnswer
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
    answers
        Hotspots computed beforehand for choices of the page's filters; the first is of all years and all turtles,
        and its hotspots are ``hotspots``. Empty: there is that answer only, without curves.
    drawn
        Saved results drawn on the map: fence runs, signs, and for the team rounds.
    tiles
        Template of https addresses of background pictures with ``{z} {x} {y}``; None asks for nothing.
    tiles_attribution
        Who made the background pictures; blank gives the host's name.
    taxonomy
        The season's tree of taxa, for the filter by taxon; None is the shipped one.

    Raises
    ------
    RoadwatchError
        Places, hotspots or answers were made for another audience than the page, the first answer is not that of the
        page's hotspots, or rounds are drawn for the public.
    UsageError
        The template of background pictures cannot be used.
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
    answers: tuple[HotspotAnswer, ...] = ()
    drawn: tuple[DrawnResult, ...] = ()
    tiles: str | None = None
    tiles_attribution: str = ""
    taxonomy: Taxonomy | None = None

    def __post_init__(self) -> None:
        answered = [(f"answer {place + 1}", answer.shown.audience) for place, answer in enumerate(self.answers)]
        for part, audience in (
            ("places", self.places.audience),
            ("hotspots", self.hotspots.audience),
            *answered,
        ):
            if audience != self.audience:
                raise RoadwatchError(
                    f"the page is for '{self.audience}' but its {part} were made for '{audience}'; "
                    "make both for the same audience"
                )
        if self.answers and self.answers[0].shown is not self.hotspots:
            raise RoadwatchError("the first answer must be that of the page's hotspots: all years, all turtles")
        if self.audience == "public" and any(result.kind == "rounds" for result in self.drawn):
            raise RoadwatchError("rounds tell where nests are; they can be drawn for the team only")
        if self.tiles is not None:
            tile_host(self.tiles)
