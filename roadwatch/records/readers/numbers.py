"""Text cells to numbers and numbers to text, without inventing digits."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

_LARGEST_EXACT = 2.0**53
"""Beyond it floating point skips whole numbers (IEEE 754, binary64)."""


def as_number(text: str | None) -> float:
    """
    Read one number; nan where the text is none.

    >>> as_number("-82.5"), as_number("N45")
    (-82.5, nan)
    """
    try:
        return float(text) if text else math.nan
    except ValueError:
        return math.nan


def as_numbers(cells: pd.Series, *, decimal_comma: bool = False) -> NDArray[np.float64]:
    """Read a column of cells: (n,) numbers, nan where a cell is blank or no number."""
    text = cells.astype("string")
    if decimal_comma:
        text = text.str.replace(",", ".", regex=False)
    return np.asarray(pd.to_numeric(text, errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan))


def number_text(value: float) -> str | None:
    """
    Write a number in its shortest exact form, whole numbers without a point; None for nan.

    >>> number_text(3.0), number_text(0.1), number_text(float("nan"))
    ('3', '0.1', None)
    """
    if math.isnan(value):
        return None
    return str(int(value)) if abs(value) <= _LARGEST_EXACT and value == int(value) else repr(value)


def number_texts(values: Iterable[float], *, decimals: int) -> list[str | None]:
    """Write numbers to at most so many decimals, without trailing zeros; None for nan."""
    return [number_text(round(float(value), decimals) + 0.0) for value in values]
