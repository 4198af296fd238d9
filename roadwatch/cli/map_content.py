"""A season's map as the page takes it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from roadwatch.render.content import MapContent
    from roadwatch.season.map_making import SeasonMap


def content_of(
    made: SeasonMap, *, title: str, as_of: date, notes: tuple[str, ...], tiles: str | None, tiles_credit: str
) -> MapContent:
    """Put what a season's map holds into what a page shows."""
    from roadwatch.render.content import MapContent

    view = made.view
    return MapContent(
        title=title,
        subtitle=f"Records of {view.years[0]} to {view.years[1]}, as of {as_of.isoformat()}",
        audience=view.audience,
        places=view.places,
        hotspots=view.hotspots,
        roads=view.roads,
        water=view.water,
        protected=view.protected,
        measures=view.measures,
        notes=notes,
        answers=made.answers,
        drawn=made.drawn,
        tiles=tiles,
        tiles_attribution=tiles_credit,
        taxonomy=made.taxonomy,
    )
