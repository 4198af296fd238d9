"""The unit of temperatures: by the column's name, else by the values where only one unit is possible."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from roadwatch.records.readers.numbers import as_numbers, number_texts
from roadwatch.records.readers.wording import unfit
from roadwatch.units import celsius_from_fahrenheit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Unit = Literal["C", "F", "tenths of C"]
UNIT_WORDS: dict[Unit, str] = {"C": "degrees C", "F": "degrees F", "tenths of C": "tenths of degrees C"}

HIGHEST_AIR_C = 57.0
"""The highest air temperature recorded is 56.7 degrees C (wmo_extremes)."""
HIGHEST_AIR_F = 134.6
"""The same in degrees F: 57 x 1.8 + 32."""
WIDEST_WHOLE_SPAN = 40.0
NARROWEST_TENTHS_SPAN = 45.0
"""Half of all days span less than 40 degrees F from low to high, and more than 4.5 C (common practice, no source)."""
MISSING_WORDS = frozenset({"na", "nan", "n/a", "null", "none", "m", "-", "--", "."})
MISSING_NUMBERS = (-9999.0, 9999.0, -999.0, 999.0, -99.9, -999.9, 999.9, 9999.9)

_FEWEST_DAYS = 10
_DECIMALS = 4
_UNIT_IN_NAME = re.compile(r"(?:^|[^a-z])(?:deg(?:rees?)?[\s._]*)?(c|f|celsius|fahrenheit|degc|degf)(?:$|[^a-z])")


@dataclass(frozen=True)
class UnitFound:
    """A unit and why it was taken, for a note."""

    unit: Unit
    why: str


def unit_in_name(name: str) -> Unit | None:
    """
    Read the unit that stands in a column's name.

    >>> unit_in_name("Temp, °F (S/N 12345)"), unit_in_name("tmin_c"), unit_in_name("tmin")
    ('F', 'C', None)
    """
    found = _UNIT_IN_NAME.search(name.lower())
    if not found:
        return None
    return "F" if found.group(1)[-1] in "ft" else "C"


def unit_of_columns(names: list[str]) -> UnitFound | None:
    """The unit that the names of all the columns agree on, or None."""
    units = {unit_in_name(name) for name in names}
    unit = units.pop() if len(units) == 1 else None
    return UnitFound(unit, f"as the header says ({', '.join(names)})") if unit else None


def unit_of_days(low: Floats, high: Floats, *, months: int, may_be_tenths: bool) -> UnitFound | None:
    """
    Find the unit of daily lows and highs from the values.

    Parameters
    ----------
    low, high
        (days,) Values in the unknown unit; nan where missing.
    months
        Number of calendar months (1 to 12) that the days fall in.
    may_be_tenths
        The format also comes in whole tenths of degrees C.

    Returns
    -------
    The unit, or None where more than one is possible.
    """
    values = np.concatenate([low, high])
    values = values[np.isfinite(values)]
    if may_be_tenths and len(values) and (values == np.round(values)).all():
        size = float(np.quantile(np.abs(values), 0.99))
        span = _median_span(low, high)
        if size > 150 or span > NARROWEST_TENTHS_SPAN:
            return UnitFound("tenths of C", f"whole numbers as large as {size:.0f}, a day spanning {span:.0f} of them")
        if not span < WIDEST_WHOLE_SPAN:
            return None
    return unit_of_readings(values, months=months)


def unit_of_readings(values: Floats, *, months: int) -> UnitFound | None:
    """
    Find whether temperatures are degrees C or F from the values.

    Above 57 they cannot be C. If the warmest of a whole year is below 57 they are C, because as F
    the warmest day of that year would stay below 14 degrees C (a convention of ours: no turtle nests there).

    Returns
    -------
    The unit, or None where both are possible.
    """
    values = values[np.isfinite(values)]
    if not len(values):
        return None
    warm = float(np.quantile(values, 0.99))
    if HIGHEST_AIR_C < warm <= HIGHEST_AIR_F:
        return UnitFound("F", f"values up to {warm:.0f} cannot be degrees C")
    if warm <= HIGHEST_AIR_C and months == 12:
        return UnitFound("C", f"the warmest of the whole year are {warm:.0f}, too cold as degrees F")
    return None


def unit_unknown(source: str, *, columns: list[str], cure: str) -> Exception:
    """The refusal of temperatures that could be in more than one unit."""
    return unfit(
        source,
        found=f"temperatures without a unit ({', '.join(columns)}) that could be in more than one",
        expected="a unit",
        cure=f"name the columns {cure}",
    )


def clean_cells(cells: pd.Series) -> pd.Series:
    """Cells with the usual signs of a missing value made blank; what is no number stays as written."""
    plain = cells.astype("string").str.strip()
    missing = plain.str.lower().isin(MISSING_WORDS) | pd.Series(
        np.isin(as_numbers(plain), MISSING_NUMBERS), index=plain.index
    )
    return cells.mask(missing.fillna(value=False).astype(bool), None)


def celsius_texts(cells: pd.Series, *, unit: Unit, decimal_comma: bool = False) -> list[str | None]:
    """
    Write temperatures as text in degrees C; a cell that is no number stays as written, to be complained of later.

    >>> celsius_texts(pd.Series(["68", "cold", None]), unit="F")
    ['20', 'cold', None]
    """
    values = as_numbers(cells, decimal_comma=decimal_comma)
    texts = number_texts(celsius(values, unit=unit), decimals=_DECIMALS)
    return [text or (cell if isinstance(cell, str) else None) for text, cell in zip(texts, cells, strict=True)]


def celsius(values: Floats, *, unit: Unit) -> Floats:
    """Convert from a unit to degrees C: (n,) to (n,)."""
    if unit == "F":
        return np.asarray(celsius_from_fahrenheit(values))  # type: ignore[arg-type]  # plain arithmetic, arrays too
    return values / 10.0 if unit == "tenths of C" else values


def _median_span(low: Floats, high: Floats) -> float:
    spans = (high - low)[np.isfinite(high - low)]
    return float(np.median(spans)) if len(spans) >= _FEWEST_DAYS else float("nan")
