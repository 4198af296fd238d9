"""Each layer as compact data: places as whole numbers that count from the one before, texts told once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from roadwatch.render.legend import CONDITIONS, MEASURES, NEST_STATES, Sign, strength_of
from roadwatch.render.words import HOTSPOT_LABELS, hotspot_title, shown_value, texts_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import geopandas as gpd
    from numpy.typing import NDArray

    from roadwatch.render.content import MapContent

STEPS_PER_DEGREE = 100_000
"""Places are kept to 0.00001 degree, about 1 m: finer than any hand-held receiver."""

CROSSING_LABELS = {
    "record_id": "Record",
    "observed_at": "Seen",
    "day": "Day",
    "taxon": "Taxon",
    "id_confidence": "Sureness of the name",
    "count": "Animals",
    "condition": "Condition",
    "life_stage": "Life stage",
    "position_error_m": "Position error, m",
    "observer": "Observer",
    "photo": "Photograph",
    "notes": "Notes",
}

NEST_LABELS = {
    "taxon": "Taxon",
    "id_confidence": "Sureness of the name",
    "found_at": "Found",
    "laid_from": "Laid from",
    "laid_to": "Laid to",
    "window_early": "Hatch, early",
    "window_likely": "Hatch, likely",
    "window_late": "Hatch, late",
    "window_state": "Window today",
    "window_p_hatched": "Chance that it has hatched",
    "window_sureness": "Sureness of the window",
    "window_basis": "Window from",
    "window_note": "On the window",
    "protected_on": "Cage since",
    "protected_off": "Cage off",
    "position_error_m": "Position error, m",
    "observer": "Found by",
    "notes": "Notes",
}

MEASURE_LABELS = {"kind": "Kind", "built_on": "Built", "removed_on": "Removed", "sides": "Sides of the road"}


def map_data(content: MapContent) -> dict[str, object]:
    """
    All layers of a page, ready for JSON.

    Parameters
    ----------
    content
        What the page shows.

    Returns
    -------
    Dictionary of plain lists, numbers and texts, by layer.
    """
    places, hotspots = content.places, content.hotspots.table
    return {
        "bounds": _bounds(content),
        "roads": _shapes(content.roads, names=texts_of(content.roads, "road", "name", otherwise="Unnamed road")),
        "water": _shapes(content.water, names=texts_of(content.water, "name", otherwise="Water")),
        "protected": _shapes(content.protected, names=texts_of(content.protected, "name", otherwise="Protected land")),
        "hotspots": _hotspots(hotspots),
        "crossings": {
            "at": _deltas(shapely.get_coordinates(places.crossings.geometry.to_numpy())),
            "sign": _sign_index(places.crossings, "condition", CONDITIONS, otherwise=len(CONDITIONS) - 1),
            "columns": _text_columns(places.crossings, CROSSING_LABELS),
        },
        "nests": {
            "at": _deltas(shapely.get_coordinates(places.nests.geometry.to_numpy())),
            "sign": _sign_index(places.nests, "window_state", NEST_STATES, otherwise=len(NEST_STATES) - 1),
            "names": texts_of(places.nests, "nest_id", otherwise="without id"),
            "columns": _text_columns(places.nests, NEST_LABELS),
        },
        "cells": _cells(places.cells),
        "measures": {
            **_shapes(content.measures, names=["Measure"] * len(content.measures)),
            "sign": _sign_index(content.measures, "kind", MEASURES, otherwise=len(MEASURES) - 1),
            "columns": _text_columns(content.measures, MEASURE_LABELS),
        },
    }


def in_degrees(layer: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """The layer in longitude and latitude on WGS 84; one without a reference system is taken to be so already."""
    if layer.active_geometry_name is None or layer.crs is None:
        return layer
    return layer.to_crs("EPSG:4326")


def _bounds(content: MapContent) -> list[float]:
    """West, south, east, north of the roads, or of whatever else there is; the whole world when there is nothing."""
    for layer in (content.roads, content.hotspots.table, content.places.crossings, content.places.cells, content.water):
        if len(layer) and not layer.geometry.is_empty.all():
            return [round(float(edge), 5) for edge in in_degrees(layer).total_bounds]
    return [-180.0, -60.0, 180.0, 75.0]


def _deltas(points: NDArray[np.float64]) -> list[int]:
    """Longitude and latitude in turn, in steps; each pair but the first counts from the pair before."""
    steps = np.rint(points * STEPS_PER_DEGREE).astype(np.int64)
    numbers: list[int] = np.diff(steps, axis=0, prepend=np.zeros((1, 2), dtype=np.int64)).ravel().tolist()
    return numbers


def _shapes(layer: gpd.GeoDataFrame, *, names: Sequence[str]) -> dict[str, object]:
    """Points, lines and polygons: for each part its row, the rings of its places, and its kind 0, 1 or 2."""
    if not len(layer):
        return {"names": [], "row": [], "kind": [], "rings": []}
    geometry = in_degrees(layer).geometry.to_numpy()
    parts, row = shapely.get_parts(geometry, return_index=True)
    sound = ~(shapely.is_missing(parts) | shapely.is_empty(parts))
    parts, row = parts[sound], row[sound]
    return {
        "names": list(names),
        "row": row.tolist(),
        "kind": np.maximum(shapely.get_dimensions(parts), 0).tolist(),
        "rings": [[_deltas(shapely.get_coordinates(ring)) for ring in _rings(part)] for part in parts],
    }


def _rings(part: shapely.Geometry) -> Sequence[shapely.Geometry]:
    if isinstance(part, shapely.Polygon):
        return [part.exterior, *part.interiors]
    return [part]


def _hotspots(table: gpd.GeoDataFrame) -> dict[str, object]:
    labels = {"shown_" + name: label for name, label in HOTSPOT_LABELS.items()}
    shown = pd.DataFrame({"shown_" + name: shown_value(table, name) for name in HOTSPOT_LABELS}, index=table.index)
    ratio = pd.to_numeric(table["ratio"]) if "ratio" in table.columns else pd.Series(np.nan, index=table.index)
    return {
        **_shapes(table, names=[hotspot_title(row) for row in table.to_dict("records")]),
        "rank": [str(rank) for rank in table.get("rank", pd.Series(dtype=object)).tolist()],
        "middle": _deltas(_middles(table)),
        "strength": [strength_of(float(value)) for value in ratio],
        "columns": _text_columns(shown, labels),
    }


def _middles(lines: gpd.GeoDataFrame) -> NDArray[np.float64]:
    """The place halfway along each line, where its rank is written."""
    longest = [max(shapely.get_parts(line), key=shapely.length) for line in in_degrees(lines).geometry]
    return shapely.get_coordinates(shapely.line_interpolate_point(longest, 0.5, normalized=True))


def _cells(cells: gpd.GeoDataFrame) -> dict[str, object]:
    return {
        "bounds": cells.geometry.bounds.round(5).to_numpy().tolist() if len(cells) else [],
        "records": cells["records"].astype(int).tolist(),
        "what": cells["what"].tolist(),
        "months": cells["months"].tolist(),
    }


def _sign_index(table: pd.DataFrame, column: str, signs: Sequence[Sign], *, otherwise: int) -> list[int]:
    places = {sign.key: index for index, sign in enumerate(signs)}
    if column not in table.columns:
        return [otherwise] * len(table)
    return [places.get(str(word), otherwise) for word in table[column]]


def _text_columns(table: pd.DataFrame, labels: Mapping[str, str]) -> list[dict[str, object]]:
    """Each column as its different texts and, for every row, which of them it has (-1 for none)."""
    columns: list[dict[str, object]] = []
    for name, label in labels.items():
        texts = shown_value(table, name) if name in table.columns else []
        codes, different = pd.factorize(pd.Series(texts, dtype=object).replace("", None))
        if len(different):
            columns.append({"label": label, "texts": list(different), "codes": codes.tolist()})
    return columns
