"""Each layer as compact data: places as whole numbers that count from the one before, texts told once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from roadwatch.render.choices import choices_of, sureness_percent
from roadwatch.render.hotspot_data import answers_data
from roadwatch.render.legend import CONDITIONS, MEASURES, NEST_STATES, Sign
from roadwatch.render.packing import pack_codes, pack_numbers, steps_between, text_columns
from roadwatch.render.saved import saved_data
from roadwatch.render.shapes import in_degrees, shapes
from roadwatch.render.words import MEASURE_LABELS, texts_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import geopandas as gpd
    import pandas as pd
    from numpy.typing import NDArray

    from roadwatch.render.content import MapContent

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
    places = content.places
    return {
        "bounds": _bounds(content),
        "within": {taxon.name: list(taxon.within) for taxon in choices_of(content).taxa},
        "roads": shapes(content.roads, names=texts_of(content.roads, "road", "name", otherwise="Unnamed road")),
        "water": shapes(content.water, names=texts_of(content.water, "name", otherwise="Water")),
        "protected": shapes(content.protected, names=texts_of(content.protected, "name", otherwise="Protected land")),
        "answers": answers_data(content),
        "crossings": {
            **_points(places.crossings, CROSSING_LABELS),
            "sign": pack_codes(_sign_index(places.crossings, "condition", CONDITIONS)),
        },
        "nests": {
            **_points(places.nests, NEST_LABELS),
            "sign": pack_codes(_sign_index(places.nests, "window_state", NEST_STATES)),
            "names": texts_of(places.nests, "nest_id", otherwise="without id"),
        },
        "cells": _cells(places.cells),
        "measures": {
            **shapes(content.measures, names=["Measure"] * len(content.measures)),
            "sign": pack_codes(_sign_index(content.measures, "kind", MEASURES)),
            "columns": text_columns(content.measures, MEASURE_LABELS),
        },
        "saved": saved_data(content.drawn),
    }


def _bounds(content: MapContent) -> list[float]:
    """West, south, east, north of the roads, or of whatever else there is; the whole world when there is nothing."""
    for layer in (content.roads, content.hotspots.table, content.places.crossings, content.places.cells, content.water):
        if len(layer) and not layer.geometry.is_empty.all():
            return [round(float(edge), 5) for edge in in_degrees(layer).total_bounds]
    return [-180.0, -60.0, 180.0, 75.0]


def _points(table: gpd.GeoDataFrame, labels: Mapping[str, str]) -> dict[str, object]:
    """Places and texts of records; what is said of sureness also as a number, to choose by."""
    columns = text_columns(table, labels)
    for column in columns:
        if column["key"] == "id_confidence":
            column["percent"] = [sureness_percent(str(text)) for text in _list(column["texts"])]
    return {
        "n": len(table),
        "at": pack_numbers(steps_between(shapely.get_coordinates(table.geometry.to_numpy()))),
        "columns": columns,
    }


def _list(texts: object) -> list[object]:
    return texts if isinstance(texts, list) else []


def _cells(cells: gpd.GeoDataFrame) -> dict[str, object]:
    return {
        "bounds": cells.geometry.bounds.round(5).to_numpy().tolist() if len(cells) else [],
        "records": cells["records"].astype(int).tolist(),
        "what": cells["what"].tolist(),
        "months": cells["months"].tolist(),
    }


def _sign_index(table: pd.DataFrame, column: str, signs: Sequence[Sign]) -> NDArray[np.int64]:
    """Which sign each row has; the last of them where its word is blank or not known."""
    places = {sign.key: index for index, sign in enumerate(signs)}
    otherwise = len(signs) - 1
    if column not in table.columns:
        return np.full(len(table), otherwise, dtype=np.int64)
    return table[column].map(places).fillna(otherwise).to_numpy().astype(np.int64)
