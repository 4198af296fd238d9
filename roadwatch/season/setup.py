"""Start a season file from map layers, and add or replace layers later."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import geopandas as gpd
import pandas as pd

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.hatch.development import hatch_tables
from roadwatch.records.columns import match_columns
from roadwatch.records.fields import fields_of
from roadwatch.records.readers.layers import read_layer
from roadwatch.records.store import Season
from roadwatch.roads.network import build_network
from roadwatch.season.own_tables import SETTING, check_tables, keep_tables

if TYPE_CHECKING:
    from pathlib import Path


FARTHEST_LATITUDE = 66.0
"""No turtle nests nearer to a pole than the polar circles (common practice, no source)."""


@dataclass(frozen=True)
class SetupReport:
    """What a new season file holds: road pieces, their length, and what was found in the layers."""

    roads: int
    length_km: float
    notes: tuple[str, ...]


@dataclass(frozen=True)
class LayerReport:
    """How many features of a layer were kept, and what was found in it."""

    features: int
    notes: tuple[str, ...]


def canonical_roads(layer: gpd.GeoDataFrame) -> tuple[gpd.GeoDataFrame, tuple[str, ...]]:
    """
    Rename a road layer's columns to ours and read its numbers; what the layer lacks stays blank and is named.

    Parameters
    ----------
    layer
        Lines with the columns of their source.

    Returns
    -------
    Lines with the columns of kind ``roads``, and one sentence naming the columns that the layer lacks.
    """
    written = [str(name) for name in layer.columns if name != layer.geometry.name]
    found = match_columns(written, "roads")
    roads = gpd.GeoDataFrame({found[name]: layer[name] for name in written if name in found}, geometry=layer.geometry)
    lacking = [name for name in fields_of("roads") if name not in roads]
    for name, field in fields_of("roads").items():
        column = roads[name] if name in roads else pd.Series(None, index=roads.index, dtype=object)
        if field.type == "number":
            digits = column.astype("string").str.extract(r"(-?\d+(?:\.\d+)?)", expand=False)
            roads[name] = pd.to_numeric(digits, errors="coerce").astype(float)
        elif field.type == "boolean":
            words = column.astype("string").str.strip().str.lower()
            roads[name] = words.isin(["1", "1.0", "true", "t", "yes", "y"]).where(words.notna(), None).astype(object)
        else:
            roads[name] = column.astype(object).where(column.notna(), None)
    notes = (f"The roads layer has no column for {', '.join(lacking)}; left blank.",) if lacking else ()
    return roads, notes


def check_timezone(name: str) -> None:
    """
    Refuse a timezone that does not exist.

    Raises
    ------
    UsageError
        The name is not in the timezone database.
    """
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise UsageError(f"'{name}' is not a timezone; write a name such as America/New_York") from error


def check_region(key: str | None, *, tables: Path | None = None) -> tuple[str, ...]:
    """
    Refuse a region that is in no table, and say what leaving it out means.

    Raises
    ------
    UsageError
        The key is in no table of regions; the message names those that are.
    """
    if key is None:
        return ("No region named: taxa are weighed alike everywhere, and hatch windows need one ('--region').",)
    known = hatch_tables(tables).regions
    if key not in known:
        raise UsageError(
            f"'{key}' is not a region; choose one of {', '.join(known)}, or name a county's own in a 'regions.csv' by "
            "'--tables FOLDER'"
        )
    return ()


def refuse_polar(roads: gpd.GeoDataFrame, *, source: str) -> None:
    """
    Refuse roads where no turtle lives: longitude and latitude have changed places.

    Raises
    ------
    UnfitFileError
        The layer lies beyond 66 degrees north or south.
    """
    west, south, east, north = roads.to_crs("EPSG:4326").total_bounds
    if max(abs(south), abs(north)) > FARTHEST_LATITUDE:
        raise UnfitFileError(
            f"{source}: the roads lie between longitude {west:.2f} and {east:.2f}, latitude {south:.2f} and "
            f"{north:.2f}, beyond the polar circle; longitude and latitude have probably changed places: write "
            "longitude first"
        )


def start_season(
    path: Path,
    *,
    roads_file: Path,
    timezone: str,
    water_file: Path | None = None,
    region: str | None = None,
    tables: Path | None = None,
) -> SetupReport:
    """
    Make a season file: roads read, cleaned for a first look, and kept as they came; water beside them.

    Parameters
    ----------
    path
        The season file to make; it must not exist yet.
    roads_file, water_file
        Vector layers in any format and reference system.
    timezone
        Name in the timezone database; times without offset are read in it.
    region
        Key of the region whose taxa and hatch parameters apply.
    tables
        Folder of a county's own tables, which replace or extend the shipped ones; a copy is kept beside the season.

    Raises
    ------
    UsageError
        The season exists, or the timezone or region does not.
    UnfitFileError
        A layer cannot be read, is empty, holds no lines, or has no reference system.
    """
    if path.exists():
        raise UsageError(f"{path} exists; name a new season file, or add to this one with 'ingest' and 'layer'")
    if not path.parent.is_dir():
        raise UsageError(f"the folder {path.parent} does not exist; make it first")
    check_timezone(timezone)
    found = check_tables(tables) if tables else ()
    notes = check_region(region, tables=tables)
    layer = read_layer(roads_file, geometry="line")
    roads, lacking = canonical_roads(layer)
    refuse_polar(roads, source=roads_file.name)
    network = build_network(roads)
    water = read_layer(water_file, geometry="any") if water_file else None
    try:
        own = {SETTING: keep_tables(tables, path).name} if tables else {}
        season = Season.create(path, timezone=timezone, region=region, settings=own)
        season.replace_layer("roads", roads, source=roads_file.name)
        if water is not None:
            season.replace_layer("water", water, source=water_file.name if water_file else "")
    except BaseException:
        path.unlink(missing_ok=True)
        shutil.rmtree(path.with_suffix(".tables"), ignore_errors=True)
        raise
    return SetupReport(
        roads=len(network.edges),
        length_km=float(network.edges["length_m"].sum()) / 1000,
        notes=(*layer.attrs["notes"], *network.notes, *lacking, *notes, *_own_words(found)),
    )


def _own_words(found: tuple[str, ...]) -> tuple[str, ...]:
    return (f"The county's own tables are used: {', '.join(found)}; a copy lies beside the season.",) if found else ()


def add_layer(path: Path, *, file: Path, kind: str) -> LayerReport:
    """
    Add a map layer to a season, or replace the one of its kind.

    Raises
    ------
    UsageError
        The season does not exist.
    UnfitFileError
        The layer cannot be read, is empty, or has no reference system.
    """
    season = Season.open(path)
    layer = read_layer(file, geometry="any")
    notes = tuple(layer.attrs["notes"])
    if kind == "measures":
        written = [str(name) for name in layer.columns if name != layer.geometry.name]
        layer = layer.rename(columns=match_columns(written, "measures"))
    return LayerReport(features=season.replace_layer(kind, layer, source=file.name), notes=notes)
