"""Make a road layer fit to be noded: single lines in metres, with every column, nothing twice."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from roadwatch.errors import UnfitFileError
from roadwatch.records.fields import fields_of
from roadwatch.roads.projection import length_error_share, local_crs

if TYPE_CHECKING:
    from roadwatch.roads.arrays import BoolArray, TextArray

FURTHEST_DEG = 361.0
"""No longitude lies further out than this, not even counted eastward from Greenwich."""
SAME_PLACE_DECIMALS = 2
"""Lines that agree to a centimetre are the same line."""

LINE, RING, MULTI_LINE = (
    shapely.GeometryType.LINESTRING,
    shapely.GeometryType.LINEARRING,
    shapely.GeometryType.MULTILINESTRING,
)


def clean_roads(roads: gpd.GeoDataFrame) -> tuple[gpd.GeoDataFrame, list[str]]:
    """
    Take multi-part lines apart, drop heights, empty and repeated lines, and go over to local metres.

    Parameters
    ----------
    roads
        Road lines in any reference system, columns named as in the table of fields; missing ones are added blank.

    Returns
    -------
    (table, notes) Single lines in the local metric system with index 0..n-1, and what was found, with counts.

    Raises
    ------
    UnfitFileError
        The layer has no reference system, or no line is left in it.
    """
    _check_reference_system(roads)
    notes: list[str] = []
    lines = _single_lines(_with_all_columns(roads), notes)
    if lines.empty:
        raise UnfitFileError("road layer: no line was found in it; expected LineString or MultiLineString features")
    lines = lines.to_crs(local_crs(lines))
    _note_wide_layer(lines, notes)
    keep = shapely.length(lines.geometry.to_numpy()) > 0.0
    _note(notes, int((~keep).sum()), "of zero length, left out")
    lines = lines[keep]
    repeated = is_repeated(lines.geometry.to_numpy())
    _note(notes, int(repeated.sum()), "drawn twice at the same place, the first kept")
    lines = lines[~repeated].reset_index(drop=True)
    if lines.empty:
        raise UnfitFileError("road layer: no line in it has a length; expected roads")
    return lines, notes


def _check_reference_system(roads: gpd.GeoDataFrame) -> None:
    """Refuse a layer without a reference system, or whose coordinates cannot be the degrees it says they are."""
    if roads.crs is None:
        raise UnfitFileError(
            "road layer: it states no reference system (CRS); set the one its source names, or export it with one"
        )
    furthest = np.abs(roads.total_bounds).max() if len(roads) else 0.0
    if roads.crs.is_geographic and furthest > FURTHEST_DEG:
        raise UnfitFileError(
            f"road layer: it says that its coordinates are degrees ({roads.crs.name}), but they reach {furthest:.0f}; "
            "set the reference system that its source names"
        )


def is_repeated(lines: TextArray) -> BoolArray:
    """
    Mark each line that an earlier one repeats, in either direction, to a centimetre.

    Parameters
    ----------
    lines
        (n,) LineStrings in metres.
    """
    rounded = shapely.transform(lines, lambda xy: np.round(xy, SAME_PLACE_DECIMALS) + 0.0)
    shape = pd.Series(shapely.to_wkb(shapely.normalize(rounded)))
    return shape.duplicated().to_numpy(dtype=bool)


def _with_all_columns(roads: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """The columns of a road, in their order, missing ones blank; other columns are left behind."""
    table: dict[str, pd.Series] = {}
    for name, field in fields_of("roads").items():
        column = roads[name] if name in roads else pd.Series(None, index=roads.index, dtype=object)
        is_number = field.type in ("number", "integer")
        table[name] = pd.to_numeric(column, errors="coerce").astype(float) if is_number else column.astype(object)
    return gpd.GeoDataFrame(table, geometry=roads.geometry.to_numpy(), crs=roads.crs)


def _single_lines(roads: gpd.GeoDataFrame, notes: list[str]) -> gpd.GeoDataFrame:
    """Two-dimensional single lines; a line in several parts loses its measures, as their order is not known."""
    shapes = shapely.force_2d(roads.geometry.to_numpy())
    is_line = np.isin(shapely.get_type_id(shapes), (LINE, RING, MULTI_LINE))
    is_full = is_line & ~shapely.is_empty(shapes)
    _note(notes, int((~is_full).sum()), "empty or not a line, left out")
    _note(notes, int(shapely.has_z(roads.geometry.to_numpy()).sum()), "with heights, which are not used")
    shapes = shapes[is_full]
    is_multi = shapely.get_type_id(shapes) == MULTI_LINE
    shapes[is_multi] = shapely.line_merge(shapes[is_multi], directed=True)
    roads = roads[is_full].set_geometry(gpd.GeoSeries(shapes, index=roads.index[is_full], crs=roads.crs))
    in_parts = shapely.get_num_geometries(shapes) > 1
    roads.loc[in_parts, ["from_measure", "to_measure"]] = np.nan
    _note(notes, int(in_parts.sum()), "in several parts, taken apart; their measures are not used")
    return gpd.GeoDataFrame(roads.explode(ignore_index=True))


def _note_wide_layer(lines: gpd.GeoDataFrame, notes: list[str]) -> None:
    west, _, east, _ = lines.total_bounds
    share = length_error_share(max(abs(west), abs(east)))
    if share > 0.0004:
        notes.append(f"the layer is {(east - west) / 1000:.0f} km wide: lengths at its edge are {share:.2%} too long")


def _note(notes: list[str], count: int, what: str) -> None:
    if count:
        notes.append(f"road lines {what}: {count}")
