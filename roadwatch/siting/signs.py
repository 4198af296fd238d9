"""Where a seasonal warning sign stands before each hotspot, and when it is needed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from roadwatch.roads.reference import milepost, points_on_edges, road_measure
from roadwatch.siting.sign_distances import TABLE_NAME, advance_distance_m, distances_told
from roadwatch.siting.sign_evidence import SIGN_EVIDENCE
from roadwatch.siting.sign_times import LATE_CARCASS, LEAST_NEAR, times_of
from roadwatch.siting.sign_walk import SignPlace, Zone, walk_upstream
from roadwatch.units import METRES_PER_MILE

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping

    from roadwatch.roads.network import Network

NEAR_M = 300.0
"""Crossings this far along the road from a hotspot tell when it is crossed (a convention)."""
WINDS = ("northbound", "north-eastbound", "eastbound", "south-eastbound")
WINDS_BACK = ("southbound", "south-westbound", "westbound", "north-westbound")
LOOK_BACK_M = 20.0
"""The direction of travel is that of the road over so many metres."""
COLUMNS = (
    *("hotspot", "status", "zone_road", "zone_from_m", "zone_to_m", "approach", "road", "road_part", "sign_m"),
    *("longitude", "latitude", "distance_m", "wanted_m", "speed_limit_mph", "milepost", "milepost_unit", "route_id"),
    *("agency", "on_from", "on_from_low", "on_from_high", "on_to", "on_to_low", "on_to_high", "days_basis"),
    *("days_crossings", "hours_from", "hours_from_low", "hours_from_high", "hours_to", "hours_to_low"),
    *("hours_to_high", "hours_basis", "hours_crossings", "note"),
)


@dataclass(frozen=True)
class SignPlan:
    """
    Proposed signs, and what must be known beside them.

    Parameters
    ----------
    table
        One row a sign, WGS 84, columns ``COLUMNS``; no place where the speed limit is unknown.
    notes
        Plain sentences: table used, evidence, how days and hours were found, cautions.
    """

    table: gpd.GeoDataFrame
    notes: tuple[str, ...]


def plan_signs(
    network: Network, hotspots: pd.DataFrame, crossings: pd.DataFrame, *, rng: np.random.Generator
) -> SignPlan:
    """
    Propose a sign on every road that leads into each hotspot, with the days and hours on which it is needed.

    Parameters
    ----------
    network
        The roads.
    hotspots
        Ranked hotspots and places of the watch list: ``rank status road road_part from_m to_m``.
    crossings
        Animals on roads, alive and dead, one row each: ``edge offset_m observed_at condition carcass_age``.
    rng
        Source of chance for the bootstrap of days and hours.

    Source
    ------
    mutcd2023, efron1979, pojar1975, meyer2006, sullivan2004
    """
    road, part, road_m = road_measure(
        network, crossings["edge"].to_numpy(dtype=np.int64), crossings["offset_m"].to_numpy(dtype=np.float64)
    )
    placed = crossings.assign(road=road, road_part=part, road_m=road_m)
    rows: list[dict[str, object]] = []
    for hotspot in hotspots.to_dict("records"):
        zone = Zone(str(hotspot["road"]), int(hotspot["road_part"]), float(hotspot["from_m"]), float(hotspot["to_m"]))
        signs = walk_upstream(network, zone)
        if signs:
            times = times_of(_near(placed, zone), placed, rng=rng)
            rows += [_about(hotspot, zone, sign, times) for sign in signs]
            rows[-len(signs) :] = [
                row | _position(network, sign) for row, sign in zip(rows[-len(signs) :], signs, strict=True)
            ]
    _note_other_zones(rows, hotspots)
    table = pd.DataFrame(rows, columns=[*COLUMNS, "geometry"])
    found = gpd.GeoDataFrame(table, geometry="geometry", crs="EPSG:4326")
    return SignPlan(found, sign_notes(found))


def sign_notes(table: pd.DataFrame) -> tuple[str, ...]:
    """
    Write what must be known beside a table of signs.

    Parameters
    ----------
    table
        The signs, columns ``COLUMNS``.
    """
    unknown = int(table["speed_limit_mph"].isna().sum())
    blank = (
        f"{unknown} of {len(table)} approaches have no speed limit in the road layer: no place is given for "
        "them, only the distance for several speeds. Ask the road authority for the posted limit."
    )
    return (
        (
            f"Distances: {TABLE_NAME}, known from a secondary copy and not compared with the manual: check against "
            "the edition in force. The table lets signs for animals be placed by engineering judgement; add 100 "
            "ft where the legend is small or long. These places are a suggestion to the road authority, not a"
            " design."
        ),
        *((blank,) if unknown else ()),
        SIGN_EVIDENCE,
        (
            "Days: the shortest interval that holds 80 % of the crossings, alive or dead "
            f"({', '.join(LATE_CARCASS)} carcasses left out), from those within {NEAR_M:.0f} m of the hotspot "
            f"or, under {LEAST_NEAR} of them, from the whole county (column days_basis); low and high are its "
            "90 % bootstrap interval. Days on which nobody looked hold no crossings: the season may be longer"
            " than the searches."
        ),
        (
            "Hours: the same from animals seen alive only, as a carcass tells when somebody came by. People "
            "look at certain hours, so turtles may cross at others too."
        ),
        (
            "Cautions: signs beside a road need the road authority's leave and follow local codes; their "
            "place and form are for a licensed engineer; work beside traffic needs traffic control."
        ),
    )


def _near(placed: pd.DataFrame, zone: Zone) -> pd.DataFrame:
    on_road = (placed["road"] == zone.road) & (placed["road_part"] == zone.road_part)
    return placed[on_road & placed["road_m"].between(zone.from_m - NEAR_M, zone.to_m + NEAR_M)]


def _about(
    hotspot: Mapping[Hashable, object], zone: Zone, sign: SignPlace, times: Mapping[str, object]
) -> dict[str, object]:
    return {
        "hotspot": hotspot["rank"],
        "status": hotspot["status"],
        "zone_road": zone.road,
        "zone_from_m": zone.from_m,
        "zone_to_m": zone.to_m,
        "distance_m": sign.distance_m,
        "wanted_m": sign.wanted_m,
        "speed_limit_mph": sign.speed_limit_mph,
        **times,
        "note": "; ".join(_remarks(hotspot, zone, sign, times)),
    }


def _remarks(hotspot: Mapping[Hashable, object], zone: Zone, sign: SignPlace, times: Mapping[str, object]) -> list[str]:
    """What is particular to one sign, in short phrases."""
    length_m = zone.to_m - zone.from_m
    no_limit = not sign.speed_limit_mph > 0.0
    told = {
        "not a confirmed hotspot": hotspot["status"] == "watch list",
        "provisional: few animals, days or people behind it": hotspot["status"] == "provisional",
        f"speed limit unknown, so no place is given: {distances_told()} ahead of the hotspot": no_limit,
        f"{sign.speed_limit_mph:.0f} mph is beyond the table: an engineer must say the distance": (
            not no_limit and np.isnan(sign.wanted_m)
        ),
        f"the road ends {sign.distance_m:.0f} m from the hotspot, short of {sign.wanted_m:.0f} m": sign.is_road_end,
        f"{sign.n_junctions} junction{'s' * (sign.n_junctions > 1)} between sign and hotspot; every road there has "
        "its own sign": sign.n_junctions > 0,
        "the distance is that of a faster road on the way": sign.wanted_m
        > advance_distance_m(sign.speed_limit_mph) + 1e-6,
        f"the hotspot is {length_m / METRES_PER_MILE:.1f} miles long: repeat the sign in it, or say for how far": (
            length_m > METRES_PER_MILE
        ),
        "days are the county's, too few crossings near": times["days_basis"] == "county",
        "days unknown, too few crossings": times["days_basis"] == "none",
        "hours are the county's, too few seen alive near": times["hours_basis"] == "county",
        "hours unknown, too few seen alive": times["hours_basis"] == "none",
    }
    return [phrase for phrase, holds in told.items() if holds]


def _position(network: Network, sign: SignPlace) -> dict[str, object]:
    edge, offset_m = np.array([sign.edge]), np.array([sign.offset_m])
    road, part, metre = road_measure(network, edge, offset_m)
    row = network.edges.iloc[sign.edge]
    known = {
        "road": road[0],
        "road_part": part[0],
        "route_id": row["route_id"],
        "agency": row["agency"],
        "approach": _direction(network, sign),
    }
    if np.isnan(sign.wanted_m):
        return known
    post = milepost(network, edge, offset_m)
    local = points_on_edges(network, edge, offset_m)
    point = gpd.GeoSeries(local, crs=network.crs).to_crs("EPSG:4326").iloc[0]
    return known | {
        "sign_m": float(metre[0]),
        "longitude": point.x,
        "latitude": point.y,
        "milepost": float(post.value[0]),
        "milepost_unit": post.unit[0],
        "geometry": point,
    }


def _direction(network: Network, sign: SignPlace) -> str:
    """The way a driver goes who passes the sign towards the hotspot."""
    length_m = float(network.edges["length_m"].iloc[sign.edge])
    back = LOOK_BACK_M if sign.towards_reverse else -LOOK_BACK_M
    behind_m, at_m = np.clip([sign.offset_m + back, sign.offset_m], 0.0, length_m)
    if behind_m == at_m:
        at_m = float(np.clip(sign.offset_m - back, 0.0, length_m))
    edge = np.array([sign.edge, sign.edge])
    behind, at = points_on_edges(network, edge, np.array([behind_m, at_m]))
    angle = np.degrees(np.arctan2(at.x - behind.x, at.y - behind.y)) % 360.0
    return (*WINDS, *WINDS_BACK)[round(angle / 45.0) % 8]


def _note_other_zones(rows: list[dict[str, object]], hotspots: pd.DataFrame) -> None:
    """Say at each sign that stands inside another hotspot which one that is."""
    for row in rows:
        inside = hotspots[
            (hotspots["road"] == row["road"])
            & (hotspots["road_part"] == row["road_part"])
            & (hotspots["from_m"] <= row.get("sign_m", np.nan))
            & (hotspots["to_m"] >= row.get("sign_m", np.nan))
        ]
        for other in inside.itertuples():
            name = f"{'watch-list place' if other.status == 'watch list' else 'hotspot'} {other.rank}"
            row["note"] = "; ".join(filter(None, [str(row["note"]), f"stands inside {name}: one sign may do for both"]))
