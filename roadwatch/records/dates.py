"""Reading dates and times: explicit forms only, one order of day and month for the whole file."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from typing import TYPE_CHECKING, Literal
from zoneinfo import ZoneInfo

from roadwatch.errors import UsageError
from roadwatch.records.complaints import Misread

if TYPE_CHECKING:
    from collections.abc import Iterable

Order = Literal["month first", "day first"]

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH = (
    r"(?P<name>jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?"
    r"|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)"
)
_DAY_FORMS = (
    r"(?P<year>\d{4})(?P<sign>[-/.])(?P<month>\d{1,2})(?P=sign)(?P<day>\d{1,2})",
    r"(?P<year>(?:19|20)\d{2})(?P<month>\d{2})(?P<day>\d{2})",
    r"(?P<one>\d{1,2})(?P<sign>[-/.])(?P<two>\d{1,2})(?P=sign)(?P<year>\d{4})",
    rf"(?P<day>\d{{1,2}})(?:st|nd|rd|th)?[-\s.]*{_MONTH}\.?,?[-\s]*(?P<year>\d{{4}})",
    rf"{_MONTH}\.?\s*(?P<day>\d{{1,2}})(?:st|nd|rd|th)?,?\s+(?P<year>\d{{4}})",
)
_WEEKDAY = r"(?:(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?\s+)?"
_CLOCK = (
    r"(?P<hour>\d{1,2})(?::?(?P<minute>\d{2}))?(?::?(?P<second>\d{2})(?:[.,]\d+)?)?\s*(?P<half>[ap]\.?m\b\.?)?"
    r"\s*(?P<offset>z|utc|gmt|[-+]\d{2}(?::?\d{2})?)?"
)
_FORMS = tuple(re.compile(rf"{_WEEKDAY}{form}(?:(?:t|,?\s+(?:at\s+)?){_CLOCK})?", re.IGNORECASE) for form in _DAY_FORMS)
_TWO_NUMBERS = re.compile(r"\d[-/.]\d{1,2}[-/.]\d{4}")
_ONLY_CLOCK = re.compile(_CLOCK, re.IGNORECASE)

_EXAMPLE = "2025-05-12 or 2025-05-12T07:40"
_KNOWN_FAULTS = (
    (re.compile(r"\d{1,2}[-/. ](?:\d{1,2}|[a-z]{3,9})[-/. ]\d{2}(?:\D.*)?", re.IGNORECASE),
     "has a year of two digits; write it in full, such as 2025-05-12"),
    (re.compile(r"\d{4}-\d{1,2}"), "names no day; write the day, such as 2025-05-12"),
    (re.compile(r"\d{4}"), "names only a year; write the day, such as 2025-05-12"),
    (re.compile(r"\d{4}-[^/]+/.+"), "is a span of time; write the day on which it was seen, such as 2025-05-12"),
)  # fmt: skip
_FIRST_SERIAL, _LAST_SERIAL = 36526, 73050
"""Spreadsheet day numbers of 2000-01-01 and 2099-12-31, counted from 1899-12-30."""


@dataclass(frozen=True)
class WrittenTime:
    """The parts of a date as written; ``one`` and ``two`` are day and month in an order that is not yet known."""

    year: int
    month: int = 0
    day: int = 0
    one: int = 0
    two: int = 0
    clock: tuple[int, int, int] | None = None
    offset: str = ""


@dataclass(frozen=True)
class DayOrder:
    """The order of day and month in one file; None where the file does not tell or contradicts itself."""

    order: Order | None
    note: str


@dataclass(frozen=True)
class ReadTime:
    """ISO 8601 text, with a remark where a choice had to be made."""

    iso: str
    remark: str = ""


def zone_of(name: str) -> ZoneInfo:
    """
    The timezone of a name such as ``America/New_York``.

    Raises
    ------
    UsageError
        The name is not in the IANA timezone database.
    """
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError) as fault:
        msg = f"timezone '{name}' is not known; write a name of the IANA database, such as America/New_York"
        raise UsageError(msg) from fault


def split_time(text: str) -> WrittenTime | Misread:
    """
    Split a written date, with or without a time of day, into its parts.

    >>> split_time("May 12, 2025 7:40 pm").clock
    (19, 40, 0)
    """
    plain = " ".join(text.split())
    for form in _FORMS:
        found = form.fullmatch(plain)
        if found:
            return _written(found.groupdict())
    return Misread(_why_not(plain))


def has_clock(text: str) -> bool:
    """Tell whether the text holds a time of day behind its date."""
    written = split_time(text)
    return isinstance(written, WrittenTime) and written.clock is not None


def is_only_clock(text: str) -> bool:
    """
    Tell whether the text is a time of day and nothing else.

    >>> is_only_clock("7:40 am"), is_only_clock("2025-05-12")
    (True, False)
    """
    found = _ONLY_CLOCK.fullmatch(" ".join(text.split()))
    return bool(found and (found["minute"] or found["half"]))


def day_order(texts: Iterable[str]) -> DayOrder:
    """
    Infer the order of day and month from the dates of one file that can be read in one way only.

    Parameters
    ----------
    texts
        Every distinct date of the file, of all its columns.

    Returns
    -------
    The order and a sentence that states it; no order where no date tells, or where some say one and some the other.
    """
    unsure = map(split_time, filter(_TWO_NUMBERS.search, texts))
    pairs = [(written.one, written.two) for written in unsure if isinstance(written, WrittenTime) and written.one]
    n_day_first = sum(one > 12 >= two for one, two in pairs)
    n_month_first = sum(two > 12 >= one for one, two in pairs)
    if n_day_first and n_month_first:
        return DayOrder(
            None, f"some dates can only be day/month ({n_day_first}), some only month/day ({n_month_first})"
        )
    if not n_day_first and not n_month_first:
        return DayOrder(None, "no date tells whether day or month stands first" if pairs else "")
    if n_day_first:
        return DayOrder("day first", f"dates are read as day/month/year: {n_day_first} can be nothing else")
    return DayOrder("month first", f"dates are read as month/day/year: {n_month_first} can be nothing else")


def read_time(
    text: str, *, zone: ZoneInfo, order: Order | None, day_only: bool = False, is_utc: bool = False
) -> ReadTime | Misread:
    """
    Read one date or time as ISO 8601 text in local time with its offset.

    Parameters
    ----------
    text
        The cell.
    zone
        Timezone of the season; a time without offset is local to it, one with an offset is turned to it.
    order
        Order of day and month in this file.
    day_only
        The field holds a day; a time of day is left out.
    is_utc
        The column's name says that its times are UTC.

    Returns
    -------
    ``2025-05-12``, or ``2025-05-12T07:40:00-04:00`` where a time of day is written.

    Source
    ------
    iso8601
    """
    written = split_time(text)
    if isinstance(written, Misread):
        return written
    day = _day(written, order)
    if isinstance(day, Misread) or written.clock is None:
        return day if isinstance(day, Misread) else ReadTime(day.isoformat())
    moment = _moment(day, written.clock)
    if isinstance(moment, Misread):
        return moment
    offset = written.offset or ("Z" if is_utc else "")
    found = _from_offset(moment, offset, zone) if offset else _local(moment, zone)
    return ReadTime(found.iso[:10]) if day_only and isinstance(found, ReadTime) else found


def _written(parts: dict[str, str | None]) -> WrittenTime | Misread:
    clock = _clock(parts) if parts["hour"] else None
    if isinstance(clock, Misread):
        return clock
    name = parts.get("name")
    return WrittenTime(
        year=int(parts["year"] or 0),
        month=_MONTHS.index(name[:3].lower()) + 1 if name else int(parts.get("month") or 0),
        day=int(parts.get("day") or 0),
        one=int(parts.get("one") or 0),
        two=int(parts.get("two") or 0),
        clock=clock,
        offset=(parts["offset"] or "").upper(),
    )


def _clock(parts: dict[str, str | None]) -> tuple[int, int, int] | Misread:
    hour, half = int(parts["hour"] or 0), (parts["half"] or "").lower()
    if not parts["minute"] and not half:
        return Misread(f"has an hour without minutes; write {_EXAMPLE}")
    if half and not 1 <= hour <= 12:
        return Misread("has an hour with am or pm that is not 1 to 12; write the time as 19:40 or 7:40 pm")
    if half:
        hour = hour % 12 + (12 if half.startswith("p") else 0)
    return hour, int(parts["minute"] or 0), int(parts["second"] or 0)


def _day(written: WrittenTime, order: Order | None) -> date | Misread:
    month, day = written.month, written.day
    if not month:
        one, two = written.one, written.two
        if order is None and one <= 12 and two <= 12 and one != two:
            return Misread(_ambiguous(written))
        month_first = order == "month first" if one <= 12 and two <= 12 else one <= 12
        month, day = (one, two) if month_first else (two, one)
    try:
        return date(written.year, month, day)
    except ValueError:
        return Misread(f"is not a day of the calendar; write {_EXAMPLE}")


def _ambiguous(written: WrittenTime) -> str:
    year, one, two = written.year, written.one, written.two
    return (
        f"can be {year}-{one:02}-{two:02} or {year}-{two:02}-{one:02}, and the file does not tell which; "
        "write year-month-day"
    )


def _moment(day: date, clock: tuple[int, int, int]) -> datetime | Misread:
    try:
        return datetime(day.year, day.month, day.day, *clock)  # noqa: DTZ001  # the zone is put on by the callers
    except ValueError:
        return Misread("has a time of day that does not exist; write hours 0 to 23 and minutes 0 to 59")


def _from_offset(moment: datetime, offset: str, zone: ZoneInfo) -> ReadTime | Misread:
    try:
        return ReadTime(moment.replace(tzinfo=_fixed_zone(offset)).astimezone(zone).isoformat(timespec="seconds"))
    except (ValueError, OverflowError):
        return Misread(f"has an offset '{offset}' that cannot be; write Z or hours and minutes, such as -04:00")


def _fixed_zone(offset: str) -> tzinfo:
    if offset in ("Z", "UTC", "GMT"):
        return UTC
    hours, minutes = int(offset[1:3]), int(offset[3:].lstrip(":") or 0)
    if minutes > 59:
        raise ValueError(offset)
    return timezone((-1 if offset[0] == "-" else 1) * timedelta(hours=hours, minutes=minutes))


def _local(moment: datetime, zone: ZoneInfo) -> ReadTime | Misread:
    """Put the season's offset on a local time; an hour that clocks skip is refused, one they repeat is remarked."""
    first, second = moment.replace(tzinfo=zone), moment.replace(tzinfo=zone, fold=1)
    before, after = first.utcoffset(), second.utcoffset()
    if before is None or after is None or before == after:
        return ReadTime(first.isoformat(timespec="seconds"))
    if before < after:
        return Misread(f"does not exist in {zone.key}: clocks went forward over it; write the time with its offset")
    remark = f"came twice in {zone.key} as clocks went back; the first, {first:%z}, is taken"
    return ReadTime(first.isoformat(timespec="seconds"), remark)


def _why_not(plain: str) -> str:
    if plain.replace(".", "", 1).isdecimal() and _FIRST_SERIAL <= float(plain) <= _LAST_SERIAL:
        day = date(1899, 12, 30) + timedelta(days=int(float(plain)))
        return f"looks like a spreadsheet's day number; write {day.isoformat()} if that is the day"
    known = next((why for pattern, why in _KNOWN_FAULTS if pattern.fullmatch(plain)), None)
    if known is None and is_only_clock(plain):
        return f"has no date; write {_EXAMPLE}"
    return known or f"is not a date that can be read for sure; write {_EXAMPLE}"
