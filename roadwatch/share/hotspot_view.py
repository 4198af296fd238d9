"""Which hotspots one audience may see, and with which numbers."""

from __future__ import annotations

from dataclasses import InitVar, dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from roadwatch.errors import RoadwatchError
from roadwatch.records.fields import DEFAULT_POSITION_ERROR_M
from roadwatch.share.grid import LEAST_RECORDS
from roadwatch.share.masking import must_mask

if TYPE_CHECKING:
    from collections.abc import Collection

    from numpy.typing import NDArray

    from roadwatch.share.masking import Audience

REACH_M = 30.0
"""A record belongs to a hotspot within this distance of its line, beyond the record's own position error."""

SUBTRACTION_WORDS = (
    "Hotspots were found from all turtles together. The dead drawn are those on this page near the "
    "hotspot, chance finds and doubles among them; ratios are rounded, so that nobody can place the masked records by "
    "subtraction."
)

# fmt: off
PUBLIC_HOTSPOTS = (
    "rank", "road", "road_part", "from_m", "to_m", "length_m", "longitude_from", "latitude_from", "longitude_to",
    "latitude_to", "deaths", "expected", "ratio", "ratio_low", "ratio_high", "p_value", "basis", "years_present",
    "years_searched", "share_of_deaths", "route_id", "milepost_from", "milepost_to", "agency", "geometry",
)
# fmt: on

_TELLTALE = ("deaths", "expected", "p_value", "share_of_deaths", "years_present")
_RATIOS = ("ratio", "ratio_low", "ratio_high")

_SEAL = object()


@dataclass(frozen=True)
class ShownHotspots:
    """
    Hotspots that one audience may see; only :func:`show_hotspots` makes it.

    Raises
    ------
    RoadwatchError
        It was built by hand instead of by :func:`show_hotspots`.
    """

    audience: Audience
    table: gpd.GeoDataFrame
    statements: tuple[str, ...]
    seal: InitVar[object] = None

    def __post_init__(self, seal: object) -> None:
        if seal is not _SEAL:
            raise RoadwatchError("hotspots can only be shown through show_hotspots(); build none by hand")


def show_hotspots(
    hotspots: gpd.GeoDataFrame,
    crossings: pd.DataFrame,
    *,
    audience: Audience,
    sensitive: Collection[str],
    known: Collection[str],
) -> ShownHotspots:
    """
    Decide which hotspots one audience may see.

    The public sees a hotspot that holds at least three records of taxa that are not sensitive. Where any hotspot of
    the list also holds masked records, its number of dead gives way to ``dead_drawn``, the dead drawn there, the
    ratio is rounded to whole numbers and the other numbers are left out, for all hotspots alike: otherwise the
    difference between a hotspot's number and the points drawn in it would place the masked ones.

    Parameters
    ----------
    hotspots
        Line geometry in any CRS, with the columns of a ranked list of hotspots.
    crossings
        The records they were computed from, canonical columns.
    audience, sensitive, known
        As in :func:`roadwatch.share.masking.show_places`.

    Returns
    -------
    Sealed hotspots in EPSG:4326; ranks stay those of the full list, so a number can be missing.

    Source
    ------
    chapman2020
    """
    table = hotspots.reset_index(drop=True)
    table = table.to_crs("EPSG:4326") if table.crs is not None else table.set_crs("EPSG:4326")
    if audience == "team" or table.empty:
        return ShownHotspots(audience=audience, table=table, statements=(), seal=_SEAL)
    masked = must_mask(crossings, sensitive=sensitive, known=known)
    lies_in = _lies_in(table, crossings)
    n_open = lies_in[:, ~masked].sum(axis=1)
    kept = n_open >= LEAST_RECORDS
    known_columns = [name for name in table.columns if name in PUBLIC_HOTSPOTS]
    shown = table.loc[kept, known_columns].reset_index(drop=True)
    told = _hidden_words(int((~kept).sum()), len(table))
    if lies_in[kept][:, masked].any():
        shown = _without_telltales(shown, _dead_drawn(crossings, lies_in[kept] & ~masked))
        told += (SUBTRACTION_WORDS,)
    return ShownHotspots(audience=audience, table=shown, statements=told, seal=_SEAL)


def _hidden_words(n_hidden: int, n_all: int) -> tuple[str, ...]:
    if not n_hidden:
        return ()
    hidden = (
        f"Hotspots not shown to the public: {n_hidden} of {n_all}, because fewer than {LEAST_RECORDS} records of taxa "
        "open to everybody lie in them. Ranks are those of the full list."
    )
    return (hidden,)


def _lies_in(hotspots: gpd.GeoDataFrame, crossings: pd.DataFrame) -> NDArray[np.bool_]:
    """Tell for every hotspot and record whether the record lies there; (hotspots, records)."""
    metric = hotspots.estimate_utm_crs()
    lines = hotspots.geometry.to_crs(metric)
    points = gpd.GeoSeries(gpd.points_from_xy(crossings["longitude"], crossings["latitude"]), crs="EPSG:4326")
    error_m = pd.to_numeric(crossings.get("position_error_m", pd.Series(np.nan, index=crossings.index)))
    reach_m = error_m.fillna(DEFAULT_POSITION_ERROR_M).to_numpy(dtype=float) + REACH_M
    lies_in = np.zeros((len(hotspots), len(crossings)), dtype=bool)
    record, hotspot = lines.sindex.query(points.to_crs(metric), predicate="dwithin", distance=reach_m)
    lies_in[hotspot, record] = True
    return lies_in


def _dead_drawn(crossings: pd.DataFrame, drawn: NDArray[np.bool_]) -> NDArray[np.float64]:
    condition = crossings.get("condition", pd.Series(None, index=crossings.index, dtype=object))
    count = pd.to_numeric(crossings.get("count", pd.Series(1.0, index=crossings.index))).fillna(1.0)
    dead = np.where(condition == "dead", count.to_numpy(dtype=float), 0.0)
    return (drawn @ dead).astype(np.float64)


def _without_telltales(hotspots: gpd.GeoDataFrame, dead: NDArray[np.float64]) -> gpd.GeoDataFrame:
    blanked = {name: np.nan for name in _TELLTALE if name in hotspots.columns}
    rounded = {name: hotspots[name].astype(float).round() for name in _RATIOS if name in hotspots.columns}
    return hotspots.assign(**blanked, **rounded).assign(dead_drawn=dead)
