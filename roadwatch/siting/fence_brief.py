"""What a sheet about one place for fencing holds; made by the season, drawn by the pages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping

    import geopandas as gpd
    import pandas as pd

    from roadwatch.roads.arrays import FloatArray

CAUTIONS = (
    "Work on or beside a road needs the leave of the road authority and its traffic control. Never enter the roadway.",
    "The design of fences, ends and passages follows local codes and is for licensed engineers; this only says where.",
    "A fence without passages cuts animals off from water, nests and mates, and kills those that get behind it.",
    "Plan passages with the fence, and ends that turn animals back.",
    "A fence works as long as it has no gap: plan who inspects and mends it each year.",
    "Statistics show where, not why. Look at the place with someone who knows the animals before anything is built.",
)


@dataclass(frozen=True)
class Alternative:
    """Something else that could be done: in words, with what it averts and its 95 % interval; nan where unknown."""

    what: str
    averted: float
    low: float
    high: float


@dataclass(frozen=True)
class PlaceSheet:
    """
    One place.

    Parameters
    ----------
    run
        Its row of the runs.
    road_m, rate, rate_low, rate_high
        (k,) Metres along the road from some way before the run to some way after it, and deaths per km and year there
        with the 95 % interval.
    usual
        Deaths per km and year on all searched road.
    alternatives
        What else could be done.
    """

    run: Mapping[Hashable, object]
    road_m: FloatArray
    rate: FloatArray
    rate_low: FloatArray
    rate_high: FloatArray
    usual: float
    alternatives: tuple[Alternative, ...]


@dataclass(frozen=True)
class FenceBrief:
    """
    All places of a plan.

    Parameters
    ----------
    season
        Name of the season.
    places
        The places, best first.
    runs, roads, water
        Lines of the runs, roads and water around them, WGS 84.
    curve
        ``length_m averted_per_year low high``.
    asked_m
        Length of fence that was asked for.
    counted
        What deaths are those of: ``recorded dead``, or ``killed`` where a carcass trial says how many stay unrecorded.
    unknown, notes
        Sentences on what is not known, and on everything that a reader must know.
    team_only
        Whether the sheet is not for everybody.
    """

    season: str
    places: tuple[PlaceSheet, ...]
    runs: gpd.GeoDataFrame
    roads: gpd.GeoDataFrame
    water: gpd.GeoDataFrame
    curve: pd.DataFrame
    asked_m: float
    counted: str
    unknown: tuple[str, ...]
    notes: tuple[str, ...]
    team_only: bool
