"""Text files: temperature files are known by their shape, everything else is a table with a header."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from roadwatch.records.readers.apostrophes import as_written_by_us
from roadwatch.records.readers.content import name_of, read_bytes, refuse_endless_line
from roadwatch.records.readers.daily_temperatures import read_daily_table
from roadwatch.records.readers.delimited import split_text
from roadwatch.records.readers.ghcn_daily import is_by_station, is_dly, read_by_station, read_dly
from roadwatch.records.readers.headed import table_of
from roadwatch.records.readers.loggers import read_logger
from roadwatch.records.readers.temperature_columns import temperature_columns
from roadwatch.records.readers.text import decode_text

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.records.tables import RawTable

_CANONICAL_VALUES = frozenset({"tmin_c", "tmax_c", "temp_c"})


def read_text_file(path: Path) -> list[RawTable]:
    """
    Read a text file of any accepted shape.

    Raises
    ------
    UnfitFileError
        It is no text, no table, cut short, or its temperatures could be in two units.
    """
    source = name_of(path)
    refuse_endless_line(path)
    decoded = decode_text(read_bytes(path), source=source)
    if is_dly(decoded.text):
        return [read_dly(decoded.text, source=source)]
    split = split_text(decoded, source=source)
    if is_by_station(split):
        return [read_by_station(split)]
    return [read_temperatures(as_written_by_us(table_of(split)))]


def read_temperatures(table: RawTable) -> RawTable:
    """
    Bring a table of temperatures to canonical columns; any other table, and a canonical one, stays as it is.

    Raises
    ------
    UnfitFileError
        The unit of the temperatures, or the order of day and month, cannot be told.
    """
    names = [str(name) for name in table.rows]
    columns = temperature_columns(names)
    if columns is None:
        return table
    if "series_id" in names and _CANONICAL_VALUES & set(names):
        return dataclasses.replace(table, kind="temperatures")
    if columns.is_daily:
        return read_daily_table(table, columns)
    return read_logger(table, columns) if columns.is_series_of_readings else table
