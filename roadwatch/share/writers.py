"""Write a table of results by the ending of its file: CSV, GeoJSON or GeoPackage."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import geopandas as gpd
import pandas as pd

from roadwatch.errors import RoadwatchError, UsageError
from roadwatch.records.readers.apostrophes import MARK, TEAM_MARK, with_apostrophe
from roadwatch.records.readers.gdal import load_pyogrio
from roadwatch.records.store import Season
from roadwatch.records.store_reading import points

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping


_EXACT_DECIMALS, _OPEN_DECIMALS = 12, 6
"""Of a degree: all that a reader takes in, so that a file for the team comes back as it was; and about 0.1 m."""

_CONTROLS = {code: "\ufffd" for code in range(32) if chr(code) not in "\t\n\r"}
"""Characters that make a text file look like none."""


def write_result(
    table: pd.DataFrame | gpd.GeoDataFrame, path: Path, *, team_only: bool, title: str = "Roadwatch result"
) -> None:
    """
    Write a table of results; the ending of the file's name decides the format.

    The file appears whole or not at all: it is written beside its place and then moved there.

    Parameters
    ----------
    table
        Any table; GeoJSON and GeoPackage keep the geometry, CSV leaves it out.
    path
        Ends in ``.csv``, ``.geojson``, ``.json`` or ``.gpkg``.
    team_only
        Marks the file as holding places that are not for everybody: a column ``access`` in CSV and on every feature,
        the description of the GeoJSON collection, the name and description of the GeoPackage layer.
    title
        Name of the layer, in GeoPackage and GeoJSON.

    Raises
    ------
    UsageError
        The ending is none of these, the folder does not exist, or a GeoJSON is asked for a table without places.

    Source
    ------
    rfc7946
    """
    writers: dict[str, Callable[[pd.DataFrame, Path, str], None]] = {
        ".csv": _write_csv,
        ".geojson": _write_geojson,
        ".json": _write_geojson,
        ".gpkg": _write_geopackage,
    }
    write = writers.get(path.suffix.lower())
    if write is None:
        raise UsageError(f"{path}: the ending '{path.suffix}' is not known; name a file .csv, .geojson, .gpkg or .html")
    refuse_target(path)
    marked = table.assign(**{MARK: TEAM_MARK}) if team_only else table
    with tempfile.TemporaryDirectory(dir=path.parent, prefix=".roadwatch-") as folder:
        unfinished = Path(folder) / f"result{path.suffix.lower()}"
        write(marked, unfinished, f"{title} ({TEAM_MARK})" if team_only else title)
        unfinished.replace(path)


def write_text(text: str, path: Path) -> None:
    """
    Write a page or text in UTF-8, whole or not at all.

    Raises
    ------
    UsageError
        The folder does not exist.
    """
    write_bytes(text.encode("utf-8"), path)


def write_bytes(content: bytes, path: Path) -> None:
    """
    Write a file whole or not at all.

    Raises
    ------
    UsageError
        The folder does not exist, or the file is a season.
    """
    refuse_target(path)
    with tempfile.TemporaryDirectory(dir=path.parent, prefix=".roadwatch-") as folder:
        unfinished = Path(folder) / "content"
        unfinished.write_bytes(content)
        unfinished.replace(path)


def write_layers(layers: Mapping[str, pd.DataFrame], path: Path, *, description: str, team_only: bool) -> None:
    """
    Write several tables as layers of one GeoPackage, whole or not at all.

    Parameters
    ----------
    layers
        Tables by name; those with a geometry, or with ``longitude`` and ``latitude``, become features.
    path
        The file to make.
    description
        What belongs beside every layer.
    team_only
        As in :func:`write_result`.

    Raises
    ------
    UsageError
        The folder does not exist, or the file is a season.

    Source
    ------
    ogc12128r
    """
    refuse_target(path)
    with tempfile.TemporaryDirectory(dir=path.parent, prefix=".roadwatch-") as folder:
        unfinished = Path(folder) / "result.gpkg"
        for name, table in layers.items():
            marked = table.assign(**{MARK: TEAM_MARK}) if team_only else table
            places = _as_places(marked)
            load_pyogrio().write_dataframe(
                marked if places is None else places,
                unfinished,
                driver="GPKG",
                layer=f"{name}_{TEAM_MARK.replace(' ', '_')}" if team_only else name,
                layer_options={"DESCRIPTION": description},
            )
        unfinished.replace(path)


def refuse_target(path: Path) -> None:
    """
    Refuse a place where nothing can be written, or where a season would be lost.

    Raises
    ------
    UsageError
        The folder does not exist, or the file is a season.
    """
    if not path.parent.is_dir():
        raise UsageError(f"{path}: the folder {path.parent} does not exist; make it first or name another")
    if path.is_file() and _is_season(path):
        raise UsageError(f"{path} is a season file and is not overwritten; name another file for the result")


def _is_season(path: Path) -> bool:
    try:
        Season.open(path)
    except RoadwatchError:
        return False
    return True


def spreadsheet_safe(text: object) -> object:
    """
    Put an apostrophe before text that a spreadsheet would take for a formula; a control character becomes U+FFFD.

    >>> spreadsheet_safe("=1+1")
    "'=1+1"
    >>> spreadsheet_safe("-82.3"), spreadsheet_safe(-82.3)
    ('-82.3', -82.3)
    """
    return with_apostrophe(text.translate(_CONTROLS)) if isinstance(text, str) else text


def csv_text(table: pd.DataFrame) -> str:
    """
    A table as CSV that a spreadsheet shows and never runs; geometry is left out.

    Source
    ------
    rfc4180
    """
    flat = pd.DataFrame(table.drop(columns=_geometry_name(table)))
    texts = flat.select_dtypes(include=["object", "string", "category"]).columns
    flat = flat.assign(**{name: flat[name].astype(object).map(spreadsheet_safe) for name in texts})
    named = flat.rename(columns=lambda name: str(spreadsheet_safe(str(name))))
    return str(named.to_csv(index=False, lineterminator="\r\n"))


def _write_csv(table: pd.DataFrame, path: Path, _title: str) -> None:
    path.write_bytes(csv_text(table).encode("utf-8"))


def _write_geojson(table: pd.DataFrame, path: Path, title: str) -> None:
    places = _as_places(table)
    if places is None:
        raise UsageError("this table holds no places; write it as .csv or .gpkg")
    decimals = _EXACT_DECIMALS if MARK in places else _OPEN_DECIMALS
    load_pyogrio().write_dataframe(
        places, path, driver="GeoJSON", RFC7946="YES", COORDINATE_PRECISION=decimals, WRITE_NAME="NO", DESCRIPTION=title
    )


def _write_geopackage(table: pd.DataFrame, path: Path, title: str) -> None:
    layer = re.sub(r"\W+", "_", title).strip("_").lower() or "result"
    places = _as_places(table)
    load_pyogrio().write_dataframe(
        table if places is None else places, path, driver="GPKG", layer=layer, layer_options={"DESCRIPTION": title}
    )


def _geometry_name(table: pd.DataFrame) -> list[str]:
    return [table.geometry.name] if isinstance(table, gpd.GeoDataFrame) and table.active_geometry_name else []


def _as_places(table: pd.DataFrame) -> gpd.GeoDataFrame | None:
    """The table with geometry in EPSG:4326: its own, or points of its longitude and latitude, or None."""
    if isinstance(table, gpd.GeoDataFrame) and table.active_geometry_name:
        if table.crs is None:
            raise UsageError("the places have no reference system; set one before writing")
        return table.to_crs("EPSG:4326")
    if {"longitude", "latitude"} <= set(table.columns):
        longitude, latitude = (pd.to_numeric(table[name]).to_numpy(dtype=float) for name in ("longitude", "latitude"))
        return gpd.GeoDataFrame(table, geometry=points(longitude, latitude), crs="EPSG:4326")
    return None
