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
from roadwatch.share.open_rows import column

if TYPE_CHECKING:
    from collections.abc import Collection

    from numpy.typing import NDArray

    from roadwatch.share.masking import Audience

REACH_M = 30.0
"""A record belongs to a hotspot within this distance of its line, beyond the record's own position error."""

OPEN_WORDS = (
    "Hotspots of the public view were found from the crossings that it shows where they lie, and from no other, so "
    "that no comparison places a masked record; the team's list, found from all turtles, can differ."
)

# fmt: off
PUBLIC_HOTSPOTS = (
    "rank", "road", "road_part", "from_m", "to_m", "length_m", "longitude_from", "latitude_from", "longitude_to",
    "latitude_to", "deaths", "expected", "ratio", "ratio_low", "ratio_high", "p_value", "basis", "years_present",
    "years_searched", "share_of_deaths", "route_id", "milepost_from", "milepost_to", "agency", "geometry",
)
# fmt: on

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

    Where a hotspot begins and ends, its p-value and its rank follow every record that it was found from: somebody who
    searches for hotspots among the crossings drawn would see by the difference where the masked ones lie, and so
    would somebody who lays one year over all years, or one release over the next. Leaving out numbers does not mend
    that. So the public sees hotspots that were found from open records alone, and of these the ones that hold at
    least three; what follows from public records only tells nothing of the others.

    Parameters
    ----------
    hotspots
        Line geometry in any CRS, with the columns of a ranked list of hotspots.
    crossings
        The records they were found from, canonical columns; for the public those of
        :func:`roadwatch.season.open_season.open_season`, whose column ``is_public`` says that they were shown before.
    audience, sensitive, known
        As in :func:`roadwatch.share.masking.show_places`.

    Returns
    -------
    Sealed hotspots in EPSG:4326; ranks stay those of the full list, so a number can be missing.

    Raises
    ------
    RoadwatchError
        Hotspots for the public were found from a record that must be masked.

    Source
    ------
    chapman2020, dwork2014
    """
    table = hotspots.reset_index(drop=True)
    table = table.to_crs("EPSG:4326") if table.crs is not None else table.set_crs("EPSG:4326")
    if audience == "team" or table.empty:
        return ShownHotspots(audience=audience, table=table, statements=(), seal=_SEAL)
    is_public = column(crossings, "is_public").isin([True]).to_numpy(dtype=bool)
    n_masked = int((must_mask(crossings, sensitive=sensitive, known=known) & ~is_public).sum())
    if n_masked:
        raise RoadwatchError(
            f"hotspots for the public were found from {n_masked} records that must be masked; find them from "
            "open_season(...), which holds open records alone"
        )
    kept = _records_in(table, crossings) >= LEAST_RECORDS
    shown = table.loc[kept, [name for name in table.columns if name in PUBLIC_HOTSPOTS]].reset_index(drop=True)
    told = (OPEN_WORDS, *_hidden_words(int((~kept).sum()), len(table)))
    return ShownHotspots(audience=audience, table=shown, statements=told, seal=_SEAL)


def _hidden_words(n_hidden: int, n_all: int) -> tuple[str, ...]:
    if not n_hidden:
        return ()
    hidden = (
        f"Hotspots not shown to the public: {n_hidden} of {n_all}, because fewer than {LEAST_RECORDS} records "
        "lie in them. Ranks are those of the full list."
    )
    return (hidden,)


def _records_in(hotspots: gpd.GeoDataFrame, crossings: pd.DataFrame) -> NDArray[np.int64]:
    """Count for every hotspot the records that lie there."""
    metric = hotspots.estimate_utm_crs()
    lines = hotspots.geometry.to_crs(metric)
    points = gpd.GeoSeries(gpd.points_from_xy(crossings["longitude"], crossings["latitude"]), crs="EPSG:4326")
    error_m = pd.to_numeric(crossings.get("position_error_m", pd.Series(np.nan, index=crossings.index)))
    reach_m = error_m.fillna(DEFAULT_POSITION_ERROR_M).to_numpy(dtype=float) + REACH_M
    _, hotspot = lines.sindex.query(points.to_crs(metric), predicate="dwithin", distance=reach_m)
    return np.bincount(hotspot, minlength=len(hotspots))
