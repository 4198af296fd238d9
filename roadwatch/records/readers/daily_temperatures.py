"""Tables of a day, its low and its high: archive exports and anybody's own."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.readers.ghcn_flags import OBSERVATION_HOUR_NOTE, flag_faults
from roadwatch.records.readers.numbers import as_numbers
from roadwatch.records.readers.series import refuse_mixed_series, series_ids
from roadwatch.records.readers.temperature_units import (
    UNIT_WORDS,
    UnitFound,
    celsius_texts,
    clean_cells,
    unit_of_columns,
    unit_of_days,
    unit_unknown,
)

if TYPE_CHECKING:
    from roadwatch.records.readers.temperature_columns import TemperatureColumns
    from roadwatch.records.tables import RawTable, RowFault


def read_daily_table(table: RawTable, columns: TemperatureColumns) -> RawTable:
    """
    Bring a table of daily lows and highs to degrees C and canonical columns.

    Returns
    -------
    Columns series_id, kind, date, tmin_c, tmax_c, then the others as written; the unit and why stand in the notes.

    Raises
    ------
    UnfitFileError
        The values could be in more than one unit.

    Source
    ------
    ghcn_daily
    """
    assert columns.low is not None
    assert columns.high is not None
    names = [columns.low, columns.high]
    low, high = (clean_cells(table.rows[name]) for name in names)
    low, high, faults = _without_flagged(table, low, high, names)
    date = table.rows[columns.clocks[0]]
    found = _find_unit(table, low, high, date, columns)
    series, series_note = series_ids(table, columns.series)
    refuse_mixed_series(date, series, source=table.source)
    rows = {
        "series_id": series,
        "kind": _kinds(table),
        "date": _iso_days(date),
        "tmin_c": celsius_texts(low, unit=found.unit, decimal_comma=table.decimal_comma),
        "tmax_c": celsius_texts(high, unit=found.unit, decimal_comma=table.decimal_comma),
    }
    used = {columns.clocks[0], columns.series, *names}
    rows |= {str(name): list(table.rows[name]) for name in table.rows if name not in used and name not in rows}
    return dataclasses.replace(
        table,
        rows=pd.DataFrame({name: pd.Series(cells, dtype=object) for name, cells in rows.items()}),
        notes=(
            *table.notes,
            f"temperatures: {UNIT_WORDS[found.unit]}, {found.why}",
            *series_note,
            *((OBSERVATION_HOUR_NOTE,) if _is_archive_export(columns) else ()),
            *_blanked(table, low, high, names),
        ),
        faults=(*table.faults, *faults),
        kind="temperatures",
        decimal_comma=False,
    )


def _is_archive_export(columns: TemperatureColumns) -> bool:
    """The climate archive names its elements in capitals, beside the station; only it writes tenths of degrees."""
    return columns.series is not None and (columns.low, columns.high) == ("TMIN", "TMAX")


def _find_unit(
    table: RawTable, low: pd.Series, high: pd.Series, date: pd.Series, columns: TemperatureColumns
) -> UnitFound:
    names = [str(low.name), str(high.name)]
    found = unit_of_columns(names) or unit_of_days(
        as_numbers(low, decimal_comma=table.decimal_comma),
        as_numbers(high, decimal_comma=table.decimal_comma),
        months=_n_months(date),
        may_be_tenths=_is_archive_export(columns),
    )
    if found is None:
        raise unit_unknown(table.source, columns=names, cure="tmin_c and tmax_c, or tmin_f and tmax_f")
    return found


def _n_months(date: pd.Series) -> int:
    """Number of calendar months the days fall in; 0 where the order of day and month does not show."""
    text = date.astype("string").str.strip()
    iso = text.str.extract(r"^\d{4}[-/.]?(\d{1,2})", expand=False).dropna()
    if len(iso):
        return int(iso.astype(int).nunique())
    parts = text.str.extract(r"^(\d{1,2})[-/.](\d{1,2})[-/.]\d{2,4}").dropna().astype(int)
    return min((int(parts[at].nunique()) for at in parts if len(parts) and parts[at].max() <= 12), default=0)


def _without_flagged(
    table: RawTable, low: pd.Series, high: pd.Series, names: list[str]
) -> tuple[pd.Series, pd.Series, list[RowFault]]:
    """Values whose attributes ("M,Q,S") carry a quality flag are made blank, each with a fault."""
    cleaned, faults = {}, []
    for cells, name in zip((low, high), names, strict=True):
        cleaned[name] = cells
        attributes = f"{name}_ATTRIBUTES"
        if attributes in table.rows:
            flags = table.rows[attributes].astype("string").str.split(",").str[1].fillna("").str.strip()
            flagged = np.asarray((flags != "") & cells.notna())
            faults += flag_faults(table, flagged, column=name, flags=flags, values=cells)
            cleaned[name] = cells.mask(flagged, None)
    return cleaned[names[0]], cleaned[names[1]], faults


def _blanked(table: RawTable, low: pd.Series, high: pd.Series, names: list[str]) -> tuple[str, ...]:
    n_missing = int(low.isna().sum() + high.isna().sum())
    be = "is" if n_missing == 1 else "are"
    return (
        (f"{n_missing} of {2 * len(table.rows)} values of {' and '.join(names)} {be} blank, missing or flagged",)
        if n_missing
        else ()
    )


def _kinds(table: RawTable) -> list[str]:
    if "kind" in table.rows:
        return [cell if isinstance(cell, str) else "air" for cell in table.rows["kind"]]
    return ["air"] * len(table.rows)


def _iso_days(date: pd.Series) -> list[str | None]:
    """Days written 20100704 or with a time become 2010-07-04; any other form stays for the date reader."""
    text = date.astype("string").str.strip()
    text = text.str.replace(r"^(\d{4})(\d{2})(\d{2})$", r"\1-\2-\3", regex=True)
    text = text.str.replace(r"^(\d{4}-\d{2}-\d{2})[T ]\d.*$", r"\1", regex=True)
    return [cell if isinstance(cell, str) else None for cell in text]
