"""Counts of records in fixed 10 km squares, for places that are not shown to everybody."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import Transformer

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

CELL_KM = 10
"""Side of a square (a stated convention; the square keeps its area everywhere, its shape near 30 degrees latitude)."""

LEAST_RECORDS = 3
"""A square with fewer records than this is not shown (common practice, no source)."""

WORDS = ("nests", "crossings")
"""What squares count, in the order of a page."""

EQUAL_AREA_GRID = "EPSG:6933"
"""One world-wide grid, fixed for ever: squares that followed the data would shift between releases and give places
away. Its squares are upright rectangles on a web map."""


def squares_of(records: pd.DataFrame) -> NDArray[np.object_]:
    """
    Name the square of each of (n,) records by its column and row in the grid; None for a record without a place.

    Source
    ------
    brodzik2012
    """
    places = np.column_stack(_grid_place(records))
    named = [None if np.isnan(place).any() else f"{int(place[0])} {int(place[1])}" for place in places]
    return np.array(named, dtype=object)


def square_cells(
    squares: Sequence[str], *, what: Sequence[str], records: Sequence[int], months: Sequence[str]
) -> gpd.GeoDataFrame:
    """
    Draw squares, ordered by what they hold and then by the grid.

    Parameters
    ----------
    squares
        (n,) names by :func:`squares_of`.
    what, records, months
        (n,) word for the records, how many they are, and which months matter.

    Returns
    -------
    (n,) polygons in EPSG:4326 with ``what records months``.
    """
    table = pd.DataFrame({"what": list(what), "records": np.array(records, dtype=np.int64), "months": list(months)})
    places = [tuple(map(int, name.split())) for name in squares]
    drawn = gpd.GeoSeries([_square(*place) for place in places], crs="EPSG:4326")
    cells = gpd.GeoDataFrame(table, geometry=drawn, crs="EPSG:4326")
    order = sorted(range(len(places)), key=lambda k: (WORDS.index(what[k]) if what[k] in WORDS else 2, places[k]))
    return cells.iloc[order].reset_index(drop=True)


def _grid_place(records: pd.DataFrame) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    to_grid = Transformer.from_crs("EPSG:4326", EQUAL_AREA_GRID, always_xy=True)
    longitude = records["longitude"].to_numpy(dtype=float)
    latitude = records["latitude"].to_numpy(dtype=float)
    x_m, y_m = to_grid.transform(longitude, latitude)
    side_m = CELL_KM * 1000.0
    places = np.floor(np.array([x_m, y_m], dtype=float) / side_m)
    places[~np.isfinite(places)] = np.nan
    return places[0], places[1]


def _square(column: int, row: int) -> shapely.Polygon:
    from_grid = Transformer.from_crs(EQUAL_AREA_GRID, "EPSG:4326", always_xy=True)
    side_m = CELL_KM * 1000.0
    west, south = from_grid.transform(column * side_m, row * side_m)
    east, north = from_grid.transform((column + 1) * side_m, (row + 1) * side_m)
    square: shapely.Polygon = shapely.box(west, south, east, north)
    return square
