"""Factories for the tests of the season file; every record is invented."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

import geopandas as gpd
import pandas as pd
from shapely.geometry import LineString

from roadwatch.records.store import Batch, BatchReport, Season
from roadwatch.records.tables import RowFault

if TYPE_CHECKING:
    from pathlib import Path

NOW = "2025-06-01T12:00:00-04:00"
LATER = "2025-06-02T12:00:00-04:00"


def new_season(folder: Path, *, name: str = "season.gpkg", **settings: str) -> Season:
    return Season.create(folder / name, timezone="America/New_York", region=None, settings=settings)


def crossing(**changes: object) -> dict[str, object]:
    """One plausible crossing without an id."""
    row: dict[str, object] = {
        "observed_at": "2025-05-12T07:40:00-04:00",
        "longitude": -82.3725,
        "latitude": 29.6512,
        "taxon": "Terrapene carolina",
        "taxon_as_written": "box turtle",
        "id_confidence": 0.8,
        "count": 1.0,
        "condition": "dead",
        "gravid": None,
        "observer": "Ana",
        "notes": None,
    }
    return {**row, **changes}


def different_crossings(n: int) -> list[dict[str, object]]:
    """Crossings that differ in their latitude."""
    return [crossing(latitude=29.0 + k / 1000) for k in range(n)]


def as_read(rows: list[dict[str, object]], *, source: str = "crossings.csv") -> pd.DataFrame:
    """Rows with line, original and source, as the reader hands them on; the header is line 1."""
    table = pd.DataFrame(rows)
    cells = [",".join("" if value is None else str(value) for value in row.values()) for row in rows]
    return table.assign(line=range(2, len(rows) + 2), original=cells, source=source)


def batch_of(
    rows: list[dict[str, object]] | pd.DataFrame, *, kind: str = "crossings", file: str = "crossings.csv", **changes
) -> Batch:
    """A batch whose digest follows from the file's name and its rows, as a file's digest does."""
    table = rows if isinstance(rows, pd.DataFrame) else as_read(rows, source=file)
    wording = file + "\n".join(table["original"]) if "original" in table else file
    given = {
        "file_name": file,
        "sha256": hashlib.sha256(wording.encode("utf-8", "surrogatepass")).hexdigest(),
        "kind": kind,
        "ingested_at": NOW,
        "accepted": table,
        "held_back": [],
    }
    return Batch(**{**given, **changes})


def put(season: Season, rows: list[dict[str, object]], **changes) -> BatchReport:
    return season.write_batch(batch_of(rows, **changes))


def fault(line: int, *, reason: str = "latitude 'N45.1' is not a number", severity: str = "hold back") -> RowFault:
    return RowFault(
        source="crossings.csv",
        line=line,
        original=f"the words of line {line}",
        column="latitude",
        found="N45.1",
        reason=reason,
        severity=severity,
    )


def road_layer(crs: str = "EPSG:4326", **columns: list[object]) -> gpd.GeoDataFrame:
    """Two straight roads near each other, named in the canonical columns."""
    lines = [LineString([(-82.40, 29.60), (-82.30, 29.60)]), LineString([(-82.35, 29.55), (-82.35, 29.65)])]
    names = {"road_id": ["1", "2"], "road": ["Mill Road", None], "speed_limit": [35.0, float("nan")]}
    return gpd.GeoDataFrame({**names, **columns}, geometry=lines, crs="EPSG:4326").to_crs(crs)
