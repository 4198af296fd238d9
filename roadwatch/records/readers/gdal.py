"""
The one door to GDAL, which opens files by content and follows what they point to.

A file named ``x.gpx`` that holds a virtual layer could make it read another file of this machine or ask the network.
So the drivers that we do not need are switched off before GDAL starts (``OGR_SKIP``), every file is recognised
by our own reading of its first bytes first, and nothing else in these readers imports pyogrio.
"""

from __future__ import annotations

import os
import warnings
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.records.readers.wording import unfit

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import ModuleType

    from numpy.typing import NDArray

NEEDED_DRIVERS = frozenset({"GPKG", "ESRI Shapefile", "GeoJSON", "KML", "LIBKML", "FlatGeobuf", "MEM", "Memory"})

SKIPPED_DRIVERS = (
    *("ADBC", "AIVector", "AVCBin", "AVCE00", "AmigoCloud", "CSV", "CSW", "Carto", "DGN", "DXF", "EDIGEO", "EEDA"),
    *("ESRIJSON", "Elasticsearch", "GDALG", "GML", "GPSBabel", "GPX", "GTFS", "GeoJSONSeq", "GeoRSS", "HTTP"),
    *("Idrisi", "JML", "JSONFG", "LVBAG", "MBTiles", "MVT", "MapInfo File", "MapML", "MiraMonVector", "NGW", "OAPIF"),
    *("ODS", "OGCAPI", "OGR_GMT", "OGR_PDS", "OGR_VRT", "OSM", "OpenFileGDB", "PCIDSK", "PDF", "PDS4", "PGDUMP"),
    *("PLSCENES", "PMTiles", "Parquet", "S57", "SQLite", "SXF", "Selafin", "TopoJSON", "VDV", "VFK", "VICAR"),
    *("WAsP", "WFS", "XLSX", "ODBC", "PostgreSQL", "MySQL", "MSSQLSpatial", "GMLAS", "NAS", "netCDF"),
)
"""More than most builds of GDAL have; a test lists what is left against ``NEEDED_DRIVERS``."""

_BROKEN = (RuntimeError, ValueError, OSError, NameError, TypeError, LookupError, ArithmeticError, MemoryError)
"""What pyogrio raises for damaged layers; NameError among them, where a name of its own was never set."""

_OPTIONS = {
    "OGR_SKIP": ",".join(SKIPPED_DRIVERS),
    "CPL_VSIL_CURL_ALLOWED_EXTENSIONS": ".none",  # no file name ends so: nothing is fetched from a host
}


def load_pyogrio() -> ModuleType:
    """Import pyogrio with every driver that is not needed switched off; call it before geopandas reads a file."""
    for name, value in _OPTIONS.items():
        os.environ.setdefault(name, value)
    with _silent_start():
        import_module("pyogrio.raw")
        return import_module("pyogrio")


@contextmanager
def _silent_start() -> Iterator[None]:
    """GDAL complains on standard error about each driver to skip that its build never had; nobody needs to read it."""
    if "CPL_LOG" in os.environ:
        yield
        return
    os.environ["CPL_LOG"] = os.devnull
    try:
        yield
    finally:
        del os.environ["CPL_LOG"]


@dataclass(frozen=True)
class VectorLayer:
    """
    One layer as GDAL gives it.

    Parameters
    ----------
    crs
        Name or definition of the reference system; None where the layer has none.
    numbers
        (n,) Feature number, from 1 or as the file numbers them.
    wkb
        (n,) Geometries as well-known bytes; None for a layer without.
    columns
        Field name to (n,) values.
    """

    name: str
    crs: str | None
    numbers: NDArray[np.int64]
    wkb: NDArray[np.object_] | None
    columns: dict[str, NDArray[np.generic]]
    notes: tuple[str, ...]


def list_layers(dataset: str, *, source: str) -> list[tuple[str, str | None]]:
    """
    Name the layers of a dataset and the type of their geometry (None for a plain table).

    Raises
    ------
    UnfitFileError
        GDAL cannot open it.
    """
    pyogrio = load_pyogrio()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return [(str(name), kind) for name, kind in pyogrio.list_layers(dataset)]
    except _BROKEN as error:
        raise _unreadable(source, error) from error


def read_vector(dataset: str, *, layer: str | None, source: str) -> VectorLayer:
    """
    Read one layer whole, flat, with times as text.

    Raises
    ------
    UnfitFileError
        GDAL cannot read it.
    """
    pyogrio = load_pyogrio()
    try:
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always")
            meta, fids, wkb, fields = pyogrio.raw.read(
                dataset, layer=layer, return_fids=True, force_2d=True, datetime_as_string=True
            )
    except _BROKEN as error:
        raise _unreadable(source, error) from error
    numbers = np.asarray(fids, dtype=np.int64)
    if len(numbers) and numbers.min() == 0:
        numbers = numbers + 1
    columns = {str(name): np.asarray(values) for name, values in zip(meta["fields"], fields, strict=True)}
    notes = tuple(dict.fromkeys(f"GDAL says: {' '.join(str(warning.message).split())[:200]}" for warning in caught))
    return VectorLayer(layer or "", meta["crs"], numbers, wkb, columns, notes)


def _unreadable(source: str, error: Exception) -> Exception:
    return unfit(
        source,
        found=f"a layer that cannot be read ({' '.join(str(error).split())[:160]})",
        expected="a complete GeoPackage, shapefile, GeoJSON, KML or FlatGeobuf file",
        cure="copy or export it again",
    )
