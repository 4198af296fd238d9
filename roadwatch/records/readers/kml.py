"""KML and KMZ: every folder a table; points are rows, lines and areas their WKT, recorded tracks are searches."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np
import pyproj

from roadwatch.records.readers.archives import is_shown, opened_archive
from roadwatch.records.readers.content import name_of, read_bytes
from roadwatch.records.readers.features import feature_table
from roadwatch.records.readers.headed import refuse_odd_columns
from roadwatch.records.readers.kml_placemarks import Placemark, Placemarks, placemarks_of, put_text
from roadwatch.records.readers.limits import FREE_SHEET_MB, LARGEST_XML_MB, MOST_TABLES, MOST_TIMES_PACKED
from roadwatch.records.readers.wording import counted, unfit
from roadwatch.records.tables import RawTable, RowFault

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from roadwatch.records.fields import Kind


def read_kml(path: Path) -> list[RawTable]:
    """
    Read the placemarks of a KML file.

    Returns
    -------
    One table for each folder that holds placemarks; lines count the placemarks of the file from 1.

    Raises
    ------
    UnfitFileError
        The file is cut short, declares a document type, or holds no placemark.

    Source
    ------
    kml23
    """
    source = name_of(path)
    return _tables(read_bytes(path, largest_mb=LARGEST_XML_MB), source=source)


def read_kmz(path: Path) -> list[RawTable]:
    """
    Read the KML files of a KMZ archive; pictures and other files in it are not looked at.

    Raises
    ------
    UnfitFileError
        The archive is damaged or made to harm, or one of its KML files cannot be read.

    Source
    ------
    kml23
    """
    source = name_of(path)
    bodies = kml_members(path)
    several = len(bodies) > 1
    return [
        table
        for name, body in bodies.items()
        for table in _tables(body, source=f"{source}, file {name}" if several else source)
    ]


def kml_members(path: Path) -> dict[str, bytes]:
    """
    The KML files of a KMZ archive, by name.

    Raises
    ------
    UnfitFileError
        The archive is damaged or made to harm, or a KML file in it is too large.
    """
    with opened_archive(path) as archive:
        members = [
            one for one in archive.infolist() if one.filename.lower().endswith(".kml") and is_shown(one.filename)
        ]
        n_bytes = sum(member.file_size for member in members)
        most = MOST_TIMES_PACKED["kmz"] * sum(member.compress_size for member in members)
        most = min(LARGEST_XML_MB * 1_000_000, max(FREE_SHEET_MB * 1_000_000, most))
        if n_bytes > most:
            raise unfit(
                name_of(path),
                found=f"{n_bytes / 1e6:.0f} MB of KML",
                expected=f"at most {most / 1e6:.0f} MB of it packed as it is",
                cure="export the folders one by one",
            )
        return {member.filename: archive.read(member) for member in members}


def _tables(body: bytes, *, source: str) -> list[RawTable]:
    found = placemarks_of(body, source=source)
    if len(found.parts) > MOST_TABLES:
        found.parts = _joined(found)
    return [
        _table(placemarks, found, source=_name_of_part(source, folder, is_track=is_track), is_track=is_track)
        for (folder, is_track), placemarks in found.parts.items()
    ]


def _name_of_part(source: str, folder: str, *, is_track: bool) -> str:
    return f"{source}{f', folder {folder}' if folder else ''}{', tracks' if is_track else ''}"


def _joined(found: Placemarks) -> dict[tuple[str, bool], list[Placemark]]:
    """Too many folders become one, whose column ``folder`` tells them apart."""
    joined: dict[tuple[str, bool], list[Placemark]] = {}
    for (folder, is_track), placemarks in found.parts.items():
        for placemark in placemarks:
            put_text(placemark.row, "folder", folder, Counter())
        joined.setdefault(("", is_track), []).extend(placemarks)
    return joined


def _table(placemarks: list[Placemark], found: Placemarks, *, source: str, is_track: bool) -> RawTable:
    kept = [placemark for placemark in placemarks if not placemark.has_broken_shape]
    names = list(dict.fromkeys(name for placemark in kept for name, cell in placemark.row.items() if cell))
    refuse_odd_columns(names, source=source)
    shapes = np.full(len(kept), None, dtype=object)
    shapes[:] = [placemark.shape for placemark in kept]
    table = feature_table(
        source,
        shapes,
        {name: [placemark.row.get(name) for placemark in kept] for name in names},
        crs=pyproj.CRS("OGC:CRS84"),
        lines=np.array([placemark.number for placemark in kept], dtype=np.int64),
        notes=("format: KML", *_notes(found)),
    )
    faults = [_broken(source, placemark) for placemark in placemarks if placemark.has_broken_shape]
    originals = [placemark.original for placemark in kept]
    kind: Kind | None = "searches" if is_track else None
    rows = table.rows.rename(columns={"name": "search_id", "wkt": "track"}) if is_track else table.rows
    return RawTable(source, rows, table.lines, originals, table.notes, tuple(faults), kind)


def _notes(found: Placemarks) -> Iterator[str]:
    if found.n_links:
        yield f"{counted(found.n_links, 'link')} to other files, never followed"
    if found.n_empty:
        yield f"{counted(found.n_empty, 'placemark')} without a place or any word left out"
    if found.n_markup:
        holding = counted(found.n_markup, "description holds", "descriptions hold")
        yield f"{holding} marked-up text, read as plain text and kept as written"


def _broken(source: str, placemark: Placemark) -> RowFault:
    reason = "the coordinates cannot be read; write longitude,latitude with a comma between them and a point in each"
    return RowFault(source, placemark.number, placemark.original, "geometry", placemark.original[:60], reason)
