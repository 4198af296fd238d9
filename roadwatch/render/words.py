"""Values in the words a reader sees: the same in tables, in cards on the map and in print."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pandas as pd

from roadwatch.render.safe_text import plain

if TYPE_CHECKING:
    from collections.abc import Mapping

_DAY_AND_TIME = re.compile(r"(\d{4}-\d{2}-\d{2})T(\d{2}:\d{2})(?::\d{2}(?:\.\d+)?)?([+-]\d{2}:\d{2})?")

BASIS_WORDS = {"search": "known, dead per km searched", "unknown": "unknown: counts, not rates"}
WINDOW_WORDS = {
    "own_logger": "a logger in this nest",
    "calibrated_site": "a logger at this site",
    "station_offset": "the weather station and the usual offset of nests",
    "field_range": "days seen in natural nests",
    "none": "nothing",
}
HOTSPOT_LABELS = {
    "length_m": "Length, m",
    "deaths": "Dead",
    "dead_drawn": "Dead drawn near it",
    "expected": "Expected",
    "ratio": "Times the expected",
    "p_value": "Chance alone (p)",
    "years": "Years",
    "basis": "Search effort",
    "milepost": "Mileposts",
    "agency": "Kept by",
}

MEASURE_LABELS = {"kind": "Kind", "built_on": "Built", "removed_on": "Removed", "sides": "Sides of the road"}

TIMES = {"observed_at", "found_at"}
SHARES = {"id_confidence", "window_p_hatched", "p_hatched", "share_of_deaths"}


def texts_of(table: pd.DataFrame, *columns: str, otherwise: str) -> list[str]:
    """The first of the named columns that exists, as text; ``otherwise`` where it is blank."""
    for name in columns:
        if name in table.columns:
            return [plain(value).strip() or otherwise for value in table[name]]
    return [otherwise] * len(table)


def shown_value(table: pd.DataFrame, column: str) -> list[str]:
    """
    One column in words, blank where nothing is known.

    ``ratio`` carries its interval, ``years`` and ``milepost`` are put together from their two columns.
    """
    compose = {"ratio": _ratio, "years": _years, "milepost": _milepost}.get(column)
    if compose is not None:
        return [compose(row) for row in table.to_dict("records")]
    if column not in table.columns:
        return [""] * len(table)
    if column == "basis":
        return [BASIS_WORDS.get(plain(word), plain(word)) for word in table[column]]
    if column == "window_basis":
        return [WINDOW_WORDS.get(plain(word), plain(word)) for word in table[column]]
    if column == "p_value":
        return [number(value, digits=4) for value in table[column]]
    if column in TIMES:
        return [time_of(value) for value in table[column]]
    if column in SHARES:
        return [share(value) for value in table[column]]
    return [number(value) for value in table[column]]


def number(value: object, *, digits: int = 1) -> str:
    """
    A number with at most so many digits after the point; any other value as its text.

    >>> number(340.0), number(2.345), number(float("nan")), number("certain")
    ('340', '2.3', '', 'certain')
    """
    if isinstance(value, float) and value == value:  # nan differs from itself
        written = f"{value:.{digits}f}"
        return written.rstrip("0").rstrip(".") if "." in written else written
    return plain(None if _is_missing(value) else value)


def share(value: object) -> str:
    """
    A share of one in percent, or the word that stands for it.

    >>> share(0.8), share("likely")
    ('80 %', 'likely')
    """
    return f"{value:.0%}".replace("%", " %") if isinstance(value, float) and value == value else number(value)


def time_of(value: object) -> str:
    """
    A day, or a local time with its offset, the way people write it.

    >>> time_of("2025-05-12T07:40:00-04:00"), time_of("2025-05-12")
    ('2025-05-12 07:40 (UTC-04:00)', '2025-05-12')
    """
    text = number(value)
    found = _DAY_AND_TIME.fullmatch(text)
    if found is None:
        return text
    return f"{found[1]} {found[2]}" + (f" (UTC{found[3]})" if found[3] else "")


def hotspot_title(row: Mapping[Any, Any]) -> str:
    """Name a hotspot by its rank, road and stretch: ``Hotspot 1: County Road 12, 340 to 610 m``."""
    road = plain(row.get("road")).strip() or "unnamed road"
    start, end = number(row.get("from_m"), digits=0), number(row.get("to_m"), digits=0)
    stretch = f", {start} to {end} m" if start and end else ""
    return f"Hotspot {number(row.get('rank'))}: {road}{stretch}"


def _is_missing(value: object) -> bool:
    return value is None or value is pd.NA or value is pd.NaT or value != value


def _ratio(row: Mapping[Any, Any]) -> str:
    middle, low, high = (number(row.get(name)) for name in ("ratio", "ratio_low", "ratio_high"))
    return f"{middle} (95 % interval {low} to {high})" if low and high else middle


def _years(row: Mapping[Any, Any]) -> str:
    present, searched = number(row.get("years_present")), number(row.get("years_searched"))
    if not present:
        return ""
    if searched:
        return f"dead in {present} of {searched} years searched"
    return f"dead in {present} year{'' if present == '1' else 's'}"


def _milepost(row: Mapping[Any, Any]) -> str:
    start, end = number(row.get("milepost_from"), digits=3), number(row.get("milepost_to"), digits=3)
    route = plain(row.get("route_id")) if not _is_missing(row.get("route_id")) else ""
    return f"{route} {start} to {end}".strip() if start and end else ""
