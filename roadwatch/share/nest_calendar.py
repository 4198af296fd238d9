"""Hatch windows as calendars: day by day and nest by nest for the team, by month for the whole county for others."""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

from icalendar import Calendar, Event

from roadwatch.errors import NotEnoughDataError
from roadwatch.share.calendar import FIRST_VERSION, NAMES, TEAM_WORDS
from roadwatch.share.grid import LEAST_RECORDS
from roadwatch.share.windows import MONTHS

if TYPE_CHECKING:
    import pandas as pd

PRODUCT = "-//Roadwatch//Hatch windows//EN"


def team_calendar(nests: pd.DataFrame, *, season: str, as_of: date) -> bytes:
    """
    Write an all-day event for the hatch window of each nest, with its place.

    Parameters
    ----------
    nests
        ``nest_id longitude latitude taxon`` and the days ``hatch_early hatch_likely hatch_late``.
    season
        Name of the season, part of every event's id: later windows change the events of earlier ones.
    as_of
        Day for which the windows hold; later days have a higher ``SEQUENCE``.

    Raises
    ------
    NotEnoughDataError
        No nest has a window.

    Source
    ------
    rfc5545
    """
    calendar = _calendar(f"Hatch windows, {season} (team only)")
    for row in nests.dropna(subset=["hatch_early", "hatch_late"]).sort_values("nest_id").to_dict("records"):
        name = str(row["nest_id"])
        event = _event(f"{season}/{name}", as_of=as_of)
        event.add("dtstart", date.fromisoformat(row["hatch_early"]))
        event.add("dtend", date.fromisoformat(row["hatch_late"]) + timedelta(days=1))
        event.add("summary", f"Nest {name}: hatch window (team only)")
        likely = f"Most likely {row['hatch_likely']}." if isinstance(row["hatch_likely"], str) else ""
        event.add("description", f"{TEAM_WORDS} {row['taxon']}. {likely}".strip())
        event.add("geo", (round(row["latitude"], 6), round(row["longitude"], 6)))
        event.add("class", "PRIVATE")
        calendar.add_component(event)
    return _written(calendar)


def public_calendar(windows: pd.DataFrame, *, season: str, as_of: date, words: tuple[str, ...]) -> bytes:
    """
    Write one event from the first to the last month in which nests of the county may hatch; no nest and no place.

    Parameters
    ----------
    windows
        ``hatch_early hatch_late`` of nests that are counted in some released square.
    season, as_of
        As in :func:`team_calendar`.
    words
        Sentences that belong beside every use.

    Raises
    ------
    NotEnoughDataError
        Fewer than three nests have a window: the months of one would be told.

    Source
    ------
    rfc5545
    """
    told = windows.dropna(subset=["hatch_early", "hatch_late"])
    calendar = _calendar(f"Hatching months, {season}")
    for year, rows in told.groupby(told["hatch_early"].str[:4], sort=True):
        if len(rows) < LEAST_RECORDS:
            continue
        first, last = date.fromisoformat(rows["hatch_early"].min()), date.fromisoformat(rows["hatch_late"].max())
        event = _event(f"{season}/months/{year}", as_of=as_of)
        event.add("dtstart", first.replace(day=1))
        event.add("dtend", (last.replace(day=1) + timedelta(days=32)).replace(day=1))
        event.add(
            "summary", f"Turtle nests of the county may hatch: {MONTHS[first.month - 1]} to {MONTHS[last.month - 1]}"
        )
        event.add("description", " ".join(words))
        calendar.add_component(event)
    return _written(calendar)


def _calendar(name: str) -> Calendar:
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", name)
    return calendar


def _event(name: str, *, as_of: date) -> Event:
    event = Event()
    event.add("uid", f"{uuid.uuid5(NAMES, name)}@windows.roadwatch.invalid")
    event.add("dtstamp", datetime.combine(as_of, time(), tzinfo=UTC))
    event.add("sequence", max((as_of - FIRST_VERSION).days, 0))
    event.add("transp", "TRANSPARENT")
    return event


def _written(calendar: Calendar) -> bytes:
    if not calendar.subcomponents:
        raise NotEnoughDataError(
            "not enough data: no hatch window can be put into this calendar; see 'roadwatch hatch' for what is missing"
            f", and for the public at least {LEAST_RECORDS} nests of a year need a window"
        )
    content: bytes = calendar.to_ical()
    return content
