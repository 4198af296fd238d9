"""Files of every accepted format become tables of text rows; one format a file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.records.readers.archives import kind_of_archive
from roadwatch.records.readers.content import ACCEPTED, name_of, recognise
from roadwatch.records.readers.geojson import read_geojson
from roadwatch.records.readers.gpx import read_gpx
from roadwatch.records.readers.kml import read_kml, read_kmz
from roadwatch.records.readers.text_files import read_text_file
from roadwatch.records.readers.vectors import read_geopackage, read_shapefile, read_zipped_shapefiles
from roadwatch.records.readers.wording import unfit

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from roadwatch.records.readers.archives import Archive
    from roadwatch.records.readers.content import Format
    from roadwatch.records.tables import RawTable

__all__ = ["read_file"]


def _read_xlsx(path: Path) -> list[RawTable]:
    from roadwatch.records.readers.xlsx import read_xlsx

    return read_xlsx(path)


def _read_ods(path: Path) -> list[RawTable]:
    from roadwatch.records.readers.ods import read_ods

    return read_ods(path)


def _read_photos(path: Path) -> list[RawTable]:
    from roadwatch.records.readers import photos

    if path.is_dir():
        return photos.read_photo_folder(path)
    return photos.read_photo_file(path) if recognise(path) == "jpeg" else photos.read_zipped_photos(path)


_READERS: dict[Format | Archive, Callable[[Path], list[RawTable]]] = {
    "text": read_text_file,
    "json": read_geojson,
    "gpx": read_gpx,
    "kml": read_kml,
    "geopackage": read_geopackage,
    "shapefile": read_shapefile,
    "jpeg": _read_photos,
    "xlsx": _read_xlsx,
    "ods": _read_ods,
    "kmz": read_kmz,
    "shapefiles": read_zipped_shapefiles,
    "photos": _read_photos,
}
"""Readers of spreadsheets and photographs bring in their libraries only when they are needed."""


def read_file(path: Path) -> list[RawTable]:
    """
    Read a file of records or temperatures, or a folder of photographs, whatever its format and name.

    The reader is picked by content: first bytes, root element, names in an archive, or the shape of the first lines.

    Returns
    -------
    One table for each layer, sheet, folder or part; rows are text, columns named as written.

    Raises
    ------
    UsageError
        There is no such file.
    UnfitFileError
        The file is empty, cut short, unreadable or of a kind that holds no records; the message is one line that
        says where, what was found, what is expected and what to do.
    """
    if path.is_dir():
        return _read_photos(path)
    kind = recognise(path)
    reader = _READERS.get(kind_of_archive(path) if kind == "zip" else kind)
    if reader is None:
        raise unfit(
            name_of(path),
            found="a map layer in FlatGeobuf",
            expected=ACCEPTED,
            cure="export the records as GeoJSON, GPX or a GeoPackage",
        )
    return reader(path)
