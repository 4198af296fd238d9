"""The signs of the map, once: what each means, its shape and its colour, in words and as drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from roadwatch.render.safe_text import fill, joined

if TYPE_CHECKING:
    from collections.abc import Sequence

    from markupsafe import Markup

    from roadwatch.share.masking import Audience

# fmt: off
Shape = Literal[
    "circle", "triangle", "square", "diamond", "egg", "dashed egg", "line", "dashed", "cased", "post", "stop", "area",
    "cell",
]
# fmt: on

INK = "#1d2a2b"
"""Casing of every sign: pale colours alone would not stand out from the paper (WCAG 2.2, 1.4.11)."""


@dataclass(frozen=True)
class Sign:
    """One sign of the map: its key in the data, its words in the legend, its shape, colour and width in pixels."""

    key: str
    words: str
    shape: Shape
    colour: str
    width: float = 2.0


CONDITIONS = (
    Sign("alive", "Crossing, alive", "circle", "#56b4e9"),
    Sign("injured", "Crossing, injured", "triangle", "#f0e442"),
    Sign("dead", "Crossing, dead", "square", "#d55e00"),
    Sign("unknown", "Crossing, condition unknown", "diamond", "#ffffff"),
)
"""Told apart by shape and by colour (Okabe & Ito's palette)."""

NEST_STATES = (
    Sign("not yet", "Nest, window still ahead", "egg", "#ffffff"),
    Sign("open", "Nest, window open now", "egg", "#cc79a7"),
    Sign("over", "Nest, window over", "egg", "#8f9a98"),
    Sign("none", "Nest without a window", "dashed egg", "#f3efe4"),
)

STRENGTHS = (
    Sign("0", "less than 2 times the expected", "line", "#fee838", 9),
    Sign("2", "2 to 3 times", "line", "#bbad6d", 10),
    Sign("3", "3 to 5 times", "line", "#7c7b78", 11),
    Sign("5", "5 to 10 times", "line", "#424e6c", 12),
    Sign("10", "10 times or more", "line", "#00224e", 13),
)
"""Reversed cividis at 0, 1/4, 1/2, 3/4 and 1: dark is strong; width says it again. ``key`` is the lower bound."""

ALL_RECORDS = Sign("all records", "of all records, where none was computed for the choice", "dashed", "#6b7573", 8)
"""Hotspots that do not answer what a reader chose."""

UNKNOWN_STRENGTH = Sign("unknown", "strength not known", "line", "#ffffff", 9)

MEASURES = (
    Sign("fence", "Fence", "dashed", "#1d2a2b", 4),
    Sign("sign", "Sign", "diamond", "#1d2a2b"),
    Sign("passage", "Passage under or over the road", "square", "#1d2a2b"),
    Sign("speed", "Speed measure", "circle", "#1d2a2b"),
    Sign("other", "Other measure", "triangle", "#1d2a2b"),
)

SAVED = (
    Sign("fence runs", "Saved fence run", "cased", "#009e73", 3),
    Sign("signs", "Saved sign", "post", "#e69f00"),
    Sign("rounds", "Saved round: stops of a day in their order", "stop", "#0072b2"),
)
"""Results saved to a file and drawn on the map by wish (Okabe & Ito's palette)."""

CELL = Sign("cell", "Number of records in a square of 10 km; their places are not shown", "cell", "#7a4b8a")

BACKGROUND = (
    Sign("roads", "Road", "line", "#8a8272", 2),
    Sign("water", "Water and wetland", "area", "#b9d5dc"),
    Sign("protected", "Protected land", "area", "#d3dfbf"),
)

LAYER_NAMES = {
    "protected": "Protected land",
    "water": "Water and wetland",
    "roads": "Roads",
    "measures": "Measures built",
    "hotspots": "Hotspots",
    "crossings": "Crossings",
    "cells": "Masked records, by square",
    "nests": "Nests",
}
"""What the layer switch calls each layer, from the bottom to the top."""

TRAFFIC_CAUTION = (
    "Traffic first. Park clear of the carriageway, wear high-visibility clothing, face the traffic, take a spotter "
    "along, and never step into a live lane for an animal or a record."
)
NEST_CAUTION = (
    "Nests: do not dig, probe, uncover or move eggs. A window is a projection; a clutch may come earlier, later or "
    "not at all, and no hole does not mean a failed nest."
)
STATISTICS_CAUTION = (
    "The statistics show where more animals were recorded than expected. They do not show why, nor what would help."
)
LAW_CAUTION = (
    "Local codes and licensed practice decide: work on or beside a road, handling, opening nests, signs and fences "
    "need the leave of the road agency and of the wildlife authority."
)
CAUTIONS = (TRAFFIC_CAUTION, NEST_CAUTION, STATISTICS_CAUTION, LAW_CAUTION)


def strength_of(ratio: float) -> int:
    """
    Index in :data:`STRENGTHS` of a ratio of rates, or -1 where it is not known.

    >>> [strength_of(ratio) for ratio in (0.5, 2.0, 4.9, 10.0, float("nan"))]
    [0, 1, 2, 4, -1]
    """
    return sum(ratio >= float(sign.key) for sign in STRENGTHS) - 1


def swatch(sign: Sign) -> Markup:
    """Draw a sign as a small picture for the legend."""
    return fill(
        '<svg class="swatch" viewBox="0 0 32 20" width="32" height="20" aria-hidden="true">{drawing}</svg>',
        drawing=_drawing(sign),
    )


POST = "M1 1H17V11H10.5V18H7.5V11H1Z"
"""Outline of a plate on a post, 18 pixels wide and high."""

_SHAPES: dict[Shape, str] = {
    "circle": '<circle cx="16" cy="10" r="5.5" fill="{colour}" stroke="{ink}" stroke-width="1.5"/>',
    "square": '<rect x="11" y="5" width="10" height="10" fill="{colour}" stroke="{ink}" stroke-width="1.5"/>',
    "triangle": '<path d="M16 3.5L22.5 15.5H9.5Z" fill="{colour}" stroke="{ink}" stroke-width="1.5"/>',
    "diamond": '<path d="M16 3L23 10L16 17L9 10Z" fill="{colour}" stroke="{ink}" stroke-width="1.5"/>',
    "egg": '<ellipse cx="16" cy="10" rx="5.5" ry="7.5" fill="{colour}" stroke="{ink}" stroke-width="2"/>',
    "dashed egg": '<ellipse cx="16" cy="10" rx="5.5" ry="7.5" fill="{colour}" stroke="{ink}" stroke-width="2" '
    'stroke-dasharray="4 3"/>',
    "line": '<path d="M3 10H29" stroke="{ink}" stroke-width="{casing}"/>'
    '<path d="M3 10H29" stroke="{colour}" stroke-width="{width}"/>',
    "dashed": '<path d="M3 10H29" stroke="{colour}" stroke-width="{width}" stroke-dasharray="6 3"/>',
    "cased": '<path d="M3 10H29" stroke="{ink}" stroke-width="7"/><path d="M3 10H29" stroke="{colour}" '
    'stroke-width="3.5" stroke-dasharray="9 2"/>',
    "post": '<path d="{post}" transform="translate(7 1)" fill="{colour}" stroke="{ink}" stroke-width="1.5"/>',
    "stop": '<path d="M2 10H30" stroke="{colour}" stroke-width="2" stroke-dasharray="2 3"/>'
    '<circle cx="16" cy="10" r="8" fill="#ffffff" stroke="{colour}" stroke-width="2"/>'
    '<text x="16" y="13.5" font-size="10" font-family="sans-serif" text-anchor="middle" fill="{ink}">1</text>',
    "area": '<rect x="4" y="3" width="24" height="14" fill="{colour}" stroke="#6f7f76" stroke-width="1"/>',
    "cell": '<rect x="5" y="2" width="22" height="16" fill="{colour}" fill-opacity=".18" stroke="{colour}" '
    'stroke-width="2" stroke-dasharray="4 3"/>',
}


def _drawing(sign: Sign) -> Markup:
    cased = sign in (*STRENGTHS, UNKNOWN_STRENGTH)
    width = sign.width - 3 if cased else sign.width
    return fill(
        _SHAPES[sign.shape], colour=sign.colour, ink=INK, post=POST, width=width, casing=width + 3 if cased else 0
    )


def legend(audience: Audience, saved: Sequence[Sign] = ()) -> Markup:
    """The signs in words, by layer; the public has squares where the team has nests; saved results where drawn."""
    groups = [
        ("Hotspots, numbered by rank", (*STRENGTHS, UNKNOWN_STRENGTH, ALL_RECORDS)),
        ("Crossings", CONDITIONS),
        *([("Nests", NEST_STATES)] if audience == "team" else [("Nests and sensitive animals", (CELL,))]),
        ("Measures built", MEASURES),
        *([("Saved results", saved)] if saved else []),
        ("Land", BACKGROUND),
    ]
    return fill(
        '<section class="legend" aria-labelledby="legend-heading"><h2 id="legend-heading">What the signs mean</h2>'
        "{groups}</section>",
        groups=joined(_group(title, signs) for title, signs in groups),
    )


def _group(title: str, signs: Sequence[Sign]) -> Markup:
    rows = joined(fill("<li>{swatch} {words}</li>", swatch=swatch(sign), words=sign.words) for sign in signs)
    return fill("<h3>{title}</h3><ul>{rows}</ul>", title=title, rows=rows)


def sentences(heading: str, texts: Sequence[str], *, element_id: str) -> Markup:
    """A section with a list of sentences: cautions, or notes on the data."""
    rows = joined(fill("<li>{text}</li>", text=text) for text in texts)
    return fill(
        '<section id="{element_id}" class="sentences"><h2>{heading}</h2><ul>{rows}</ul></section>',
        element_id=element_id,
        heading=heading,
        rows=rows,
    )
