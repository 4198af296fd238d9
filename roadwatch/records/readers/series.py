"""Which series a row of temperatures belongs to."""

from __future__ import annotations

import re
from pathlib import PurePath
from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.records.readers.wording import unfit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roadwatch.records.tables import RawTable

_FEWEST_ROWS = 20
_MOST_REPEATED = 0.25
"""A convention of ours (no source): one clock does not show a quarter of its times more than once."""


def series_ids(
    table: RawTable, column: str | None, *, otherwise: str | None = None
) -> tuple[list[str], tuple[str, ...]]:
    """The name of the series of each row: the column's, else one given, else the file's own name, which is said."""
    file_name, *sheet = re.split(r", (?:sheet|folder) ", table.source.split(", layer ", maxsplit=1)[0], maxsplit=1)
    name = otherwise or " ".join([PurePath(file_name).stem, *sheet])
    if column is not None:
        return [cell if isinstance(cell, str) else name for cell in table.rows[column]], ()
    return [name] * len(table.rows), (f"series_id: {name}, from the {'header' if otherwise else 'file name'}",)


def refuse_mixed_series(times: pd.Series, series: Sequence[str], *, source: str) -> None:
    """
    Refuse a table in which one series has many of its times more than once, because it must be several.

    Parameters
    ----------
    times
        (n,) days or times.
    series
        (n,) name of the series of each row.
    source
        How messages call the file.

    Raises
    ------
    UnfitFileError
        More than a quarter of at least 20 rows repeat the time of another row of their series.
    """
    key = pd.DataFrame({"time": times.to_numpy(), "series": list(series)}).dropna()
    if len(key) >= _FEWEST_ROWS and key.duplicated().mean() > _MOST_REPEATED:
        raise unfit(
            source,
            found="most times more than once, as where several stations or loggers stand in one file",
            expected="one series, or a column series_id",
            cure="name the column that tells the stations apart series_id",
        )
