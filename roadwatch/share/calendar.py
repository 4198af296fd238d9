"""A plan of nest rounds as an iCalendar file: an all-day event for each person and day, without any position."""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

from icalendar import Calendar, Event

if TYPE_CHECKING:
    import pandas as pd

TEAM_WORDS = "Team only: do not pass on."
PRODUCT = "-//Roadwatch//Nest rounds//EN"
NAMES = uuid.UUID("6f0d6a52-6a0e-5e0c-9a6d-0c7b8f3d9a11")
"""Space of names from which the ids of events are made."""

FIRST_VERSION = date(2000, 1, 1)


def rounds_calendar(visits: pd.DataFrame, *, season: str, as_of: date, cautions: tuple[str, ...] = ()) -> bytes:
    """
    Write a plan for calendars.

    Parameters
    ----------
    visits
        Rows with ``date nest_id observer order reason``.
    season
        Name of the season, part of every event's id: a new plan of the same season changes the events of the old one.
    as_of
        Day that the plan starts from: a later plan has a higher ``SEQUENCE``, and the stamp is its midnight.
    cautions
        Sentences put into every event.

    Returns
    -------
    The file; the same plan gives the same bytes. It holds names of nests and people, and no place.

    Source
    ------
    rfc5545
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", f"Nest rounds, {season} (team only)")
    for (day, observer), rows in visits.groupby(["date", "observer"], sort=True):
        calendar.add_component(_event(str(day), str(observer), rows, season=season, as_of=as_of, cautions=cautions))
    content: bytes = calendar.to_ical()
    return content


def _event(
    day: str, observer: str, rows: pd.DataFrame, *, season: str, as_of: date, cautions: tuple[str, ...]
) -> Event:
    ordered = rows.sort_values("order", kind="stable")
    stops = [
        f"{order}. {nest}: {reason}"
        for order, nest, reason in zip(ordered["order"], ordered["nest_id"], ordered["reason"], strict=True)
    ]
    count = f"{len(stops)} nest" if len(stops) == 1 else f"{len(stops)} nests"
    begin = date.fromisoformat(day)
    event = Event()
    event.add("uid", f"{uuid.uuid5(NAMES, f'{season}/{day}/{observer}')}@rounds.roadwatch.invalid")
    event.add("dtstamp", datetime.combine(as_of, time(), tzinfo=UTC))
    event.add("sequence", max((as_of - FIRST_VERSION).days, 0))
    event.add("dtstart", begin)
    event.add("dtend", begin + timedelta(days=1))
    event.add("summary", f"Nest round of {observer}: {count}")
    event.add("description", "\n".join([TEAM_WORDS, *stops, *cautions]))
    event.add("categories", ["nest round"])
    event.add("class", "PRIVATE")
    event.add("transp", "TRANSPARENT")
    return event
