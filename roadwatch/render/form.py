"""The field form: one HTML file for a phone, with the county's roads in it, that needs no signal and sends nothing."""

from __future__ import annotations

import hashlib
from base64 import b64encode
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from markupsafe import Markup

from roadwatch.errors import RoadwatchError
from roadwatch.records.fields import CONFIDENCE_WORDS, DEFAULT_POSITION_ERROR_M, fields_of
from roadwatch.render.form_words import form_words
from roadwatch.render.safe_text import data_block, fill
from roadwatch.render.vendored import own_text

if TYPE_CHECKING:
    from collections.abc import Mapping

    import geopandas as gpd
    from numpy.typing import NDArray

    from roadwatch.records.fields import Kind

SCRIPTS = (
    "form_page.js",
    "form_moment.js",
    "form_storage.js",
    "form_evidence.js",
    "form_naming.js",
    "form_questions.js",
    "form_position.js",
    "form_track.js",
    "form_round.js",
    "form_archive.js",
    "form_workbook.js",
    "form_map.js",
    "form_map_drawing.js",
    "form_fields.js",
    "form_place.js",
    "form_identify.js",
    "form_crossing.js",
    "form_nest.js",
    "form_round_map.js",
    "form_check.js",
    "form_search.js",
    "form_records.js",
    "form_home.js",
    "form_main.js",
)
"""The page's code in the order in which it is put together; one idea a file."""

STEPS_PER_DEGREE = 100_000
"""Places are kept to 0.00001 degree, about 1 m."""
ROADS_WITHIN_DEGREE = 0.00002
"""Bends finer than about 2 m are left out of the drawn roads; records keep the phone's own position."""
WATER_WITHIN_DEGREE = 0.0001
FORM_KINDS: tuple[Kind, ...] = ("nests", "searches", "crossings", "checks")
"""In the order in which the exported file holds them: a check follows its nest."""

_DOCUMENT = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<meta name="color-scheme" content="light dark">
<title>{title}</title>
<style>{style}</style>
</head>
<body>
<header id="top"><p class="title">{title}</p><div id="languages"></div></header>
<main id="screen" tabindex="-1">
<noscript><h1>{title}</h1><p lang="en">{no_script_en}</p><p lang="es">{no_script_es}</p></noscript>
</main>
<p id="said" role="status" aria-live="polite"></p>
{data}
<script>{script}</script>
</body>
</html>
"""


@dataclass(frozen=True)
class FormContent:
    """
    What a field form holds. No record and no nest is among it, so that the file may lie on an open host.

    Parameters
    ----------
    title
        Heading; records of forms of one title are kept together in a browser.
    roads
        Lines with a column ``road``, in any reference system.
    water
        Lines and areas for orientation.
    identification
        Tables of identification as plain data.
    """

    title: str
    roads: gpd.GeoDataFrame
    water: gpd.GeoDataFrame
    identification: Mapping[str, object]


def field_form(content: FormContent) -> str:
    """
    Write the field form.

    Parameters
    ----------
    content
        What it holds.

    Returns
    -------
    HTML of one self-contained file; its policy allows no request. Equal content gives equal text.

    Raises
    ------
    RoadwatchError
        A part of the page holds an end tag of its own.

    Source
    ------
    wcag22, csp3
    """
    script = "\n".join(own_text(name) for name in SCRIPTS)
    style = own_text("form.css")
    for tag, text in (("script", script), ("style", style)):
        if f"</{tag}" in text.lower():
            raise RoadwatchError(f"a {tag} of the form holds its own end tag; it must not be written into a page")
    words = form_words()
    return str(
        fill(
            _DOCUMENT,
            policy=_policy(script=script, style=style),
            title=content.title,
            style=Markup(style),  # noqa: S704  # a style of ours
            no_script_en=words["en"]["no_script"],
            no_script_es=words["es"]["no_script"],
            data=data_block(_data(content), element_id="form-data"),
            script=Markup(script),  # noqa: S704  # code of ours
        )
    )


def _policy(*, script: str, style: str) -> str:
    """Only this script and style, and no request at all."""
    return (
        f"default-src 'none'; connect-src 'none'; script-src {_hash(script)}; style-src {_hash(style)}; "
        "base-uri 'none'; form-action 'none'"
    )


def _hash(text: str) -> str:
    return f"'sha256-{b64encode(hashlib.sha256(text.encode('utf-8')).digest()).decode('ascii')}'"


def _data(content: FormContent) -> dict[str, object]:
    return {
        "title": content.title,
        "words": form_words(),
        "identification": content.identification,
        "map": {"bounds": _bounds(content.roads), "roads": _roads(content.roads), "water": _water(content.water)},
        "columns": {kind: list(fields_of(kind)) for kind in FORM_KINDS},
        "choices": {
            kind: {name: list(field.choices) for name, field in fields_of(kind).items() if field.choices}
            for kind in FORM_KINDS
        },
        "confidence_words": list(CONFIDENCE_WORDS),
        "usual_position_error_m": DEFAULT_POSITION_ERROR_M,
    }


def _in_degrees(layer: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    if layer.active_geometry_name is None or layer.crs is None:
        return layer
    return layer.to_crs("EPSG:4326")


def _bounds(roads: gpd.GeoDataFrame) -> list[float]:
    """West, south, east, north of the roads."""
    return [round(float(edge), 5) for edge in _in_degrees(roads).total_bounds]


def _roads(roads: gpd.GeoDataFrame) -> list[dict[str, object]]:
    """One entry a name, with its lines; roads without a name come last, under a blank one."""
    lines = _in_degrees(roads).geometry.to_numpy()
    names = roads["road"].astype(object).where(roads["road"].notna(), "").astype(str).to_numpy(dtype=object)
    by_name = {name: _drawn(lines[names == name], ROADS_WITHIN_DEGREE) for name in sorted(set(names))}
    blank = by_name.pop("", None)
    ordered = [*by_name.items(), *([("", blank)] if blank else [])]
    return [{"name": name, "lines": drawn} for name, drawn in ordered]


def _water(water: gpd.GeoDataFrame) -> dict[str, object]:
    if not len(water) or water.active_geometry_name is None:
        return {"lines": [], "areas": []}
    shapes = _in_degrees(water).geometry.to_numpy()
    dimension = shapely.get_dimensions(shapes)
    areas = shapely.get_parts(shapes[dimension == 2])
    return {
        "lines": _drawn(shapes[dimension == 1], WATER_WITHIN_DEGREE),
        "areas": _drawn(shapely.get_exterior_ring(areas), WATER_WITHIN_DEGREE),
    }


def _drawn(lines: NDArray[np.object_], within_degree: float) -> list[list[int]]:
    """Each line as longitude and latitude in turn, in steps; each pair but the first counts from the pair before."""
    parts = shapely.get_parts(lines[~(shapely.is_missing(lines) | shapely.is_empty(lines))])
    return [_deltas(shapely.get_coordinates(part)) for part in shapely.simplify(parts, within_degree)]


def _deltas(points: NDArray[np.float64]) -> list[int]:
    steps = np.rint(points * STEPS_PER_DEGREE).astype(np.int64)
    numbers: list[int] = np.diff(steps, axis=0, prepend=np.zeros((1, 2), dtype=np.int64)).ravel().tolist()
    return numbers
