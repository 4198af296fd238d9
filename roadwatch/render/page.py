"""The map of a season: one HTML file, made with folium, that opens by double click with the network off."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

import folium
from branca.element import MacroElement
from folium.template import Template
from folium.utilities import JsCode

from roadwatch.render.layers import map_data
from roadwatch.render.legend import (
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
from roadwatch.render.tables import cell_table, hotspot_table, nest_table

if TYPE_CHECKING:
    from collections.abc import Sequence

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
    data = {**map_data(content), "signs": _signs()}
    figure = OfflineFigure(
        PageParts(
            title=content.title,
            before=_before(content),
            after=_after(content, cast("list[float]", data["bounds"])),
            data=data_block(data, element_id="season-data"),
        )
    )
    figure.add_child(_folium_map(_layer_keys(content)), name="map")
    return figure.render()


def _folium_map(keys: Sequence[str]) -> folium.Map:
    """An empty map with one group a layer; ids are fixed, because random ones would change the file each time."""
    season = folium.Map(location=[0, 0], zoom_start=2, tiles=None, control_scale=True, max_zoom=19, zoom_snap=0.5)
    season._id = "season"  # folium offers no other way to choose an id
    for key in keys:
        group = folium.FeatureGroup(name=LAYER_NAMES[key])
        group._id = key
        season.add_child(group, name=key)
    season.add_child(SeasonLayers(keys), name="layers")
    on_phones = cast("bool", JsCode("window.innerWidth < 700"))  # asked when the page opens, not when it is written
    switch = folium.LayerControl(collapsed=on_phones)
    switch._id = "season"
    season.add_child(switch, name="switch")
    return season


def _layer_keys(content: MapContent) -> list[str]:
    absent = "cells" if content.audience == "team" else "nests"
    return [key for key in LAYER_NAMES if key != absent]


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
    }


def _before(content: MapContent) -> Markup:
    return fill(
        '<a class="skip" href="#hotspots">Skip the map, go to the tables</a>'
        '<header><h1>{title}</h1><p class="subtitle">{subtitle}</p><p class="audience {audience}">{words}</p></header>'
        '<main><div class="sheet"><section class="map" aria-label="Map of the season">',
        title=content.title,
        subtitle=content.subtitle,
        audience=content.audience,
        words=AUDIENCE_WORDS[content.audience],
    )


def _after(content: MapContent, bounds: list[float]) -> Markup:
    places, still = content.places, still_map(content, bounds)
    told = (*places.statements, *content.hotspots.statements, *content.notes)
    return joined(
        [
            fill('<p id="said" role="status" aria-live="polite"></p>{still}</section>', still=still),
            fill("{legend}</div>", legend=legend(content.audience)),
            sentences("Before you act on this map", CAUTIONS, element_id="cautions"),
            hotspot_table(content.hotspots.table),
            nest_table(places.nests) if content.audience == "team" else cell_table(places.cells),
            sentences("About the data", told, element_id="data-notes"),
            fill("</main><footer><p>Map drawing: Leaflet 1.9.4, BSD 2-Clause licence.</p></footer>"),
        ]
    )
