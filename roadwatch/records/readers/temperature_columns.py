"""Which columns of a table are a day, a clock, a low, a high or a single temperature reading."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from roadwatch.records.readers.temperature_units import unit_in_name

if TYPE_CHECKING:
    from collections.abc import Iterable

_UNIT_WORDS = frozenset({"c", "f", "deg", "degc", "degf", "celsius", "fahrenheit", "degree", "degrees"})
_WARMTH = frozenset({"t", "temp", "temps", "temperature", "air", "daily", "of", "the", "day", "value"})
_LOW = frozenset({"tmin", "min", "minimum", "low", "lowest", "mintemp", "tempmin", "mint"})
_HIGH = frozenset({"tmax", "max", "maximum", "high", "highest", "maxtemp", "tempmax", "maxt"})
_READING = frozenset({"temp", "temps", "temperature"})
_CLOCK = frozenset({"date", "time", "datetime", "timestamp", "at"})
_BESIDE_CLOCK = _CLOCK | {
    "gmt",
    "utc",
    "local",
    "hh",
    "mm",
    "ss",
    "yyyy",
    "dd",
    "yy",
    "of",
    "reading",
    "recorded",
    "hour",
}
_SERIES = frozenset(
    {
        "seriesid",
        "station",
        "stationid",
        "logger",
        "loggerid",
        "serial",
        "serialnumber",
        "sensor",
        "city",
        "site",
        "siteid",
    }
)
_INDEX = frozenset({"#", "no", "no.", "index", "record", "rec", "rownames", "row", "sample", "n"})
_OTHER_TRADES = frozenset(
    {"taxon", "species", "turtle", "scientificname", "observer", "volunteer", "searchid", "survey", "nestid", "nest"}
    | {"nestnumber", "outcome", "clutch", "condition", "foundat", "laidon", "startedat"}
)


@dataclass(frozen=True)
class TemperatureColumns:
    """Names of the columns as written; None or empty where a table has none."""

    clocks: tuple[str, ...]
    low: str | None
    high: str | None
    readings: tuple[str, ...]
    series: str | None
    index: str | None

    @property
    def is_daily(self) -> bool:
        """The table has a day with its low and high."""
        return bool(self.clocks) and self.low is not None and self.high is not None

    @property
    def is_series_of_readings(self) -> bool:
        """The table has a clock and a reading."""
        return bool(self.clocks) and bool(self.readings) and not self.is_daily


def temperature_columns(names: Iterable[str]) -> TemperatureColumns | None:
    """
    Find the columns of a temperature table.

    Returns
    -------
    The columns, or None where the table speaks of animals, nests or searches.
    """
    names = list(names)
    joined = {name: re.sub(r"[^a-z#.]", "", name.lower()) for name in names}
    if _OTHER_TRADES & set(joined.values()):
        return None
    words = {name: _words(name) for name in names}
    return TemperatureColumns(
        clocks=tuple(name for name in names if words[name] & _CLOCK and words[name] <= _BESIDE_CLOCK),
        low=next((name for name in names if words[name] & _LOW and words[name] <= _LOW | _WARMTH), None),
        high=next((name for name in names if words[name] & _HIGH and words[name] <= _HIGH | _WARMTH), None),
        readings=tuple(name for name in names if _is_reading(name, words[name])),
        series=next((name for name in names if joined[name] in _SERIES), None),
        index=next((name for name in names if joined[name] in _INDEX or name == "#"), None),
    )


def _is_reading(name: str, words: frozenset[str]) -> bool:
    if words & (_LOW | _HIGH):
        return False
    return bool(words & _READING) or (not words and unit_in_name(name) is not None)


def _words(name: str) -> frozenset[str]:
    """The words of a name, without what stands in brackets and without the unit."""
    outside = re.sub(r"\(.*?\)|\[.*?\]", " ", name.lower())
    return frozenset(re.findall(r"[a-z]+", outside)) - _UNIT_WORDS
