"""Results saved by other commands, read back so that a map can draw them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from roadwatch.errors import RoadwatchError, UnfitFileError, UsageError
from roadwatch.records.readers.gdal import load_pyogrio
from roadwatch.records.store_reading import points
from roadwatch.roads.network import build_network
from roadwatch.roads.reference import find_on_road
from roadwatch.season.shown import shown
from roadwatch.share.map_parts import DrawnResult
from roadwatch.siting.fence_runs import line_of

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.records.store import Season
    from roadwatch.roads.network import Network
    from roadwatch.share.map_parts import DrawnKind
    from roadwatch.share.masking import Audience

KINDS: dict[DrawnKind, tuple[str, ...]] = {
    "fence runs": ("run", "road", "from_m", "to_m"),
    "signs": ("approach", "sign_m", "longitude", "latitude"),
    "rounds": ("date", "nest_id", "observer", "order"),
}
"""Columns by which a saved result is known."""

PLANNED_WORDS = (
    "Planned from all records of the season, masked ones among them: where it lies can tell of these. Show it to the "
    "public only once it is decided."
)
ROUNDS_WORDS = "{name} holds nest rounds, which tell where nests are: not drawn on a page for the public."


def saved_results(
    paths: tuple[Path, ...], season: Season, *, audience: Audience
) -> tuple[tuple[DrawnResult, ...], tuple[str, ...]]:
    """
    Read saved fence runs, signs and rounds.

    Parameters
    ----------
    paths
        Files that ``site``, ``signs`` and ``rounds`` wrote: CSV, GeoJSON or GeoPackage.
    season
        The whole season: its roads and nests give a file without geometry its places.
    audience
        ``public`` or ``team``; the public sees no rounds.

    Returns
    -------
    What can be drawn, and notes on what cannot.

    Raises
    ------
    UsageError
        A file does not exist.
    UnfitFileError
        A file is none of these results, or no row of it lies on the season's roads or at its nests.
    """
    drawn, notes = [], []
    network = build_network(season.read("roads")) if paths else None
    for path in paths:
        table, name = _read(path), shown(path.name)
        kind = _kind_of(table, name)
        if kind == "rounds" and audience == "public":
            notes.append(ROUNDS_WORDS.format(name=name))
            continue
        placed = _placed(table, kind, season, network)  # type: ignore[arg-type]  # there is one where there is a path
        lost = int(placed.geometry.isna().sum())
        placed = placed[placed.geometry.notna()].reset_index(drop=True)
        if placed.empty:
            raise UnfitFileError(
                f"{name}: found {kind}, but no row of it lies on this season's roads or at its nests; "
                "expected a file made from the same season"
            )
        own = [f"{name}: {lost} of {len(table)} rows lie on no road or nest of this season; not drawn."] if lost else []
        told = (*own, PLANNED_WORDS) if audience == "public" else tuple(own)
        drawn.append(DrawnResult(kind=kind, table=placed, source=name, notes=told))
        notes += own
    return tuple(drawn), tuple(notes)


def _read(path: Path) -> pd.DataFrame:
    if not path.is_file():
        raise UsageError(f"{shown(path)}: no such file; name what 'site', 'signs' or 'rounds' wrote with -o")
    try:
        if path.suffix.lower() == ".csv":
            return pd.read_csv(path, dtype={"nest_id": str, "road": str, "observer": str})
        table: pd.DataFrame = load_pyogrio().read_dataframe(path)
    except (ValueError, OSError, RuntimeError) as error:  # what pandas and GDAL raise for files they cannot read
        told = f"{shown(path)}: not a table that can be read ({error}); expected {_expected()}"
        raise UnfitFileError(told) from error
    return table


def _kind_of(table: pd.DataFrame, name: str) -> DrawnKind:
    for kind, columns in KINDS.items():
        if set(columns) <= set(table.columns):
            return kind
    found = ", ".join(map(str, table.columns[:8]))
    raise UnfitFileError(f"{name}: found columns {found}; expected {_expected()}")


def _expected() -> str:
    told = "; ".join(f"{kind}: {' '.join(columns)}" for kind, columns in KINDS.items())
    return f"a result saved as CSV, GeoJSON or GeoPackage ({told})"


def _placed(table: pd.DataFrame, kind: DrawnKind, season: Season, network: Network) -> gpd.GeoDataFrame:
    """The rows with their geometry in degrees, None where they have no place in this season."""
    if isinstance(table, gpd.GeoDataFrame) and table.active_geometry_name:
        return table.to_crs("EPSG:4326") if table.crs is not None else table.set_crs("EPSG:4326")
    if kind == "fence runs":
        lines = gpd.GeoSeries([_run_line(row, network) for row in table.to_dict("records")], crs=network.crs)
        return gpd.GeoDataFrame(table, geometry=lines.to_crs("EPSG:4326"))
    if kind == "signs":
        longitude, latitude = (pd.to_numeric(table[name], errors="coerce") for name in ("longitude", "latitude"))
        place = points(longitude.to_numpy(dtype=float), latitude.to_numpy(dtype=float))
        return gpd.GeoDataFrame(table, geometry=place, crs="EPSG:4326")
    nests = season.read("nests").drop_duplicates("nest_id").set_index("nest_id")["geometry"]
    place = np.array([nests.get(nest) for nest in table["nest_id"]], dtype=object)
    return gpd.GeoDataFrame(table, geometry=place, crs="EPSG:4326")


def _run_line(row: dict[object, object], network: Network) -> object:
    try:
        part = int(float(str(row.get("road_part", 0) or 0)))
        ends = np.array([float(str(row["from_m"])), float(str(row["to_m"]))])
        find_on_road(network, str(row["road"]), ends, road_part=part)  # refuses ends that lie off the road
        return line_of(network, str(row["road"]), part, *map(float, ends))
    except (RoadwatchError, ValueError):
        return None
