"""Counts of records in fixed 10 km squares, for places that are not shown to everybody."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import Transformer

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

CELL_KM = 10
"""Side of a square (a stated convention; the square keeps its area everywhere, its shape near 30 degrees latitude)."""

LEAST_RECORDS = 3
"""A square with fewer records than this is not shown (common practice, no source)."""

EQUAL_AREA_GRID = "EPSG:6933"
"""One world-wide grid, fixed for ever: squares that followed the data would shift between releases and give places
away. Its squares are upright rectangles on a web map."""


@dataclass(frozen=True)
class GridCounts:
    """Squares with enough records (EPSG:4326; columns ``what records months``) and how many records lie elsewhere."""

    cells: gpd.GeoDataFrame
    n_withheld: int


def grid_counts(records: pd.DataFrame, *, what: str, months: Callable[[pd.DataFrame], str] | None = None) -> GridCounts:
    """
    Count records per 10 km square and leave out the squares that hold fewer than three.

    Parameters
    ----------
    records
        Table with ``longitude`` and ``latitude``. A record without a place is withheld.
    what
        Word for the records, kept in the column ``what``.
    months
        Says for the records of one square which months matter; None leaves the column blank.

    Returns
    -------
    Squares in the order of the grid, and the number of records in none of them.

    Source
    ------
    brodzik2012
    """
    column, row = _grid_place(records)
    placed = records.assign(grid_column=column, grid_row=row).dropna(subset=["grid_column", "grid_row"])
    groups = [group for _, group in placed.groupby(["grid_column", "grid_row"], sort=True)]
    shown = [group for group in groups if len(group) >= LEAST_RECORDS]
    table = pd.DataFrame(
        {
            "what": [what for _ in shown],
            "records": np.array([len(group) for group in shown], dtype=np.int64),
            "months": [months(group) if months else "" for group in shown],
        }
    )
    squares = [_square(group["grid_column"].iloc[0], group["grid_row"].iloc[0]) for group in shown]
    cells = gpd.GeoDataFrame(table, geometry=gpd.GeoSeries(squares, crs="EPSG:4326"), crs="EPSG:4326")
    return GridCounts(cells=cells, n_withheld=len(records) - int(table["records"].sum()))


def _grid_place(records: pd.DataFrame) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    to_grid = Transformer.from_crs("EPSG:4326", EQUAL_AREA_GRID, always_xy=True)
    longitude = records["longitude"].to_numpy(dtype=float)
    latitude = records["latitude"].to_numpy(dtype=float)
    x_m, y_m = to_grid.transform(longitude, latitude)
    side_m = CELL_KM * 1000.0
    places = np.floor(np.array([x_m, y_m], dtype=float) / side_m)
    places[~np.isfinite(places)] = np.nan
    return places[0], places[1]


def _square(column: float, row: float) -> shapely.Polygon:
    from_grid = Transformer.from_crs(EQUAL_AREA_GRID, "EPSG:4326", always_xy=True)
    side_m = CELL_KM * 1000.0
    west, south = from_grid.transform(column * side_m, row * side_m)
    east, north = from_grid.transform((column + 1) * side_m, (row + 1) * side_m)
    square: shapely.Polygon = shapely.box(west, south, east, north)
    return square
