"""Files of every accepted format become tables of text rows; one format a file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.records.readers.content import ACCEPTED, name_of, recognise
from roadwatch.records.readers.geojson import read_geojson
from roadwatch.records.readers.gpx import read_gpx
from roadwatch.records.readers.text_files import read_text_file
from roadwatch.records.readers.vectors import read_geopackage, read_shapefile, read_zipped_shapefiles
from roadwatch.records.readers.wording import unfit

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from roadwatch.records.readers.content import Format
    from roadwatch.records.tables import RawTable

__all__ = ["read_file"]

_READERS: dict[Format, Callable[[Path], list[RawTable]]] = {
    "text": read_text_file,
    "json": read_geojson,
    "gpx": read_gpx,
    "geopackage": read_geopackage,
    "zip": read_zipped_shapefiles,
    "shapefile": read_shapefile,
}


def read_file(path: Path) -> list[RawTable]:
    """
    Read a file of records or temperatures, whatever its format and name.

    The reader is picked by content: first bytes, root element or the shape of the first lines.

    Returns
    -------
    One table for each layer or part; rows are text, columns named as written.

    Raises
    ------
    UsageError
        There is no such file.
    UnfitFileError
        The file is empty, cut short, unreadable or of a kind that holds no records; the message is one line that
        says where, what was found, what is expected and what to do.
    """
    reader = _READERS.get(recognise(path))
    if reader is None:
        raise unfit(
            name_of(path),
            found="a map layer in KML or FlatGeobuf",
            expected=ACCEPTED,
            cure="export the records as GeoJSON, GPX or a GeoPackage",
        )
    return reader(path)
