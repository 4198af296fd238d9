"""The map of a season: one HTML file, made with folium, that opens by double click with the network off."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

import folium
from branca.element import MacroElement
from folium.template import Template

from roadwatch.render.choices import choices_of
from roadwatch.render.controls import controls
from roadwatch.render.layers import map_data
from roadwatch.render.legend import (
    ALL_RECORDS,
    CAUTIONS,
    CELL,
    CONDITIONS,
    INK,
    LAYER_NAMES,
    MEASURES,
    NEST_STATES,
    STRENGTHS,
    UNKNOWN_STRENGTH,
    legend,
    sentences,
)
from roadwatch.render.offline_figure import OfflineFigure, PageParts
from roadwatch.render.printed import still_map
from roadwatch.render.safe_text import data_block, fill, joined
from roadwatch.render.saved import saved_key, saved_signs, saved_tables, saved_words
from roadwatch.render.tables import cell_table, crossing_section, hotspot_table, measure_table, nest_table
from roadwatch.render.tiles import tile_host, tile_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from markupsafe import Markup

    from roadwatch.render.content import MapContent
    from roadwatch.render.legend import Sign

AUDIENCE_WORDS = {
    "team": "Team only. This page holds exact places of nests and animals. Do not pass it on.",
    "public": "Public view. Nests and sensitive animals are masked.",
}


class SeasonLayers(MacroElement):
    """Hands the layer groups of a folium map to the page's own code, which draws the data block into them."""

    _template = Template(
        "{% macro script(this, kwargs) %}"
        "drawSeason({{ this._parent.get_name() }}, { {%- for key in this.keys %}"
        "{{ key }}: feature_group_{{ key }},{% endfor -%} });"
        "{% endmacro %}"
    )

    def __init__(self, keys: Sequence[str]) -> None:
        super().__init__()  # type: ignore[no-untyped-call]  # branca's own constructor has no types
        self._name = "SeasonLayers"
        self._id = "season"
        self.keys = tuple(keys)


def season_map(content: MapContent) -> str:
    """
    Write the map page of a season.

    Parameters
    ----------
    content
        What the page shows; masking has decided its places and hotspots.

    Returns
    -------
    HTML of one self-contained file. Equal content gives equal text.

    Source
    ------
    wcag22, csp3
    """
    data = {**map_data(content), "signs": _signs(), "tiles": _tiles(content)}
    layers = _layers(content)
    figure = OfflineFigure(
        PageParts(
            title=content.title,
            before=_before(content, controls(choices_of(content), layers)),
            after=_after(content, cast("list[float]", data["bounds"])),
            data=data_block(data, element_id="season-data"),
            pictures_from="" if content.tiles is None else tile_host(content.tiles),
        )
    )
    figure.add_child(_folium_map(layers), name="map")
    return figure.render()


def _folium_map(keys: Iterable[str]) -> folium.Map:
    """An empty map with one group a layer; ids are fixed, because random ones would change the file each time."""
    season = folium.Map(location=[0, 0], zoom_start=2, tiles=None, control_scale=True, max_zoom=19, zoom_snap=0.5)
    season._id = "season"  # folium offers no other way to choose an id
    keys = list(keys)
    for key in keys:
        group = folium.FeatureGroup(name=key, control=False)  # names for readers never pass through folium
        group._id = key
        season.add_child(group, name=key)
    season.add_child(SeasonLayers(keys), name="layers")
    return season


def _layers(content: MapContent) -> dict[str, str]:
    """What the layers of a page are called, from the bottom to the top."""
    absent = "cells" if content.audience == "team" else "nests"
    names = {key: words for key, words in LAYER_NAMES.items() if key != absent}
    return names | {saved_key(place): saved_words(result) for place, result in enumerate(content.drawn)}


def _tiles(content: MapContent) -> dict[str, str] | None:
    if content.tiles is None:
        return None
    return {"template": content.tiles, "credit": content.tiles_attribution or tile_host(content.tiles)}


def _signs() -> dict[str, object]:
    def drawn(signs: Sequence[Sign]) -> list[dict[str, object]]:
        return [{"shape": sign.shape, "colour": sign.colour, "width": sign.width} for sign in signs]

    return {
        "ink": INK,
        "cell": CELL.colour,
        "crossings": drawn(CONDITIONS),
        "nests": drawn(NEST_STATES),
        "measures": drawn(MEASURES),
        "hotspots": drawn([*STRENGTHS, UNKNOWN_STRENGTH]),
        "all": drawn([ALL_RECORDS])[0],
    }


def _before(content: MapContent, choose: Markup) -> Markup:
    tiles = ""
    if content.tiles is not None:
        tiles = fill('<p class="audience">{words}</p>', words=tile_words(tile_host(content.tiles)))
    return fill(
        '<a class="skip" href="#hotspots">Skip the map, go to the tables</a>'
        '<header><h1>{title}</h1><p class="subtitle">{subtitle}</p>'
        '<p class="audience {audience}">{words}</p>{tiles}</header>'
        '<main><div class="sheet"><section class="map" aria-label="Map of the season">{choose}<div class="stage">',
        title=content.title,
        subtitle=content.subtitle,
        audience=content.audience,
        words=AUDIENCE_WORDS[content.audience],
        tiles=tiles,
        choose=choose,
    )


def _after(content: MapContent, bounds: list[float]) -> Markup:
    places, still = content.places, still_map(content, bounds)
    answered = [words for answer in content.answers for words in answer.shown.statements]
    told = tuple(dict.fromkeys([*places.statements, *content.hotspots.statements, *answered, *content.notes]))
    return joined(
        [
            fill('<div id="panel" role="dialog" aria-labelledby="panel-title" tabindex="-1" hidden></div></div>'),
            fill('<p id="said" role="status"></p>{still}<p id="chosen" class="paper"></p></section>', still=still),
            fill("{legend}</div>", legend=legend(content.audience, saved_signs(content.drawn))),
            sentences("Before you act on this map", CAUTIONS, element_id="cautions"),
            hotspot_table(content.hotspots.table),
            nest_table(places.nests) if content.audience == "team" else cell_table(places.cells),
            crossing_section(places.crossings),
            measure_table(content.measures),
            saved_tables(content.drawn),
            sentences("About the data", told, element_id="data-notes"),
            fill("</main><footer><p>Map drawing: Leaflet 1.9.4, BSD 2-Clause licence.</p></footer>"),
        ]
    )
