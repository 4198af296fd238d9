"""A figure that carries everything it needs: no part of the page is fetched when it opens."""

from __future__ import annotations

import hashlib
from base64 import b64encode
from dataclasses import dataclass
from typing import TYPE_CHECKING

from branca.element import CssLink, Element, Figure, JavascriptLink
from markupsafe import Markup

from roadwatch.errors import RoadwatchError
from roadwatch.render.safe_text import fill
from roadwatch.render.vendored import leaflet_script, leaflet_style, own_text

if TYPE_CHECKING:
    from collections.abc import Sequence

CARRIED = {"leaflet", "leaflet_css"}
"""Links of the map maker that the page answers from its own copy."""

# fmt: off
SCRIPTS = (
    "map_data.js", "record_layer.js", "map_cards.js", "map_curve.js", "map_panel.js", "map_hotspots.js",
    "map_points.js", "map_saved.js", "map_tables.js", "map_choices.js", "map_filters.js", "season_map.js",
)
# fmt: on
"""The page's own code, in the order in which it is read; each file holds one idea."""

FIRST_SCRIPT = "map_live.js"

NOT_NEEDED = {
    "jquery",
    "bootstrap",
    "bootstrap_css",
    "awesome_markers",
    "awesome_markers_css",
    "awesome_markers_font_css",
    "awesome_rotate_css",
    "glyphicons_css",
}
"""Links of the map maker for parts that our pages do not use."""

_DOCUMENT = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>{title}</title>
{styles}
{first}
</head>
<body>
{before}
{map}
{after}
{data}
{scripts}
</body>
</html>
"""


@dataclass(frozen=True)
class PageParts:
    """
    What stands around the map: title, HTML before and after it, and the data block its code reads.

    ``pictures_from`` is the one host that may be asked for background pictures, or blank.
    """

    title: str
    before: Markup
    after: Markup
    data: Markup
    pictures_from: str = ""


class OfflineFigure(Figure):
    """
    A folium figure whose page asks for nothing and runs only the code it was written with.

    Parameters
    ----------
    parts
        What stands around the map.
    """

    def __init__(self, parts: PageParts) -> None:
        super().__init__()
        self.parts = parts

    def render(self, **kwargs: object) -> str:
        """
        Write the whole page.

        Returns
        -------
        HTML with styles, code and data inside, and a policy that allows only these.

        Raises
        ------
        RoadwatchError
            An element wants a link that the page does not carry.
        """
        for child in self._children.values():
            child.render(**kwargs)
        _refuse_links(self.header)
        styles = [leaflet_style(), own_text("page.css"), own_text("map_controls.css")]
        first = [own_text(FIRST_SCRIPT)]
        own = [own_text(name) for name in SCRIPTS]
        scripts = [leaflet_script(), *own, str(self.script.render(**kwargs))]
        return str(
            fill(
                _DOCUMENT,
                policy=_policy(scripts=[*first, *scripts], styles=styles, pictures_from=self.parts.pictures_from),
                title=self.parts.title,
                styles=_inline("style", styles),
                first=_inline("script", first),
                before=self.parts.before,
                map=Markup(self.html.render(**kwargs)),  # noqa: S704  # a div with our own id
                after=self.parts.after,
                data=self.parts.data,
                scripts=_inline("script", scripts),
            )
        )


def _refuse_links(header: Element) -> None:
    """Links are answered by name; a name nobody knows would be a request, so it stops the page."""
    for name, element in header._children.items():  # branca offers no other way to its children
        if isinstance(element, JavascriptLink | CssLink) and name not in CARRIED | NOT_NEEDED:
            raise RoadwatchError(
                f"the page would fetch '{name}' from {element.url}; carry it inside the package or do not use it"
            )


def _inline(tag: str, texts: Sequence[str]) -> Markup:
    for text in texts:
        if f"</{tag}" in text.lower():
            raise RoadwatchError(f"a {tag} of the page holds its own end tag; it must not be written into a page")
    return Markup("\n").join(Markup(f"<{tag}>{text}</{tag}>") for text in texts)  # noqa: S704  # code of ours


def _policy(*, scripts: Sequence[str], styles: Sequence[str], pictures_from: str) -> str:
    """Only these scripts and styles, pictures from inside the page and from the one host allowed, no other request."""
    host = f" https://{pictures_from}" if pictures_from else ""
    return (
        f"default-src 'none'; script-src {_hashes(scripts)}; style-src {_hashes(styles)}; "
        f"img-src data:{host}; base-uri 'none'; form-action 'none'"
    )


def _hashes(texts: Sequence[str]) -> str:
    digests = (hashlib.sha256(text.encode("utf-8")).digest() for text in texts)
    return " ".join(f"'sha256-{b64encode(digest).decode('ascii')}'" for digest in digests)
