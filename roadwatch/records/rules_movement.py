"""Rules on time and place together: the hour of the day, and how fast an observer or a search can be."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.rules import CheckContext, Faulty, number_of, rule, text_of
from roadwatch.records.rules_place import is_elsewhere, is_null_island, is_slip

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from roadwatch.records.fields import Kind

FASTEST_OBSERVER_KMH = 150.0
"""Nobody drives faster between two finds (a convention)."""

CLOCK_ERROR_S, ROUNDED_CLOCK_ERROR_S = 60.0, 300.0
"""Clock times are taken as good to a minute, two that stand on five minutes as rounded to them (a convention)."""

SHORTEST_JUMP_KM = 1.0
"""Nearer places are never asked about, as clocks and positions err."""

FASTEST_SEARCH_KMH = {"foot": 8.0, "bicycle": 40.0, "car": 110.0}
"""Mean speeds beyond which nobody searches a road (a convention)."""

NIGHT = ("22", "23", "00", "01", "02", "03", "04")
"""Local hours in which turtles that bask do not walk (common practice, no source)."""

BASKING = ("Trachemys", "Pseudemys", "Chrysemys", "Graptemys", "Deirochelys")

EARTH_RADIUS_KM = 6371.0088
WHO_WAS_WHERE: dict[Kind, tuple[str, ...]] = {
    "crossings": ("observed_at", "observer", "longitude", "latitude"),
    "nests": ("found_at", "observer", "longitude", "latitude"),
}
"""What tells where an observer was and when; the time stands first."""


def _enter_speed_rule(kind: Kind, column: str) -> None:
    @rule(
        "an observer travels at most 150 km/h from one record to the next",
        kinds=(kind,),
        severity="ask",
        columns=(column, "longitude", "latitude", "observer"),
        fault=f"{{observer}} cannot have come to longitude {{longitude}}, latitude {{latitude}} by {{{column}}}: "
        "from this observer's record before, or on to the next that the season holds, it is more than 150 km/h",
        cure="look at the times, the places and the observer of both records",
    )
    def _is_too_fast(table: pd.DataFrame, context: CheckContext) -> Faulty:
        is_misplaced = is_null_island(table, context) | is_slip(table, context) | is_elsewhere(table, context)
        is_fast = np.zeros(len(table), dtype=bool)
        is_fast[~is_misplaced] = _is_too_far(table[~is_misplaced], kind, context.earlier)
        return is_fast


for _kind, (_column, *_) in WHO_WAS_WHERE.items():
    _enter_speed_rule(_kind, _column)


def _is_too_far(table: pd.DataFrame, kind: Kind, earlier: pd.DataFrame | None) -> Faulty:
    """True where an observer came too fast from the record before, or on to the next where the season holds that."""
    parts = [table.reindex(columns=[*WHO_WAS_WHERE[kind]])]
    if earlier is not None:
        is_met = earlier["observer"].isin(set(parts[0]["observer"].dropna()))
        parts.append(earlier.loc[is_met, [*WHO_WAS_WHERE[kind]]])
    before, after, kmh = _legs(pd.concat(parts, ignore_index=True), WHO_WAS_WHERE[kind][0])
    is_fast = kmh > FASTEST_OBSERVER_KMH
    at_fault = np.where(after < len(table), after, before)[is_fast]
    too_far: Faulty = np.isin(np.arange(len(table)), at_fault)
    return too_far


def speeds_kmh(table: pd.DataFrame, column: str) -> NDArray[np.float64]:
    """
    Speed at which each record's observer came from their record before, in km/h.

    Parameters
    ----------
    table
        (n,) records with ``observer``, ``longitude``, ``latitude`` and times.
    column
        Name of the time; a day without a time of day tells nothing.

    Returns
    -------
    (n,) the least speed that the clocks allow; 0 for a jump of less than a kilometre; nan where it is the
    observer's first record or where something is not known.
    """
    speed = np.full(len(table), np.nan)
    _, after, kmh = _legs(table, column)
    speed[after] = kmh
    return speed


def _legs(table: pd.DataFrame, column: str) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    """From which row to which row each observer went, and the least speed in km/h that the clocks allow."""
    times, observers = text_of(table, column), text_of(table, "observer")
    longitude, latitude = number_of(table, "longitude"), number_of(table, "latitude")
    is_known = ((times.str.len() > 10) & (observers != "")).to_numpy(dtype=bool)
    rows = np.flatnonzero(is_known & np.isfinite(longitude) & np.isfinite(latitude))
    if len(rows) < 2:
        return np.empty(0, np.int64), np.empty(0, np.int64), np.empty(0)
    instants = pd.to_datetime(times.iloc[rows], utc=True, format="ISO8601").dt.tz_convert(None)
    seconds = instants.to_numpy().astype("datetime64[s]").astype(np.int64)
    person = pd.factorize(observers.iloc[rows])[0]
    order = np.lexsort((seconds, person))
    rows, seconds, person = rows[order], seconds[order], person[order]
    is_rounded = seconds % int(ROUNDED_CLOCK_ERROR_S) == 0
    error_s = np.where(is_rounded[1:] & is_rounded[:-1], ROUNDED_CLOCK_ERROR_S, CLOCK_ERROR_S)
    hours = (np.diff(seconds) + error_s) / 3600.0
    apart_km = _distance_km(longitude[rows[:-1]], latitude[rows[:-1]], longitude[rows[1:]], latitude[rows[1:]])
    least = np.where(apart_km < SHORTEST_JUMP_KM, 0.0, apart_km / hours)
    is_one = np.diff(person) == 0
    return rows[:-1][is_one], rows[1:][is_one], least[is_one]


def _distance_km(
    lon_from: NDArray[np.float64],
    lat_from: NDArray[np.float64],
    lon_to: NDArray[np.float64],
    lat_to: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Great-circle distances on a sphere (haversine formula)."""
    lon_1, lat_1, lon_2, lat_2 = map(np.radians, (lon_from, lat_from, lon_to, lat_to))
    half = np.sin((lat_2 - lat_1) / 2) ** 2 + np.cos(lat_1) * np.cos(lat_2) * np.sin((lon_2 - lon_1) / 2) ** 2
    return np.asarray(2 * EARTH_RADIUS_KM * np.arcsin(np.sqrt(np.clip(half, 0, 1))), dtype=np.float64)


@rule(
    "a turtle that basks does not cross at night",
    kinds=("crossings",),
    severity="note",
    columns=("observed_at", "taxon"),
    fault="a living {taxon} on the road at {observed_at} is unusual",
    cure="look at the time, am or pm, and at the name",
)
def is_night_walk(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """A living basking turtle in the night hours; a carcass may be found at any time."""
    times, taxa = text_of(table, "observed_at"), text_of(table, "taxon")
    is_alive = text_of(table, "condition") == "alive"
    is_basker: Faulty = np.any([context.taxonomy.within(taxa, asked=genus) for genus in BASKING], axis=0)
    is_night: Faulty = (is_alive & times.str[11:13].isin(NIGHT)).to_numpy(dtype=bool)
    return is_night & is_basker & ~is_midnight(table, context)


@rule(
    "a time of day is not midnight to the second",
    kinds=("crossings",),
    severity="note",
    columns=("observed_at",),
    fault="observed_at {observed_at} is midnight to the second, which devices write where no time was noted",
    cure="write the day alone where the time is not known",
)
def is_midnight(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """A local time of 00:00:00."""
    return (text_of(table, "observed_at").str[11:19] == "00:00:00").to_numpy(dtype=bool)


@rule(
    "a search is not faster than its method allows",
    kinds=("searches",),
    severity="ask",
    columns=("distance_km", "started_at", "ended_at", "method"),
    fault="{distance_km} km from {started_at} to {ended_at} are too fast for a search by {method}",
    cure="correct the distance, the times or the method",
)
def is_racing_search(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Mean speed beyond that of the method."""
    start, end = text_of(table, "started_at"), text_of(table, "ended_at")
    is_timed = ((start.str.len() > 10) & (end.str.len() > 10)).to_numpy(dtype=bool)
    first, last = (pd.to_datetime(text.where(is_timed, None), utc=True, format="ISO8601") for text in (start, end))
    hours = ((last - first) / pd.Timedelta(hours=1)).to_numpy(dtype=np.float64)
    fastest = text_of(table, "method").map(FASTEST_SEARCH_KMH).to_numpy(dtype=np.float64)
    is_fast: Faulty = (hours > 0) & (number_of(table, "distance_km") > fastest * hours)
    return np.asarray(is_fast, dtype=bool)


@rule(
    "a search says where it went",
    kinds=("searches",),
    severity="ask",
    columns=("roads", "track", "distance_km"),
    fault="neither roads nor a track is given, so the search counts for no road",
    cure="write the names of the roads, or send the GPS track",
)
def is_search_nowhere(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Neither the names of roads nor a track."""
    is_named = text_of(table, "search_id") != ""
    return (is_named & (text_of(table, "roads") == "") & (text_of(table, "track") == "")).to_numpy(dtype=bool)
