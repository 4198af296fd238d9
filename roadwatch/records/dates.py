"""Reading dates and times: explicit forms only, one order of day and month for the whole file."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Literal, TypeGuard

from roadwatch.records.complaints import Misread
from roadwatch.records.date_forms import WrittenTime, has_clock, is_only_clock, is_serial, split_time
from roadwatch.records.date_zones import ReadTime, local_time, zone_of

if TYPE_CHECKING:
    from collections.abc import Iterable
    from zoneinfo import ZoneInfo

__all__ = [
    "DayOrder",
    "Order",
    "ReadTime",
    "WrittenTime",
    "day_order",
    "has_clock",
    "is_only_clock",
    "read_time",
    "split_time",
    "zone_of",
]

Order = Literal["month first", "day first"]

_TWO_NUMBERS = re.compile(r"(?<!\d)\d{1,2}([-/.])\d{1,2}\1(?P<year>\d{4}|\d{2})(?!\d)")
_FULL_YEAR = re.compile(r"(?<!\d)(?:19|20)\d{2}(?!\d)")
_EXAMPLE = "2025-05-12 or 2025-05-12T07:40"


@dataclass(frozen=True)
class DayOrder:
    """
    How dates are written in one file.

    Parameters
    ----------
    order
        Order of day and month; None where the file does not tell or contradicts itself.
    note
        The sentence that states it.
    years
        First and last year that is written in full, None where none is.
    """

    order: Order | None
    note: str
    years: tuple[int, int] | None = None


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
    days, years, has_serials = _seen(texts)
    pairs = [(one.one, one.two) for one in map(split_time, sorted(days)) if _is_unsure(one)]
    n_day_first = sum(one > 12 >= two for one, two in pairs)
    n_month_first = sum(two > 12 >= one for one, two in pairs)
    order: Order | None = None
    why = "no date tells whether day or month stands first" if pairs else ""
    if n_day_first and n_month_first:
        why = f"some dates can only be day/month ({n_day_first}), some only month/day ({n_month_first})"
    elif n_day_first:
        order, why = "day first", f"dates are read as day/month/year: {n_day_first} can be nothing else"
    elif n_month_first:
        order, why = "month first", f"dates are read as month/day/year: {n_month_first} can be nothing else"
    said = "numbers such as 45789 are spreadsheet days" if has_serials else ""
    return DayOrder(order, "; ".join(filter(None, (why, said))), (min(years), max(years)) if years else None)


def _seen(texts: Iterable[str]) -> tuple[set[str], set[int], bool]:
    """Distinct days written with numbers, years written in full, and whether spreadsheet days are among the texts."""
    days, years, has_serials = set(), set(), False
    for text in texts:
        if text[:4].isdecimal():
            years.add(text[:4])
            has_serials = has_serials or (text[:5].isdecimal() and is_serial(text))
        elif found := _TWO_NUMBERS.search(text):
            days.add(found[0])
            years.add(found["year"])
        elif full := _FULL_YEAR.search(text):
            years.add(full[0])
    return days, {int(year) for year in years if _FULL_YEAR.fullmatch(year)}, has_serials


def _is_unsure(written: WrittenTime | Misread) -> TypeGuard[WrittenTime]:
    """Day and month in an order that its form does not tell."""
    return isinstance(written, WrittenTime) and bool(written.one) and not written.may_lead


def read_time(
    text: str,
    *,
    zone: ZoneInfo,
    order: Order | None,
    day_only: bool = False,
    is_utc: bool = False,
    years: tuple[int, int] | None = None,
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
    years
        First and last year that the file writes in full: a year of two digits is sure only among them.

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
    if isinstance(day, Misread):
        return day
    found = _with_clock(day, written, zone, is_utc=is_utc)
    if isinstance(found, Misread):
        return found
    iso = found.iso[:10] if day_only else found.iso
    if written.short >= 0 and (written.may_lead or not (years and years[0] <= day.year <= years[1])):
        why = "has a year of two digits; write it in full, such as 2025-05-12"
        return Misread(why, proposal="" if written.may_lead else iso)
    return ReadTime(iso, found.remark)


def _with_clock(day: date, written: WrittenTime, zone: ZoneInfo, *, is_utc: bool) -> ReadTime | Misread:
    if written.clock is None:
        return ReadTime(day.isoformat())
    moment = _moment(day, written.clock)
    if isinstance(moment, Misread):
        return moment
    offset = written.offset or ("Z" if is_utc else "")
    return local_time(moment, offset=offset, zone=zone, second=written.second)


def _day(written: WrittenTime, order: Order | None) -> date | Misread:
    year = written.year if written.short < 0 else 2000 + written.short
    month, day = written.month, written.day
    if not month:
        one, two = written.one, written.two
        if order is None and one <= 12 and two <= 12 and one != two:
            return Misread(_ambiguous(year, one, two))
        month_first = order == "month first" if one <= 12 and two <= 12 else one <= 12
        month, day = (one, two) if month_first else (two, one)
    try:
        return date(year, month, day)
    except ValueError:
        return Misread(f"is not a day of the calendar; write {_EXAMPLE}")


def _ambiguous(year: int, one: int, two: int) -> str:
    return (
        f"can be {year}-{one:02}-{two:02} or {year}-{two:02}-{one:02}, and the file does not tell which; "
        "write year-month-day"
    )


def _moment(day: date, clock: tuple[int, int, int]) -> datetime | Misread:
    """The day and the time on it; 24:00 is the first instant of the next day."""
    ends_day = clock == (24, 0, 0)
    try:
        moment = datetime(day.year, day.month, day.day, *((0, 0, 0) if ends_day else clock))  # noqa: DTZ001
        return moment + timedelta(days=ends_day)
    except (ValueError, OverflowError):
        return Misread("has a time of day that does not exist; write hours 0 to 24 and minutes 0 to 59")
