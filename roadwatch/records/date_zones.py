"""From a time of day as written to local time with its offset: offsets, names of zones, clocks put forward and back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from functools import cache
from zoneinfo import ZoneInfo

from roadwatch.errors import UsageError
from roadwatch.records.complaints import Misread

_HOURS_OF = {"EST": -5, "EDT": -4, "CST": -6, "CDT": -5, "MST": -7, "MDT": -6, "PST": -8, "PDT": -7}
"""The abbreviations that RFC 5322, section 4.3, gives one meaning each; others mean different things by country."""

_WORDS = {"STANDARD": "S", "DAYLIGHT": "D"}
_REGIONS = {"E": "America/New_York", "C": "America/Chicago", "M": "America/Denver", "P": "America/Los_Angeles"}


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


def local_time(moment: datetime, *, offset: str, zone: ZoneInfo, second: bool = False) -> ReadTime | Misread:
    """
    Put a time of day on the season's clock.

    Parameters
    ----------
    moment
        Day and time as written, without a zone.
    offset
        What stands behind the time: Z, hours and minutes, an abbreviation or a name of a zone; blank for local time.
    zone
        Timezone of the season.
    second
        Of a time that the clock shows twice, the later one is meant.

    Returns
    -------
    ``2025-05-12T07:40:00-04:00``; a time that cannot be, or can be two, is a misreading.

    Source
    ------
    iso8601
    """
    if not offset:
        return _local(moment, zone, second=second)
    written = " ".join(offset.strip("[]").split())
    fixed = _fixed_zone(written, zone)
    if isinstance(fixed, Misread):
        return fixed
    if isinstance(fixed, ZoneInfo):
        there = _local(moment, fixed, second=second)
        if isinstance(there, Misread):
            return there
        return ReadTime(_iso(datetime.fromisoformat(there.iso).astimezone(zone)), there.remark)
    try:
        found = moment.replace(tzinfo=fixed).astimezone(zone)
    except (ValueError, OverflowError):
        return Misread(f"has an offset '{offset}' that cannot be; write Z or hours and minutes, such as -04:00")
    return _unless_wrong_season(moment, written, found, zone)


def _unless_wrong_season(moment: datetime, written: str, found: datetime, zone: ZoneInfo) -> ReadTime | Misread:
    """EST written in summer, or EDT in winter: strictly another hour than the clock on the wall, which is proposed."""
    wall = moment.replace(tzinfo=zone)
    own = _names_of(zone)
    name = _abbreviation(written)
    if name not in own or own[name] == wall.utcoffset():
        return ReadTime(_iso(found))
    return Misread(
        f"says {written}, but clocks in {zone.key} showed {wall.tzname()} on that day: it is {_iso(wall)} by the clock "
        f"or {_iso(found)} by the word; write the time with its offset",
        proposal=_iso(wall),
    )


def _fixed_zone(written: str, zone: ZoneInfo) -> tzinfo | Misread:
    if written.upper() in ("Z", "UTC", "GMT"):
        return UTC
    if "/" in written:
        try:
            return ZoneInfo(written)
        except (KeyError, ValueError, OSError):
            return Misread(f"has a timezone '{written}' that is not known; write the time with its offset")
    if "+" in written or "-" in written:
        return _of_hours(written)
    name = _abbreviation(written)
    offset = timedelta(hours=_HOURS_OF[name]) if name in _HOURS_OF else _names_of(zone).get(name)
    if offset is not None:
        return timezone(offset)
    if len(name) == 2 and name.endswith("T") and name[0] in _REGIONS:
        return ZoneInfo(_REGIONS[name[0]])
    return Misread(f"has '{written}' behind the time, which can be several zones or none; write the offset, as -04:00")


def _of_hours(written: str) -> tzinfo | Misread:
    sign, digits = ("-" if "-" in written else "+"), "".join(one for one in written if one.isdecimal())
    hours, minutes = (int(digits), 0) if len(digits) < 3 else (int(digits[:-2]), int(digits[-2:]))
    if minutes > 59 or hours > 23:
        return Misread(f"has an offset '{written}' that cannot be; write Z or hours and minutes, such as -04:00")
    return timezone((-1 if sign == "-" else 1) * timedelta(hours=hours, minutes=minutes))


def _abbreviation(written: str) -> str:
    """``EDT`` of 'Eastern Daylight Time', ``ET`` of 'Eastern'; a short word is itself."""
    words = written.upper().split()
    if words[0] not in ("EASTERN", "CENTRAL", "MOUNTAIN", "PACIFIC"):
        return words[0] if len(words) == 1 else written.upper()
    return words[0][0] + "".join(_WORDS.get(word, "") for word in words[1:]) + "T"


@cache
def _names_of(zone: ZoneInfo) -> dict[str, timedelta]:
    """Abbreviations that the zone uses this century, by the month, those with one meaning only."""
    offsets: dict[str, set[timedelta]] = {}
    for year in range(2000, 2031, 5):
        for month in (1, 4, 7, 10):
            moment = datetime(year, month, 15, 12, tzinfo=zone)
            offset, name = moment.utcoffset(), moment.tzname()
            if offset is not None and name and name.isalpha():
                offsets.setdefault(name, set()).add(offset)
    return {name: min(found) for name, found in offsets.items() if len(found) == 1}


def _local(moment: datetime, zone: ZoneInfo, *, second: bool) -> ReadTime | Misread:
    """Put the zone's offset on a local time; an hour that clocks skip is refused, one they repeat is remarked."""
    earlier, later = moment.replace(tzinfo=zone), moment.replace(tzinfo=zone, fold=1)
    before, after = earlier.utcoffset(), later.utcoffset()
    if before is None or after is None or before == after:
        return ReadTime(_iso(earlier))
    if before < after:
        return Misread(f"does not exist in {zone.key}: clocks went forward over it; write the time with its offset")
    if second:
        return ReadTime(_iso(later))
    remark = f"came twice in {zone.key} as clocks went back; the first, {earlier:%z}, is taken"
    return ReadTime(_iso(earlier), remark)


def _iso(moment: datetime) -> str:
    return moment.isoformat(timespec="seconds")
