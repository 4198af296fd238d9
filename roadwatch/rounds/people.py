"""Who can come on which day, for how long, and who may open nests."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import NotEnoughDataError

if TYPE_CHECKING:
    import pandas as pd

    from roadwatch.rounds.arrays import Bools, Floats

UNNAMED = "observer"
"""Stands for the one person of a plan for whom no people are on file."""

WEEKDAYS = ("mo", "tu", "we", "th", "fr", "sa", "su")
WEEKDAY_NAMES = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


@dataclass(frozen=True)
class Team:
    """
    The people of a plan.

    ``longitude`` and ``latitude`` (people,) are where each starts, nan where that is not known; ``day_minutes``
    (people,) what each can give on a day, inf where no limit is known; ``available`` (people, days).
    """

    names: tuple[str, ...]
    longitude: Floats
    latitude: Floats
    day_minutes: Floats
    may_open: Bools
    available: Bools
    notes: tuple[str, ...]


def team_of(people: pd.DataFrame, *, first_day: date, n_days: int) -> Team:
    """
    Read the people who can come.

    Parameters
    ----------
    people
        Table of kind ``people``; none makes one unnamed person who comes every day.
    first_day, n_days
        Span of the plan.

    Raises
    ------
    NotEnoughDataError
        Nobody has a day in the span.
    """
    if people.empty:
        blank = np.full(1, np.nan)
        note = (
            "No people are on file: the plan is for one unnamed observer who comes every day, without a limit of hours "
            "or a start, and who must hold the permit wherever a cage is opened. Ingest a table of kind people "
            "(observer; days; hours_per_day) for a plan by person."
        )
        everyday = np.ones((1, n_days), dtype=bool)
        return Team((UNNAMED,), blank, blank, np.full(1, np.inf), np.ones(1, dtype=bool), everyday, (note,))
    rows = people.sort_values("observer", kind="stable").to_dict("records")
    notes: list[str] = []
    read = [available_days(row.get("days"), first_day=first_day, n_days=n_days) for row in rows]
    for row, (days, unread) in zip(rows, read, strict=True):
        notes += [_unread(row, word) for word in unread]
        if not days.any():
            notes.append(f"{row['observer']} has no day from {first_day} on in the plan's span.")
    team = Team(
        names=tuple(str(row["observer"]) for row in rows),
        longitude=_numbers(rows, "start_longitude"),
        latitude=_numbers(rows, "start_latitude"),
        day_minutes=np.nan_to_num(_numbers(rows, "hours_per_day") * 60, nan=np.inf, posinf=np.inf),
        may_open=np.array([row.get("may_open_nests") is True for row in rows], dtype=bool),
        available=np.stack([days for days, _ in read]),
        notes=(*notes, *_blanks(rows)),
    )
    if not team.available.any():
        last = first_day + timedelta(days=n_days - 1)
        raise NotEnoughDataError(
            f"not enough data: none of the {len(rows)} people on file has a day from {first_day} to {last}; "
            "ingest people with days such as Mo;We;Sa, or dates"
        )
    return team


def available_days(cell: object, *, first_day: date, n_days: int) -> tuple[Bools, list[str]]:
    """
    Read the days that a person gives.

    Parameters
    ----------
    cell
        Days of the week by their first two letters, three letters or whole name, or dates, separated by ``;``.
    first_day, n_days
        Span of the plan.

    Returns
    -------
    (days, unread) (n_days,) True where the person can come; the words that are neither.
    """
    days, unread = np.zeros(n_days, dtype=bool), []
    weekday = (first_day.weekday() + np.arange(n_days)) % 7
    for word in str(cell or "").replace(",", ";").split(";"):
        written = word.strip().lower()
        if not written:
            continue
        if written in {"daily", "every day", "all"}:
            days[:] = True
        elif (number := _weekday(written)) is not None:
            days |= weekday == number
        elif (place := _place(written, first_day)) is not None:
            days[place : place + 1] = place >= 0
        else:
            unread.append(word.strip())
    return days, unread


def _weekday(written: str) -> int | None:
    is_name = len(written) >= 2 and any(name.startswith(written) for name in WEEKDAY_NAMES)
    return WEEKDAYS.index(written[:2]) if is_name else None


def _place(written: str, first_day: date) -> int | None:
    """Days from the first to a date; -1 for one before it, None for what is no date."""
    try:
        return max((date.fromisoformat(written) - first_day).days, -1)
    except ValueError:
        return None


def _unread(row: dict[object, object], word: str) -> str:
    return (
        f"{row['observer']}: '{word}' in days is neither a day of the week nor a date and is not used; write Mo;We;Sa "
        "or 2025-07-15;2025-07-19."
    )


def _numbers(rows: list[dict[object, object]], name: str) -> Floats:
    values = [row.get(name) for row in rows]
    numbers = [float(value) if isinstance(value, int | float) else np.nan for value in values]
    return np.array(numbers, dtype=np.float64)


def _blanks(rows: list[dict[object, object]]) -> list[str]:
    """What is taken where a cell is blank."""
    notes = []
    if nobody := [
        str(row["observer"]) for row, x in zip(rows, _numbers(rows, "start_longitude"), strict=True) if x != x
    ]:
        notes.append(f"No start is known of {', '.join(nobody)}: their way to the first nest and home is not counted.")
    if endless := [
        str(row["observer"]) for row, h in zip(rows, _numbers(rows, "hours_per_day"), strict=True) if h != h
    ]:
        notes.append(f"No hours are known of {', '.join(endless)}: their days have no limit of hours.")
    if not any(row.get("may_open_nests") is True for row in rows):
        notes.append("Nobody on file may open nests: no cage can be opened by this plan; ask a permit holder.")
    return notes
