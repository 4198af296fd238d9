"""GeoPackages and shapefiles: every layer becomes a table of rows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from roadwatch.records.readers.content import name_of
from roadwatch.records.readers.features import crs_of, feature_table
from roadwatch.records.readers.gdal import VectorLayer, list_layers, read_vector
from roadwatch.records.readers.geopackages import look_over_geopackage
from roadwatch.records.readers.limits import MOST_TABLES
from roadwatch.records.readers.numbers import number_text
from roadwatch.records.readers.shapefiles import Shapefile, shapefiles_in_zip, single_shapefile
from roadwatch.records.readers.wording import counted, unfit

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from roadwatch.records.tables import RawTable


def read_geopackage(path: Path) -> list[RawTable]:
    """
    Read all layers and plain tables of a GeoPackage that hold rows; lines are feature numbers.

    Raises
    ------
    UnfitFileError
        It is damaged, computes its layers, holds no rows, or a layer with places has no reference system.
    """
    source = name_of(path)
    look_over_geopackage(path)
    names = [name for name, _ in list_layers(str(path), source=source)]
    if len(names) > MOST_TABLES:
        raise unfit(
            source, found=counted(len(names), "layer"), expected=f"at most {MOST_TABLES}", cure="export those meant"
        )
    tables = [_read_layer(str(path), name, source=f"{source}, layer {name}") for name in names]
    filled = [table for table in tables if table is not None]
    if not filled:
        raise unfit(
            source,
            found=f"{counted(len(names), 'layer')} and no rows",
            expected="at least one feature",
            cure="check what was selected when it was exported",
        )
    return filled


def read_zipped_shapefiles(path: Path) -> list[RawTable]:
    """
    Read every shapefile in a zip archive, in whatever folder of it.

    Raises
    ------
    UnfitFileError
        The archive is damaged, too large, or holds something else.
    """
    return _read_shapefiles(shapefiles_in_zip(path), source=name_of(path))


def read_shapefile(path: Path) -> list[RawTable]:
    """
    Read a shapefile that lies beside its .shx, .dbf and .prj.

    Raises
    ------
    UnfitFileError
        It is cut short, or a companion file is missing.
    """
    return _read_shapefiles([single_shapefile(path)], source=name_of(path))


def _read_shapefiles(shapefiles: Sequence[Shapefile], *, source: str) -> list[RawTable]:
    tables = [_read_layer(shapefile.dataset, None, source=shapefile.source) for shapefile in shapefiles]
    filled = [table for table in tables if table is not None]
    if not filled:
        raise unfit(source, found="no features", expected="at least one", cure="check what was selected on export")
    return filled


def _read_layer(dataset: str, name: str | None, *, source: str) -> RawTable | None:
    layer = read_vector(dataset, layer=name, source=source)
    return _layer_table(layer, source=source) if len(layer.numbers) else None


def _layer_table(layer: VectorLayer, *, source: str) -> RawTable:
    geometries = np.full(len(layer.numbers), None, dtype=object)
    if layer.wkb is not None:
        geometries = np.asarray(shapely.from_wkb(layer.wkb, on_invalid="ignore"), dtype=object)
    return feature_table(
        source,
        geometries,
        {name: _cells(values) for name, values in layer.columns.items()},
        crs=crs_of(layer.crs),
        lines=layer.numbers,
        notes=layer.notes,
    )


def _cells(values: NDArray[np.generic]) -> list[str | None]:
    """Values of one field as text: whole numbers without a point, dates and times in ISO 8601."""
    if values.dtype.kind == "b":
        return ["true" if value else "false" for value in values]
    if values.dtype.kind in "iu":
        return [str(value) for value in values.tolist()]
    if values.dtype.kind == "f":
        return [number_text(value) for value in values.astype(np.float64).tolist()]
    if values.dtype.kind == "M":
        return [None if text == "NaT" else text for text in np.datetime_as_string(values.astype("datetime64")).tolist()]
    return [_object_cell(value) for value in values.tolist()]


def _object_cell(value: object) -> str | None:
    if value is None:
        return None
    if isinstance(value, float):
        return number_text(value)
    if isinstance(value, bytes):
        return value.hex()
    return str(value).replace("\x00", "").strip() or None
