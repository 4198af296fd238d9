"""Write the searches of each season, most of which found nothing, and two recorded as GPX tracks."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from make_animals import TIMEZONE
from make_exports import write_track
from make_rows import Row, write_table
from make_seasons import YEARS, Meeting, Search
from shapely import Point
from shapely.ops import substring

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from make_county import Hotspot, Road

TRACK_REACH_M = 1_300.0


def write_searches(folder: Path, searches: list[Search], meetings: list[Meeting]) -> None:
    """One CSV a season; a search without a find says so."""
    with_finds = {meeting.search.search_id for meeting in meetings if meeting.search}
    for year in YEARS:
        rows = [_row(s, is_empty=s.search_id not in with_finds) for s in searches if s.start.year == year]
        write_table(folder / f"searches_{year}.csv", rows)


def _row(search: Search, *, is_empty: bool) -> Row:
    return {
        "search_id": search.search_id,
        "started_at": _stamp(search.start),
        "ended_at": _stamp(search.end),
        "observer": search.observer,
        "method": search.method,
        "sides": "1" if search.method == "bicycle" else "2",
        "roads": ";".join(search.roads),
        "distance_km": f"{search.distance_km:.2f}",
        "found_none": "true" if is_empty else "false",
        "notes": "invented",
    }


def _stamp(when: datetime) -> str:
    return when.replace(tzinfo=TIMEZONE).isoformat(timespec="minutes")


def write_tracks(folder: Path, roads: list[Road], hotspots: list[Hotspot], searches: list[Search]) -> None:
    """Two walks past the first and the third hotspot, recorded by a hand-held GPS; they found nothing."""
    for hotspot, year in ((hotspots[0], 2024), (hotspots[2], 2023)):
        line = next(road.line for road in roads if road.name == hotspot.road)
        at = line.project(Point(hotspot.centre))
        part = substring(line, at - TRACK_REACH_M, at + TRACK_REACH_M)
        stops = np.arange(0.0, part.length, 60.0)
        track = np.array([[p.x, p.y] for p in (part.interpolate(stop) for stop in stops)])
        model = next(s for s in searches if s.start.year == year and s.method == "foot" and s.start.month == 6)
        search = replace(model, search_id=f"T{year % 100}-01", roads=[], distance_km=part.length / 1_000, track=track)
        write_track(folder / f"track_{year}.gpx", search)
