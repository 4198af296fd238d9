"""KML and KMZ as a map layer: all folders at once, because each look of GDAL at a folder reads the whole file again."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from roadwatch.records.readers.content import name_of, read_bytes
from roadwatch.records.readers.gdal import VectorLayer
from roadwatch.records.readers.headed import refuse_odd_columns
from roadwatch.records.readers.kml import kml_members
from roadwatch.records.readers.kml_placemarks import placemarks_of
from roadwatch.records.readers.limits import LARGEST_XML_MB
from roadwatch.records.readers.wording import counted

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path


def read_kml_layer(path: Path) -> VectorLayer:
    """
    Read the placemarks of all folders of a KML file.

    Raises
    ------
    UnfitFileError
        The file is cut short, declares a document type, or holds no placemark.

    Source
    ------
    kml23
    """
    return _layer_of([read_bytes(path, largest_mb=LARGEST_XML_MB)], source=name_of(path))


def read_kmz_layer(path: Path) -> VectorLayer:
    """
    Read the placemarks of all KML files of a KMZ archive.

    Raises
    ------
    UnfitFileError
        The archive is damaged or made to harm, or one of its KML files cannot be read.

    Source
    ------
    kml23
    """
    return _layer_of(kml_members(path).values(), source=name_of(path))


def _layer_of(bodies: Iterable[bytes], *, source: str) -> VectorLayer:
    found = [
        placemark
        for body in bodies
        for placemarks in placemarks_of(body, source=source).parts.values()
        for placemark in placemarks
    ]
    kept = [placemark for placemark in found if not placemark.has_broken_shape]
    names = list(dict.fromkeys(name for placemark in kept for name, cell in placemark.row.items() if cell))
    refuse_odd_columns(names, source=source)
    shapes = np.full(len(kept), None, dtype=object)
    shapes[:] = [placemark.shape for placemark in kept]
    n_broken = len(found) - len(kept)
    return VectorLayer(
        "",
        "EPSG:4326",
        np.arange(1, len(kept) + 1),
        np.asarray(shapely.to_wkb(shapes), dtype=object),
        {name: np.array([placemark.row.get(name) for placemark in kept], dtype=object) for name in names},
        (f"{counted(n_broken, 'placemark')} left out: the coordinates cannot be read",) if n_broken else (),
    )
