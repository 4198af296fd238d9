"""Crossings that everybody may see where they lie: what a release keeps of each, and the rows made of it again."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd

from roadwatch.share.releases import OPEN, Release

if TYPE_CHECKING:
    from numpy.typing import NDArray

# fmt: off
PUBLIC_CROSSINGS = ["day", "taxon", "id_confidence", "count", "condition"]
NEVER_SHOWN = [
    "observed_at", "observer", "search_id", "carcass_age", "action", "life_stage", "sex", "heading_deg", "carapace_mm",
]
# fmt: on
"""What a release keeps of a crossing in the season and shows to nobody: hotspots for the public are found with it, so
that they do not follow what became of the record since."""


def open_contents(records: pd.DataFrame) -> pd.DataFrame:
    """
    Put each open record into one text: what everybody reads of it, then what is only kept.

    A name that a second person gave stands in the place of the observer's, whose certainty then says nothing of it.

    Parameters
    ----------
    records
        Canonical columns.

    Returns
    -------
    ``kind record_key content``.
    """
    told = pd.DataFrame({name: column(records, name) for name in PUBLIC_CROSSINGS[1:]})
    told.insert(0, "day", column(records, "observed_at").map(_day))
    verified = column(records, "verified_taxon")
    is_other = verified.notna() & (verified != told["taxon"])
    told["taxon"] = told["taxon"].mask(is_other, verified)
    told["id_confidence"] = told["id_confidence"].mask(is_other)
    told = told.assign(**{name: records[name].round(6) for name in ("longitude", "latitude")})
    told = told.assign(**{name: column(records, name) for name in ("position_error_m", *NEVER_SHOWN)})
    cells = [cells.astype(object).where(cells.notna(), None).tolist() for _, cells in told.items()]
    write, names = json.JSONEncoder(ensure_ascii=False).encode, list(told)
    texts = [write(dict(zip(names, row, strict=True))) for row in zip(*cells, strict=True)]
    return pd.DataFrame({"kind": "crossings", "record_key": keys_of(records), "content": texts}, dtype=object)


def open_records(release: Release) -> pd.DataFrame:
    """The open records of a release with all that it keeps of them, and ``record_key``, by time and name."""
    rows = _open_rows(release)
    rows["observed_at"] = rows["observed_at"].where(rows["observed_at"].notna(), rows["day"])
    return _sorted(rows, ["observed_at", "record_key"])


def open_crossings(release: Release) -> gpd.GeoDataFrame:
    """Open crossings as points, as everybody may see them, in an order that tells nothing of the season's own."""
    rows = _sorted(_open_rows(release), ["day", "longitude", "latitude", "taxon", "condition"])
    return points_of(rows, PUBLIC_CROSSINGS)


def _open_rows(release: Release) -> pd.DataFrame:
    told = release.shown[release.shown["square"] == OPEN]
    names = [*PUBLIC_CROSSINGS, "longitude", "latitude", "position_error_m", *NEVER_SHOWN]
    rows = json.loads("[" + ",".join(told["content"]) + "]")
    cells = {name: pd.Series([row.get(name) for row in rows], dtype=object) for name in names}
    return pd.DataFrame(cells).assign(record_key=told["record_key"].to_numpy(dtype=object))


def _sorted(rows: pd.DataFrame, columns: list[str]) -> pd.DataFrame:
    """In the order of some columns; blanks come last, numbers before texts."""
    keys = [[_sortable(cell) for cell in rows[name]] for name in columns]
    order = sorted(range(len(rows)), key=list(zip(*keys, strict=True)).__getitem__)
    return rows.iloc[order].reset_index(drop=True)


def points_of(table: pd.DataFrame, columns: list[str]) -> gpd.GeoDataFrame:
    """Keep only the named columns and the place, in EPSG:4326; a missing column stays blank."""
    shown = pd.DataFrame({name: column(table, name) for name in columns}).reset_index(drop=True)
    longitude, latitude = (pd.to_numeric(column(table, name)).astype(float) for name in ("longitude", "latitude"))
    return gpd.GeoDataFrame(shown, geometry=gpd.points_from_xy(longitude, latitude, crs="EPSG:4326"), crs="EPSG:4326")


def keys_of(records: pd.DataFrame) -> NDArray[np.object_]:
    """(n,) names of the records: their own, or their row's."""
    name = next((name for name in ("record_key", "record_id", "nest_id") if name in records.columns), None)
    return np.array(records.index if name is None else records[name], dtype=object)


def column(table: pd.DataFrame, name: str) -> pd.Series[Any]:
    """A column, or a blank one where the table has none of that name."""
    if name in table.columns:
        return table[name]
    return pd.Series([None] * len(table), index=table.index, dtype=object)


def is_blank(value: object) -> bool:
    """
    Whether nothing is written in a cell.

    >>> is_blank(None), is_blank(float("nan")), is_blank(" "), is_blank(0)
    (True, True, True, False)
    """
    return value is None or value != value or not str(value).strip()  # nan differs from itself


def _day(observed_at: object) -> str | None:
    return None if is_blank(observed_at) else str(observed_at)[:10]


def _sortable(cell: object) -> tuple[int, float, str]:
    if isinstance(cell, int | float):
        return (0, float(cell), "")
    return (1, 0.0, cell) if isinstance(cell, str) else (2, 0.0, "")
