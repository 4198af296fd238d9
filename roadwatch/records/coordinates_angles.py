"""Reading degrees as people write them: decimal, degrees and minutes, with letters, words and any quote marks."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from roadwatch.records.complaints import Misread

Axis = Literal["longitude", "latitude"]

LONGEST_PAIR = 120
"""Characters that a place written in one cell can have."""

_EXAMPLE = "decimal degrees, such as 29.6516 or -82.3248"
_SIGNS = {
    **dict.fromkeys("’′‘ʹʼ`´", "'"),
    **dict.fromkeys("″“”„ʺ", '"'),
    **dict.fromkeys("º˚∘", "°"),
    **dict.fromkeys("−–—‐‑", "-"),
    **dict.fromkeys("\u00a0\u2009\u202f\t", " "),
}
_TRANSLATED = str.maketrans(_SIGNS)
_LETTER = r"n(?:orth(?:ern)?)?|s(?:outh(?:ern)?)?|e(?:ast(?:ern)?)?|w(?:est(?:ern)?)?"
_TITLE = r"(?:(?P<title>lat(?:itude)?|lon(?:g(?:itude)?)?|lng)\.?\s*[:=]?\s*)?"
_NUMBER = r"\d+(?:\.\d*)?|\.\d+"
_ANGLE = re.compile(
    rf"{_TITLE}(?:(?P<before>{_LETTER})\.?\s*)?(?P<sign>[-+])?\s*"
    rf"(?P<degrees>{_NUMBER})\s*(?:°|degrees?|deg\.?|d)?"
    rf"(?:(?:(?<=\d)[-:]|\s*)(?<![\d.](?=[\d.]))(?P<minutes>{_NUMBER})\s*(?:'|minutes?|min\.?|(?P<word>m))?"
    rf"(?:(?:(?<=\d)[-:]|\s*)(?<![\d.](?=[\d.]))(?P<seconds>{_NUMBER})\s*(?:\"|''|seconds?|sec\.?|(?(word)s|(?!)))?)?)?"
    rf"\s*(?:(?P<after>{_LETTER})\.?)?",
    re.IGNORECASE,
)
_COMPACT = re.compile(r"(?P<before>[nsew])?\s*(?P<digits>\d{6,7}(?:\.\d+)?)\s*(?P<after>[nsew])?", re.IGNORECASE)
_COMMA = re.compile(r"(?<=\d),(?=\d)")
_WRAPPED = re.compile(r"(?P<wkt>point\s*z?\s*)?[(\[{]\s*(?P<inside>.*?)\s*[)\]}]", re.IGNORECASE | re.DOTALL)
_WITH_HEIGHT = re.compile(r"(?P<place>[-+]?\d+\.\d+[\s,]+[-+]?\d+\.\d+)(?:[\s,]+-?\d+(?:\.\d+)?){1,2}")
_BETWEEN = re.compile(r"\s*[;,/|]\s*|\s+(?:and\s+|by\s+)?|(?<=[\dnsewNSEW°'\"])(?=[+-]\d)|(?<=[nsewNSEW])(?=\d)")


@dataclass(frozen=True)
class Angle:
    """Degrees with their sign, and the axis where a letter or a word tells it."""

    degrees: float
    axis: Axis | None = None


def read_angle(text: str) -> Angle | Misread:
    """
    Read one longitude or latitude.

    Parameters
    ----------
    text
        Decimal degrees, or degrees, minutes and seconds; signs, letters and words before or behind.

    Returns
    -------
    Degrees, south and west negative. Its range is not judged here beyond 360.

    >>> read_angle("31° 42′ 00″ N"), read_angle("W 81 54.0")
    (Angle(degrees=31.7, axis='latitude'), Angle(degrees=-81.9, axis='longitude'))
    """
    plain = _COMMA.sub(".", " ".join(text.translate(_TRANSLATED).split())) if text.count(",") == 1 else text
    plain = " ".join(plain.translate(_TRANSLATED).split())
    found = _ANGLE.fullmatch(plain)
    if not found:
        return Misread(f"is not a coordinate that can be read; write {_EXAMPLE}")
    parts = found.groupdict()
    compact = _COMPACT.fullmatch(plain)
    if compact and (compact["before"] or compact["after"]):
        parts |= _compact_parts(compact["digits"])
    size = _size(parts)
    return size if isinstance(size, Misread) else _signed(size, parts)


def read_pair(text: str, *, longitude_first: bool = False) -> tuple[float, float] | Misread:
    """
    Read a place that stands in one cell.

    Letters tell which number is which; without letters the order does, latitude first unless it is said otherwise.

    Parameters
    ----------
    text
        Two coordinates with a comma, semicolon, slash or space between them, in brackets or not; or ``POINT (x y)``.
    longitude_first
        The column's name says so.

    Returns
    -------
    Longitude, latitude.

    >>> read_pair("31 42.0 N 81 54.0 W")
    (-81.9, 31.7)
    """
    plain = " ".join(text.translate(_TRANSLATED).split()).removesuffix("/")
    plain = re.sub(r"^geo:", "", plain, flags=re.IGNORECASE)
    if len(plain) > LONGEST_PAIR:
        return Misread("is too long for a place; write longitude and latitude in two columns")
    wrapped = _WRAPPED.fullmatch(plain)
    if wrapped:
        plain, longitude_first = wrapped["inside"], longitude_first or bool(wrapped["wkt"])
    if high := _WITH_HEIGHT.fullmatch(plain):  # height and accuracy behind the place, as field forms write them
        plain = high["place"]
    places = set()
    for gap in _BETWEEN.finditer(plain):
        one, two = read_angle(plain[: gap.start()]), read_angle(plain[gap.end() :])
        if isinstance(one, Angle) and isinstance(two, Angle) and (place := _in_order(one, two, longitude_first)):
            places.add(place)
    if len(places) == 1:
        return places.pop()
    why = "can be read as more than one place" if places else "is not a place that can be read"
    return Misread(f"{why}; write longitude and latitude in two columns, in {_EXAMPLE}")


def _compact_parts(digits: str) -> dict[str, str | None]:
    """Degrees, minutes and seconds run together, as 314200N and 0815400W."""
    whole = digits.partition(".")[0]
    at = len(whole) - 4
    return {"degrees": digits[:at], "minutes": digits[at : at + 2], "seconds": digits[at + 2 :]}


def _size(parts: dict[str, str | None]) -> float | Misread:
    written = [part for name in ("degrees", "minutes", "seconds") if (part := parts[name])]
    if any("." in part for part in written[:-1]):
        return Misread("has a fraction before its last part; write 31 42.5 or 31 42 30")
    degrees, minutes, seconds = (float(part) for part in [*written, "0", "0"][:3])
    if minutes >= 60 or seconds >= 60:
        return Misread("has minutes or seconds of 60 or more; write degrees, minutes and seconds")
    return round(degrees + minutes / 60 + seconds / 3600, 12) if len(written) > 1 else degrees


def _signed(size: float, parts: dict[str, str | None]) -> Angle | Misread:
    """Letters before and behind, the sign and the title must not contradict each other."""
    letters = {part[0].lower() for name in ("before", "after") if (part := parts[name])}
    axes: set[Axis] = {"latitude" if letter in "ns" else "longitude" for letter in letters}
    if parts["title"]:
        axes.add("latitude" if parts["title"].lower().startswith("lat") else "longitude")
    is_negative = bool(letters & {"s", "w"})
    if len(letters) > 1 or len(axes) > 1 or (parts["sign"] == "-" and letters and not is_negative):
        return Misread(f"says two things at once with its letters and its sign; write {_EXAMPLE}")
    is_negative |= parts["sign"] == "-"
    return Angle(-size if is_negative else size, axes.pop() if axes else None)


def _in_order(one: Angle, two: Angle, longitude_first: bool) -> tuple[float, float] | None:  # noqa: FBT001
    """Longitude and latitude of two angles; None where both are of one axis."""
    if one.axis and one.axis == two.axis:
        return None
    swap = longitude_first if not (one.axis or two.axis) else one.axis == "longitude" or two.axis == "latitude"
    return (one.degrees, two.degrees) if swap else (two.degrees, one.degrees)
