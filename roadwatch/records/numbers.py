"""Reading numbers, whole numbers and probabilities as people write them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from roadwatch.records.complaints import Misread
from roadwatch.records.fields import CONFIDENCE_WORDS, Field
from roadwatch.records.words import word_of
from roadwatch.units import METRES_PER_FOOT, METRES_PER_MILE, celsius_from_fahrenheit

if TYPE_CHECKING:
    from collections.abc import Iterable

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_COMMA_NUMBER = re.compile(r"[+-]?\d+(?:,\d+)?(?:[eE][+-]?\d+)?")
_PER_CENT_NAME = re.compile(r"%|per ?cent|(?:^|[\W_])pct(?:[\W_]|$)", re.IGNORECASE)
_WITH_UNIT = re.compile(r"(?P<number>[^a-zA-Z°º]*\d[^a-zA-Z°º]*?)\s*[°º]?\s*(?P<unit>[a-zA-Z]*)")

_LENGTH_M = {
    **dict(zip(("mm", "cm", "m", "km"), (0.001, 0.01, 1.0, 1000.0), strict=True)),
    **dict.fromkeys(("ft", "foot", "feet"), METRES_PER_FOOT),
    **dict.fromkeys(("in", "inch", "inches"), METRES_PER_FOOT / 12),
    **dict.fromkeys(("mi", "mile", "miles"), METRES_PER_MILE),
}
_OWN_UNIT = {
    "degrees C": ("c", "celsius", "degc", "deg"),
    "degrees": ("deg", "degrees", "dd", "wgs84", "wgs 84"),
    "minutes": ("min", "minutes"),
    "hours": ("h", "hours"),
}
_EXAMPLE = {
    "longitude": "decimal degrees, such as -82.3248",
    "latitude": "decimal degrees, such as 29.6516",
    "access_longitude": "decimal degrees, such as -82.3248",
    "access_latitude": "decimal degrees, such as 29.6516",
}


def is_known_unit(unit: str, *, field: Field) -> bool:
    """Tell whether a number in this unit can be turned into the field's own unit, or is in it."""
    lengths = field.unit in _LENGTH_M and unit in _LENGTH_M
    return not unit or lengths or unit in _OWN_UNIT.get(field.unit, ()) or (field.unit == "degrees C" and unit == "f")


def expected(field: Field) -> str:
    """What to write in a number field, as a cure says it."""
    unit = f" in {field.unit}" if field.unit else ""
    return _EXAMPLE.get(field.name, f"a plain number{unit}")


def read_number(text: str, field: Field, *, decimal_comma: bool = False, unit: str = "") -> float | Misread:
    """
    Read a number and turn it into the field's unit; anything but a plain number in range is a misreading.

    Parameters
    ----------
    text
        The cell; the field's unit may stand behind the number.
    field
        Gives the unit and the range.
    decimal_comma
        The file writes 29,65 for 29.65.
    unit
        Unit of the column where its name says so, such as ``ft``.
    """
    number, own_unit = _split_unit(text, field)
    pattern = _COMMA_NUMBER if decimal_comma and "," in number else _NUMBER
    if not pattern.fullmatch(number):
        word = word_of(text, field_name=field.name)
        return float(word) if word else Misread(f"is not a number; write {expected(field)}")
    value = _converted(float(number.replace(",", ".")), own_unit or unit, field)
    return value if _is_in_range(value, field.values) else Misread(_out_of_range(field))


def read_integer(text: str, field: Field, *, decimal_comma: bool = False) -> float | Misread:
    """Read a whole number; '2.0' is one, '2.5' is a misreading."""
    value = read_number(text, field, decimal_comma=decimal_comma)
    if isinstance(value, Misread) or value.is_integer():
        return value
    return Misread("is not a whole number; write how many, such as 2")


def read_probability(text: str, *, per_cent: bool = False, decimal_comma: bool = False) -> float | Misread:
    """
    Read a probability: 0 to 1, a number with a % sign, or a word of the stated convention.

    Parameters
    ----------
    text
        The cell.
    per_cent
        The whole column is in per cent, so that '80' means 0.8.
    decimal_comma
        The file writes 0,8 for 0.8.

    Source
    ------
    convention
    """
    number = text.removesuffix("%").strip()
    if decimal_comma:
        number = number.replace(",", ".")
    if not _NUMBER.fullmatch(number):
        word = word_of(text, field_name="id_confidence") or text.casefold()
        return CONFIDENCE_WORDS.get(word, Misread("is not known; write 0 to 1, '80%', certain, likely or unsure"))
    value = float(number) / (100 if per_cent or text.endswith("%") else 1)
    return value if 0 <= value <= 1 else Misread("lies outside 0 to 1; write 0.8 or '80%'")


def is_per_cent(cells: Iterable[str], *, written_name: str) -> bool:
    """
    Tell whether a column of probabilities is in per cent: its name says so, or its numbers can be nothing else.

    They can be nothing else when all lie above 1 and up to 100, and one lies above 10 (so not a scale of 1 to 5 or 10).
    """
    if _PER_CENT_NAME.search(written_name):
        return True
    numbers = [float(cell) for cell in cells if _NUMBER.fullmatch(cell)]
    return bool(numbers) and min(numbers) > 1 and 10 < max(numbers) <= 100


def _split_unit(text: str, field: Field) -> tuple[str, str]:
    """The number, with a plain minus, and the unit behind it; a unit that does not belong there stays with it."""
    text = text.replace("\N{MINUS SIGN}", "-")
    if field.unit == "degrees":
        return text.rstrip("°º "), ""
    parts = _WITH_UNIT.fullmatch(text)
    if parts and field.unit and is_known_unit(parts["unit"].lower(), field=field):
        return parts["number"].strip(), parts["unit"].lower()
    return text, ""


def _converted(value: float, unit: str, field: Field) -> float:
    if field.unit == "degrees C" and unit == "f":
        return celsius_from_fahrenheit(value)
    if unit in _LENGTH_M and field.unit in _LENGTH_M and unit != field.unit:
        return value * _LENGTH_M[unit] / _LENGTH_M[field.unit]
    return value


def _is_in_range(value: float, allowed: str) -> bool:
    """``0<..10`` leaves 0 out, ``0..10`` takes it in; a blank allows every finite number."""
    low, _, high = allowed.partition("..")
    if not high:
        return abs(value) < float("inf")
    least = float(low.removesuffix("<"))
    return (value > least if low.endswith("<") else value >= least) and value <= float(high)


def _out_of_range(field: Field) -> str:
    low, _, high = field.values.partition("..")
    least = f"above {low[:-1]}" if low.endswith("<") else f"from {low}"
    return f"lies outside what {field.name} can be ({least} to {high}); write {expected(field)}"
