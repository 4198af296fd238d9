"""Columns of the season file: which a kind of record has, and how values pass between tables and SQL."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from roadwatch.errors import UnfitFileError
from roadwatch.records.fields import FieldType, Kind, fields_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

SqlType = Literal["TEXT", "REAL", "INTEGER", "BOOLEAN"]
SqlValue = str | float | int | bytes | None

SQL_TYPES: dict[FieldType, SqlType] = {
    "number": "REAL",
    "probability": "REAL",
    "integer": "INTEGER",
    "boolean": "BOOLEAN",
}
"""Every other type is kept as text; dates and times are ISO 8601 text, because a date alone is accepted."""

AS_WRITTEN = "_as_written"
"""Ending of the columns that keep a taxon in the observer's own words."""

SEEN_NAME = re.compile(r"seen_[a-z0-9_]{1,58}", re.ASCII)
LAYER_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_]{0,62}", re.ASCII)


@dataclass(frozen=True)
class Column:
    """One column of a stored table and the type it is declared with."""

    name: str
    type: SqlType

    @property
    def definition(self) -> str:
        """The column as ``CREATE TABLE`` and ``ALTER TABLE`` write it."""
        return f'"{self.name}" {self.type}'


@cache
def columns_of(kind: Kind) -> tuple[Column, ...]:
    """The stored columns of one kind: its fields, each taxon as the observer wrote it, and columns we do not know."""
    fields = fields_of(kind)
    own = tuple(Column(field.name, SQL_TYPES.get(field.type, "TEXT")) for field in fields.values())
    as_written = tuple(Column(f"{name}{AS_WRITTEN}", "TEXT") for name, field in fields.items() if field.type == "taxon")
    return (*own, *as_written, Column("other", "TEXT"))


def seen_columns(names: Iterable[str], *, source: str) -> tuple[Column, ...]:
    """
    Pick the columns that tell which characters were seen.

    Raises
    ------
    UnfitFileError
        A name holds other signs than small letters, digits and underscores, or is too long.
    """
    found = [name for name in names if name.startswith("seen_")]
    for name in found:
        if not SEEN_NAME.fullmatch(name):
            raise UnfitFileError(
                f"{source}: the column name {name!r} cannot be kept; write seen_ and the key of a character in small "
                "letters, digits and underscores, at most 63 signs, such as seen_plastron_hinge"
            )
    return tuple(Column(name, "TEXT") for name in found)


def sql_type_of(values: pd.Series) -> SqlType:
    """The type to declare for a column of a map layer."""
    if pd.api.types.is_bool_dtype(values):
        return "BOOLEAN"
    return "REAL" if pd.api.types.is_numeric_dtype(values) else "TEXT"


def to_sql(values: pd.Series, sql_type: SqlType) -> list[SqlValue]:
    """
    Turn a column into values that SQL takes; blanks (nan, None, empty text) become None.

    Parameters
    ----------
    values
        (n,) text, numbers, or True, False and None.
    sql_type
        Type of the stored column.
    """
    if sql_type in ("REAL", "INTEGER"):
        numbers = pd.to_numeric(values).to_numpy(dtype=float, na_value=np.nan)
        bound: list[SqlValue] = none_where(np.isnan(numbers), numbers).tolist()
        return bound
    cells = values.astype(object).to_numpy()
    blank = np.asarray(pd.isna(cells), dtype=bool)
    if blank.all():
        return [None] * len(cells)
    filled = none_where(blank, cells).tolist()
    if sql_type == "BOOLEAN":
        return [None if cell is None else int(cell) for cell in filled]
    return [cell or None if isinstance(cell, str) else _text(cell) for cell in filled]


def from_sql(values: Sequence[SqlValue], sql_type: SqlType) -> pd.Series:
    """
    Turn stored values into a column: numbers float64 with nan, text and booleans as objects with None.

    Returns
    -------
    (n,) the column.
    """
    if sql_type in ("REAL", "INTEGER"):
        return pd.Series(np.array(values, dtype=np.float64))
    if sql_type == "BOOLEAN":
        values = [None if cell is None else bool(cell) for cell in values]
    cells = np.empty(len(values), dtype=object)
    cells[:] = values
    return pd.Series(cells, dtype=object)


def none_where(is_blank: NDArray[np.bool_], values: NDArray[np.generic]) -> NDArray[np.object_]:
    """Copy values as objects, with None where they are blank."""
    cells = values.astype(object)
    cells[is_blank] = None
    return cells


def text_of_value(value: object) -> str | None:
    """
    One stored value as the text that ``changes`` keeps; None for a blank.

    >>> text_of_value(29.6512), text_of_value(float("nan"))
    ('29.6512', None)
    """
    return None if value is None or value != value else str(value)  # nan is not itself


def _text(cell: object) -> str | None:
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))  # an integer key that became a float because some are missing
    return None if cell is None else str(cell)
