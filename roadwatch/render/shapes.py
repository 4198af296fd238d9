"""Points, lines and polygons as compact data."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from roadwatch.render.packing import steps_between

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd


def in_degrees(layer: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """The layer in longitude and latitude on WGS 84; one without a reference system is taken to be so already."""
    if layer.active_geometry_name is None or layer.crs is None:
        return layer
    return layer.to_crs("EPSG:4326")


def shapes(layer: gpd.GeoDataFrame, *, names: Sequence[str]) -> dict[str, object]:
    """
    The parts of a layer.

    Parameters
    ----------
    layer
        Points, lines and polygons in any CRS; missing and empty ones are passed over.
    names
        What each row is called.

    Returns
    -------
    ``names`` by row, and for each part its ``row``, its ``kind`` (0 point, 1 line, 2 polygon) and its ``rings`` of
    places, each as :func:`roadwatch.render.packing.steps_between` counts them.
    """
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
        "rings": [[steps_between(shapely.get_coordinates(ring)).tolist() for ring in _rings(part)] for part in parts],
    }


def _rings(part: shapely.Geometry) -> Sequence[shapely.Geometry]:
    if isinstance(part, shapely.Polygon):
        return [part.exterior, *part.interiors]
    return [part]
