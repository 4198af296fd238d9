"""Map layers (roads, water, protected land) from any vector format, in the reference system they come in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd
import shapely
from geopandas.geodataframe import GeoDataFrame

from roadwatch.records.readers.archives import kind_of_archive
from roadwatch.records.readers.content import name_of, read_bytes, recognise
from roadwatch.records.readers.features import crs_of, no_reference_system, refuse_beyond_degrees
from roadwatch.records.readers.gdal import VectorLayer, list_layers, read_vector
from roadwatch.records.readers.geojson import crs_of_document, load_geojson
from roadwatch.records.readers.geopackages import look_over_geopackage
from roadwatch.records.readers.kml_layers import read_kml_layer, read_kmz_layer
from roadwatch.records.readers.limits import LARGEST_JSON_MB, MOST_TABLES
from roadwatch.records.readers.shapefiles import shapefiles_in_zip, single_shapefile
from roadwatch.records.readers.wording import counted, unfit

if TYPE_CHECKING:
    from pathlib import Path

    import pyproj
    from numpy.typing import NDArray

    from roadwatch.records.readers.content import Format

Shape = Literal["line", "polygon", "point", "any"]

LAYER_FORMATS = "GeoJSON, GeoPackage, shapefile (zipped or bare), KML, KMZ or FlatGeobuf"

_SHAPE_OF_TYPE_ID = np.array(["point", "line", "line", "polygon", "point", "line", "polygon", "any"])
"""By shapely's type id: Point, LineString, LinearRing, Polygon, their multi forms, GeometryCollection."""


def read_layer(path: Path, *, geometry: Shape = "any", layer: str | None = None) -> GeoDataFrame:
    """
    Read one map layer.

    Parameters
    ----------
    path
        The file.
    geometry
        Shape that is needed; features of another shape are left out, with a note.
    layer
        Name of the layer, where the file holds several of that shape.

    Returns
    -------
    (features,) Flat geometries in the layer's own reference system, attributes as they are; what was found or left
    out stands in ``attrs["notes"]``, a tuple of text.

    Raises
    ------
    UsageError
        There is no such file.
    UnfitFileError
        The file is damaged or of another kind, the layer is empty, has no reference system, or has no feature of the
        needed shape; or several layers fit and none was named.
    """
    source = name_of(path)
    frames = [_frame_of(found, crs, source=source) for found, crs in _layers_of(path, layer)]
    fitting = [frame for frame in frames if len(_of_shape(frame, geometry))]
    if not fitting:
        raise _nothing_fits(frames, geometry, source=source)
    if len(fitting) > 1:
        names = ", ".join(str(frame.attrs["layer"]) for frame in fitting)
        raise unfit(
            source,
            found=f"several {_word(geometry)}layers ({names})",
            expected="one",
            cure="export the one layer that is meant",
        )
    return _checked(fitting, geometry, source=source)


def _layers_of(path: Path, layer: str | None) -> list[tuple[VectorLayer, pyproj.CRS | None]]:
    """Every layer of the file, or the one that is named, with its reference system."""
    source = name_of(path)
    kind = recognise(path)
    if kind == "json":
        document = load_geojson(read_bytes(path, largest_mb=LARGEST_JSON_MB), source=source)
        crs, notes = crs_of_document(document, source=source)
        found = read_vector(str(path), layer=None, source=source)
        return [(VectorLayer("", None, found.numbers, found.wkb, found.columns, (*notes, *found.notes)), crs)]
    if kind == "kml":
        found = read_kml_layer(path)
        return [(found, crs_of(found.crs))]
    if kind == "zip" and kind_of_archive(path) == "kmz":
        found = read_kmz_layer(path)
        return [(found, crs_of(found.crs))]
    named = [(dataset, *told) for dataset in _datasets(path, kind) for told in list_layers(dataset, source=source)]
    if len(named) > MOST_TABLES:
        raise unfit(source, found=counted(len(named), "layer"), expected=f"at most {MOST_TABLES}", cure="export one")
    found_layers = [
        read_vector(dataset, layer=name, source=source)
        for dataset, name, shape in named
        if shape is not None and layer in (None, name)
    ]
    return [(found, crs_of(found.crs)) for found in found_layers]


def _datasets(path: Path, kind: Format) -> list[str]:
    """The names under which GDAL opens a file that was looked over first."""
    if kind == "zip":
        return [shapefile.dataset for shapefile in shapefiles_in_zip(path)]
    if kind == "shapefile":
        return [single_shapefile(path).dataset]
    if kind == "geopackage":
        look_over_geopackage(path)
    if kind in ("geopackage", "flatgeobuf"):
        return [str(path)]
    raise unfit(name_of(path), found="no map layer", expected=LAYER_FORMATS, cure="export the layer in one of these")


def _frame_of(found: VectorLayer, crs: pyproj.CRS | None, *, source: str) -> GeoDataFrame:
    geometries = _geometries(found)
    frame = GeoDataFrame(
        {name: values for name, values in found.columns.items() if name != "geometry"},
        geometry=list(geometries),
        crs=crs,
    )
    if crs is not None and crs.is_geographic:
        refuse_beyond_degrees(geometries, source=source)
    frame.attrs = {"layer": found.name, "notes": found.notes}
    return frame


def _geometries(found: VectorLayer) -> NDArray[np.object_]:
    if found.wkb is None:
        return np.full(len(found.numbers), None, dtype=object)
    return np.asarray(shapely.from_wkb(found.wkb, on_invalid="ignore"), dtype=object)


def _of_shape(frame: GeoDataFrame, geometry: Shape) -> GeoDataFrame:
    shapes = frame.geometry.to_numpy()
    wanted = ~(shapely.is_missing(shapes) | shapely.is_empty(shapes))
    if geometry != "any":
        wanted &= _SHAPE_OF_TYPE_ID[shapely.get_type_id(shapes)] == geometry
    return GeoDataFrame(frame[wanted])


def _checked(frames: list[GeoDataFrame], geometry: Shape, *, source: str) -> GeoDataFrame:
    if any(frame.crs is None for frame in frames):
        raise no_reference_system(source)
    kept = [_of_shape(frame, geometry) for frame in frames]
    n_left_out = sum(map(len, frames)) - sum(map(len, kept))
    notes = tuple(note for frame in frames for note in frame.attrs["notes"])
    if n_left_out:
        notes += (f"{counted(n_left_out, 'feature')} left out: without geometry or not of the shape {geometry}",)
    joined = kept[0] if len(kept) == 1 else GeoDataFrame(pd.concat(kept), crs=kept[0].crs)
    joined = joined.reset_index(drop=True)
    joined.attrs = {"notes": notes}
    return joined


def _nothing_fits(frames: list[GeoDataFrame], geometry: Shape, *, source: str) -> Exception:
    types = sorted({str(kind) for frame in frames for kind in _of_shape(frame, "any").geom_type.unique()})
    found = f"only {', '.join(types)} features" if types else "no features"
    expected = f"a layer of at least one {'feature' if geometry == 'any' else geometry}"
    return unfit(source, found=found, expected=expected, cure="check which layer was exported")


def _word(geometry: Shape) -> str:
    return "" if geometry == "any" else f"{geometry} "
