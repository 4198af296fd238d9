"""Hotspots as data for the page: one answer for each choice of year and taxon, and the curve along each road."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from roadwatch.render.legend import strength_of
from roadwatch.render.packing import steps_between, text_columns
from roadwatch.render.shapes import in_degrees, shapes
from roadwatch.render.words import HOTSPOT_LABELS, hotspot_title, shown_value

if TYPE_CHECKING:
    import geopandas as gpd
    from numpy.typing import NDArray

    from roadwatch.hotspots.road_curve import RoadCurve
    from roadwatch.render.content import MapContent

SIGNIFICANT_DIGITS = 3


def answers_data(content: MapContent) -> list[dict[str, object]]:
    """
    Every answer of a page; the first is that of all years and all turtles.

    Parameters
    ----------
    content
        What the page shows.

    Returns
    -------
    Dictionaries with ``year taxon note`` and the shapes, numbers and curves of the hotspots.
    """
    if not content.answers:
        return [{"year": None, "taxon": None, "note": "", "curves": [], **hotspots_data(content.hotspots.table)}]
    return [
        {
            "year": answer.year,
            "taxon": answer.taxon,
            "note": answer.note,
            "curves": [None if curve is None else curve_data(curve) for curve in answer.curves],
            **hotspots_data(answer.shown.table),
        }
        for answer in content.answers
    ]


def hotspots_data(table: gpd.GeoDataFrame) -> dict[str, object]:
    """Shapes, ranks, strengths and numbers in words of a ranked list of hotspots."""
    shown = pd.DataFrame({"shown_" + name: shown_value(table, name) for name in HOTSPOT_LABELS}, index=table.index)
    ratio = pd.to_numeric(table["ratio"]) if "ratio" in table.columns else pd.Series(np.nan, index=table.index)
    return {
        **shapes(table, names=[hotspot_title(row) for row in table.to_dict("records")]),
        "rank": [str(rank) for rank in table.get("rank", pd.Series(dtype=object)).tolist()],
        "middle": steps_between(_middles(table)).tolist(),
        "strength": [strength_of(float(value)) for value in ratio],
        "columns": text_columns(shown, {"shown_" + name: label for name, label in HOTSPOT_LABELS.items()}),
    }


def curve_data(curve: RoadCurve) -> dict[str, object]:
    """A curve along a road: whole metres, densities to three significant digits, None where nobody searched."""
    return {
        "road": curve.road,
        "at": np.rint(curve.road_m).astype(int).tolist(),
        "density": _rounded(curve.density),
        "expected": _rounded(curve.expected),
        "low": _rounded(curve.band_low),
        "high": _rounded(curve.band_high),
        "from": round(curve.from_m),
        "to": round(curve.to_m),
        "half": round(curve.half_width_m),
        "draws": int(curve.n_draws),
    }


def _rounded(values: NDArray[np.float64]) -> list[float | None]:
    return [float(f"{value:.{SIGNIFICANT_DIGITS}g}") if np.isfinite(value) else None for value in values]


def _middles(lines: gpd.GeoDataFrame) -> NDArray[np.float64]:
    """The place halfway along each line, where its rank is written."""
    longest = [max(shapely.get_parts(line), key=shapely.length) for line in in_degrees(lines).geometry]
    return shapely.get_coordinates(shapely.line_interpolate_point(longest, 0.5, normalized=True))
