"""Which written columns make up a date and time: one, a day and an hour, or year, month and day."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from roadwatch.records.fields import Kind, fields_of
from roadwatch.records.written_columns import plain_name

if TYPE_CHECKING:
    from collections.abc import Sequence

_DAY_NAMES = frozenset({"date", "day", "eventdate", "obsdate", "dateobserved", "datefound", "datechecked", "visitdate"})
_ONE_TIME = ("time", "timeofday", "eventtime", "clock", "hour")
_CLOCK_NAMES = {
    **dict.fromkeys(("observed_at", "found_at", "checked_at", "at"), _ONE_TIME),
    "started_at": ("starttime", "timestart", "start", "started", "begin", "time", "eventtime"),
    "ended_at": ("endtime", "timeend", "end", "ended", "finish"),
}
"""Names of columns that may hold only a time of day, by the field they belong to."""

_ZONE_NAMES = frozenset({"timezone", "tz", "tzname", "utcoffset", "gmtoffset", "timezoneoffset"})

_PARTED_DAY = {"year": ("year", "yr"), "month": ("month", "mon"), "day": ("day", "dayofmonth")}
"""Darwin Core and everyday names of the parts of a day."""


@dataclass(frozen=True)
class TimeColumns:
    """
    The written columns of one date and time: the main one, one with the hour, one with the day, one with the timezone.

    ``parts`` are year, month and day of the month, which stand in where the main one, unless it is the year, is blank.
    """

    main: str
    clock: str | None = None
    day: str | None = None
    zone: str | None = None
    parts: tuple[str, ...] = ()


def find_time_columns(written: Sequence[str], kind: Kind, of_field: dict[str, str]) -> dict[str, TimeColumns]:
    """
    Find the dates and times that more than one written column feeds.

    Parameters
    ----------
    written
        Column names as they stand in the file.
    kind
        The kind of record.
    of_field
        Canonical name to written name; the main time is added where only its year, month and day stand in the file.

    Returns
    -------
    Canonical name to its columns.
    """
    parted = _parted_day(of_field, written, kind)
    return _time_columns(of_field, written, kind, parted)


def _parted_day(of_field: dict[str, str], written: Sequence[str], kind: Kind) -> tuple[str, ...]:
    """Columns of year, month and day; they feed the first required day or time of the kind where nothing else does."""
    by_plain = {plain_name(name): name for name in reversed(written)}
    found = [next((by_plain[name] for name in names if name in by_plain), "") for names in _PARTED_DAY.values()]
    field_name = _main_time(kind)
    if not all(found) or field_name is None:
        return ()
    if of_field.get(field_name) in (None, *found):
        of_field[field_name] = found[0]
    return tuple(found)


def _main_time(kind: Kind) -> str | None:
    """The day or time that a record of this kind cannot be without."""
    times = (name for name, one in fields_of(kind).items() if one.required and one.type in ("date", "datetime"))
    return next(times, "date" if kind == "temperatures" else None)


def _time_columns(
    of_field: dict[str, str], written: Sequence[str], kind: Kind, parted: tuple[str, ...]
) -> dict[str, TimeColumns]:
    """Pair the columns that hold a day and a time of day; the pairing leaves ``of_field`` as it is."""
    times: dict[str, TimeColumns] = {}
    if parted and (main := _main_time(kind)):
        times[main] = TimeColumns(of_field[main], parts=parted)
    day = next((name for name in written if plain_name(name) in _DAY_NAMES and name not in parted), None)
    taken = {*of_field.values(), *parted}
    zone = next((name for name in written if plain_name(name) in _ZONE_NAMES and name not in taken), None)
    for canonical, one in fields_of(kind).items():
        main = of_field.get(canonical)
        if one.type != "datetime" or main is None or canonical not in _CLOCK_NAMES:
            continue
        free = [name for name in written if name not in taken and plain_name(name) in _CLOCK_NAMES[canonical]]
        clock = free[0] if free else None
        own_day = day if day != main and plain_name(main) in _CLOCK_NAMES[canonical] else None
        if clock or own_day or zone:
            parts = times[canonical].parts if canonical in times else ()
            times[canonical] = TimeColumns(main, clock, own_day, zone, parts)
            taken |= {name for name in (clock, own_day) if name}
    return times
