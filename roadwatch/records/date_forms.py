"""Taking written dates apart: explicit forms only, each part as it stands."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta

from roadwatch.records.complaints import Misread

SECOND_TIME = "(second time)"
"""Behind a time of day that the clock shows twice: the later of the two, after clocks went back."""

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
    r"(?P<one>\d{1,2})(?P<sign>[-/.])(?P<two>\d{1,2})(?P=sign)(?P<short>\d{2})",
    rf"(?P<day>\d{{1,2}})[-\s.]*{_MONTH}\.?,?[-\s]*(?P<short>\d{{2}})",
)
_WEEKDAY = r"(?:(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?\s+)?"
_CLOCK = (
    r"(?P<hour>\d{1,2})(?::?(?P<minute>\d{2}))?(?::?(?P<second>\d{2})(?:[.,]\d+)?)?\s*(?P<half>[ap]\.?m\b\.?)?"
    r"\s*(?P<offset>z|(?:utc|gmt)\s?[-+]\d{1,2}(?::?\d{2})?|[-+]\d{2}(?::?\d{2})?|\[?[a-z]+/[-+a-z0-9_/]+\]?|[a-z]{2,5}"
    r"|(?:eastern|central|mountain|pacific)(?: standard| daylight)?(?: time)?)?"
    rf"\s*(?P<second_time>{re.escape(SECOND_TIME)})?"
)
_FORMS = tuple(re.compile(rf"{_WEEKDAY}{form}(?:(?:t|,?\s+(?:at\s+)?){_CLOCK})?", re.IGNORECASE) for form in _DAY_FORMS)
_ONLY_CLOCK = re.compile(_CLOCK, re.IGNORECASE)

_EXAMPLE = "2025-05-12 or 2025-05-12T07:40"
_KNOWN_FAULTS = (
    (re.compile(r"\d{4}-\d{1,2}"), "names no day; write the day, such as 2025-05-12"),
    (re.compile(r"\d{4}"), "names only a year; write the day, such as 2025-05-12"),
    (re.compile(r"\d{4}-[^/]+/.+"), "is a span of time; write the day on which it was seen, such as 2025-05-12"),
)  # fmt: skip
_SERIAL = re.compile(r"\d{5}(?:[.,]\d+)?")
_FIRST_SERIAL, _LAST_SERIAL = 36526, 73050
"""Spreadsheet day numbers of 2000-01-01 and 2099-12-31, counted from 1899-12-30."""


@dataclass(frozen=True)
class WrittenTime:
    """
    The parts of a date as written.

    ``one`` and ``two`` are day and month in an order that is not yet known; ``short`` is a year of two digits, and
    ``year`` is then 0. An hour of 24 is the end of the day. ``second`` is the later of two times that the clock shows.
    ``may_lead``: of three numbers of two digits, as 25-05-12, the first can be the year as well as the last.
    """

    year: int
    month: int = 0
    day: int = 0
    one: int = 0
    two: int = 0
    clock: tuple[int, int, int] | None = None
    offset: str = ""
    short: int = -1
    second: bool = False
    may_lead: bool = False


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
    return _of_serial(plain) if is_serial(plain) else Misread(_why_not(plain))


def is_serial(text: str) -> bool:
    """
    Tell whether the text is a spreadsheet's day number of this century, with or without a fraction for the hour.

    >>> is_serial("45789.5"), is_serial("20250512")
    (True, False)
    """
    return bool(_SERIAL.fullmatch(text)) and _FIRST_SERIAL <= int(text[:5]) <= _LAST_SERIAL


def _of_serial(text: str) -> WrittenTime:
    """The day and, where the number has a fraction, the time of a spreadsheet's day number, to the second."""
    day = date(1899, 12, 30) + timedelta(days=int(text[:5]))
    seconds = round(float(f"0{text[5:].replace(',', '.')}") * 86_400) if text[5:] else 0
    clock = (seconds // 3600, seconds // 60 % 60, seconds % 60) if text[5:].strip(".,0") else None
    return WrittenTime(day.year, day.month, day.day, clock=clock)


def has_clock(text: str) -> bool:
    """Tell whether the text holds a time of day behind its date."""
    written = split_time(text)
    return isinstance(written, WrittenTime) and written.clock is not None


def lacks_zone(text: str) -> bool:
    """Tell whether the text holds a time of day without an offset or a zone."""
    written = split_time(text)
    return isinstance(written, WrittenTime) and written.clock is not None and not written.offset


def is_only_clock(text: str) -> bool:
    """
    Tell whether the text is a time of day and nothing else.

    >>> is_only_clock("7:40 am"), is_only_clock("2025-05-12")
    (True, False)
    """
    found = _ONLY_CLOCK.fullmatch(" ".join(text.split()))
    return bool(found and (found["minute"] or found["half"]))


def _written(parts: dict[str, str | None]) -> WrittenTime | Misread:
    clock = _clock(parts) if parts["hour"] else None
    if isinstance(clock, Misread):
        return clock
    name = parts.get("name")
    return WrittenTime(
        year=int(parts.get("year") or 0),
        month=_MONTHS.index(name[:3].lower()) + 1 if name else int(parts.get("month") or 0),
        day=int(parts.get("day") or 0),
        one=int(parts.get("one") or 0),
        two=int(parts.get("two") or 0),
        clock=clock,
        offset=parts["offset"] or "",
        short=int(parts.get("short") or -1),
        second=bool(parts["second_time"]),
        may_lead=bool(parts.get("short") and parts.get("one") and parts["sign"] != "/"),
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


def _why_not(plain: str) -> str:
    known = next((why for pattern, why in _KNOWN_FAULTS if pattern.fullmatch(plain)), None)
    if known is None and is_only_clock(plain):
        return f"has no date; write {_EXAMPLE}"
    return known or f"is not a date that can be read for sure; write {_EXAMPLE}"
