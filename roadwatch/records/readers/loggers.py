"""Temperature loggers: titles, units in the header, 12-hour clocks, event rows, sensor faults, downloads run twice."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.readers.clocks import ClockReadings, iso_texts, offset_in_name, read_clock
from roadwatch.records.readers.numbers import as_numbers
from roadwatch.records.readers.series import refuse_mixed_series, series_ids
from roadwatch.records.readers.temperature_units import (
    UNIT_WORDS,
    UnitFound,
    celsius,
    celsius_texts,
    unit_of_columns,
    unit_of_readings,
    unit_unknown,
)
from roadwatch.records.readers.wording import unfit
from roadwatch.records.tables import RawTable, RowFault

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from roadwatch.records.readers.temperature_columns import TemperatureColumns

SENSOR_FAULTS_C = {
    85.0: "the value of a sensor that was just switched on",
    -127.0: "the value of a sensor that is disconnected",
}
"""Common practice, no source."""
SENSOR_FAULTS_ANY_UNIT = {-999.0: "the mark of a missing value", -9999.0: "the mark of a missing value"}

REPEATED_HOUR_COLUMN = "second_time_on_clock"
"""``yes`` where the clock shows an hour again, after it was put back: the later of the two."""

_SERIAL = re.compile(r"(?:S/N|serial(?: number)?|serial no\.?)\s*[:#]?\s*([\w-]+)", re.IGNORECASE)
_END = re.compile(r"\bend of (?:file|data)\b", re.IGNORECASE)
_PLACES = ("nest", "soil")
_CLOCK_STEP_BACK = np.timedelta64(1, "h")
_CHANGES_BEFORE_HOUR = 4


def read_logger(table: RawTable, columns: TemperatureColumns) -> RawTable:
    """
    Bring the readings of a logger to degrees C and canonical columns.

    Returns
    -------
    Columns series_id, kind, at, temp_c, then the others as written. Rows without a reading (events, the end mark) and
    rows downloaded twice are notes among the faults; sensor-fault values are held back.

    Raises
    ------
    UnfitFileError
        The unit or the order of day and month cannot be told, or there is no reading.
    """
    reading = columns.readings[0]
    written = _joined_clock(table, columns)
    values = as_numbers(table.rows[reading], decimal_comma=table.decimal_comma)
    faults, is_reading = _events(table, reading)
    if not is_reading.any():
        raise unfit(table.source, found=f"no value in {reading}", expected="readings", cure="read the logger out again")
    clock = _clock(table, written, columns)
    found = _unit(table, columns, values, clock)
    sensor_faults, is_faulty = _sensor_faults(table, reading, values, found)
    repeat_faults, is_repeat = _repeats(table, columns, written, clock)
    keep = is_reading & ~is_faulty & ~is_repeat
    rows = _rows(table, columns, clock, found, written)
    serial = _SERIAL.search(" ".join([*map(str, table.rows.columns), *table.notes]))
    series, series_note = series_ids(table, columns.series, otherwise=serial.group(1) if serial else None)
    kind, kind_note = _kind(table, reading)
    columns_of_text: dict[str, Sequence[str | None]] = {"series_id": series, "kind": kind, **rows}
    frame = pd.DataFrame({name: pd.Series(list(cells), dtype=object) for name, cells in columns_of_text.items()})
    kept = frame[keep].reset_index(drop=True)
    refuse_mixed_series(kept["at"], kept["series_id"].tolist(), source=table.source)
    return RawTable(
        source=table.source,
        rows=kept,
        lines=table.lines[keep],
        originals=[table.originals[at] for at in np.flatnonzero(keep)],
        notes=(*table.notes, *_stated(columns, clock, found), *series_note, *kind_note),
        faults=(*table.faults, *faults, *sensor_faults, *repeat_faults),
        kind="temperatures",
    )


def _rows(
    table: RawTable, columns: TemperatureColumns, clock: ClockReadings, found: UnitFound, written: pd.Series
) -> dict[str, list[str | None]]:
    reading = columns.readings[0]
    cells = table.rows[reading]
    rows = {
        "at": iso_texts(clock, written, offset=_offset(columns)),
        "temp_c": celsius_texts(cells, unit=found.unit, decimal_comma=table.decimal_comma),
    }
    again = _shown_again(clock.local) if _offset(columns) is None else np.zeros(len(cells), dtype=bool)
    if again.any():
        rows[REPEATED_HOUR_COLUMN] = ["yes" if second else None for second in again]
    used = {*columns.clocks, reading, columns.series, "kind", *rows}
    return rows | {str(name): list(table.rows[name]) for name in table.rows if name not in used}


def _joined_clock(table: RawTable, columns: TemperatureColumns) -> pd.Series:
    """Date and time in one text, from one column or the first two."""
    names = list(columns.clocks[:2])
    first = table.rows[names[0]].astype("string")
    if len(names) == 1 or 2 * first.str.contains(":", regex=False).fillna(value=False).sum() > len(first):
        return first.astype(object)
    return (first + " " + table.rows[names[1]].astype("string")).astype(object)


def _clock(table: RawTable, written: pd.Series, columns: TemperatureColumns) -> ClockReadings:
    clock = read_clock(written)
    if clock is None:
        raise unfit(
            table.source,
            found=f"times such as {written.dropna().iloc[0]} that could be month first or day first",
            expected="an order that shows",
            cure=f"write {columns.clocks[0]} as 2025-06-08 13:00",
        )
    return clock


def _events(table: RawTable, reading: str) -> tuple[list[RowFault], NDArray[np.bool_]]:
    """Rows without a reading: events and the mark at the end."""
    at_end = np.array([_END.search(original) is not None for original in table.originals], dtype=bool)
    is_reading = table.rows[reading].notna().to_numpy(dtype=bool) & ~_is_end_mark(table.rows[reading])
    faults = [
        RowFault(
            source=table.source,
            line=int(table.lines[at]),
            original=table.originals[at],
            column=reading,
            found=table.originals[at][:60],
            reason="the mark at the end of the file"
            if at_end[at]
            else "an event of the logger without a temperature; nothing to do unless a reading is missing",
            severity="note",
        )
        for at in np.flatnonzero(~is_reading)
    ]
    return faults, is_reading


def _is_end_mark(cells: pd.Series) -> NDArray[np.bool_]:
    return cells.astype("string").str.contains(_END).fillna(value=False).to_numpy(dtype=bool)


def _unit(table: RawTable, columns: TemperatureColumns, values: NDArray[np.float64], clock: ClockReadings) -> UnitFound:
    readings = values[~np.isin(values, list(SENSOR_FAULTS_C | SENSOR_FAULTS_ANY_UNIT))]
    months = pd.DatetimeIndex(clock.local).month.dropna().nunique()
    name = columns.readings[0]
    found = unit_of_columns([name]) or unit_of_readings(readings, months=int(months))
    if found is None:
        raise unit_unknown(table.source, columns=[name], cure="temp_c or temp_f")
    return found


def _sensor_faults(
    table: RawTable, reading: str, values: NDArray[np.float64], found: UnitFound
) -> tuple[list[RowFault], NDArray[np.bool_]]:
    degrees = np.round(celsius(values, unit=found.unit), 2)
    marks = {**dict.fromkeys(SENSOR_FAULTS_ANY_UNIT, values), **dict.fromkeys(SENSOR_FAULTS_C, degrees)}
    meaning = SENSOR_FAULTS_ANY_UNIT | SENSOR_FAULTS_C
    told = {int(at): meaning[mark] for mark, column in marks.items() for at in np.flatnonzero(column == mark)}
    is_faulty = np.zeros(len(values), dtype=bool)
    is_faulty[list(told)] = True
    faults = [
        RowFault(
            source=table.source,
            line=int(table.lines[at]),
            original=table.originals[at],
            column="temp_c",
            found=str(table.rows[reading].iloc[at]),
            reason=f"{reading} {table.rows[reading].iloc[at]} is {told[at]}; look at the sensor",
        )
        for at in sorted(told)
    ]
    return faults, is_faulty


def _repeats(
    table: RawTable, columns: TemperatureColumns, written: pd.Series, clock: ClockReadings
) -> tuple[list[RowFault], NDArray[np.bool_]]:
    """
    Rows that came in twice, as when a logger is read out again without being cleared.

    With an index column a repeat has the same index, time and value. Without, it has the same time and value; where
    clocks may have been put back (Sunday, small hours) a time may stand twice.
    """
    key = pd.DataFrame({"clock": written, "reading": table.rows[columns.readings[0]]})
    allowed = np.ones(len(key), dtype=np.int64)
    if columns.index is not None:
        key["index"] = table.rows[columns.index]
    else:
        allowed += _may_be_put_back(clock.local)
    earlier = key.groupby(list(key), dropna=False).cumcount().to_numpy(dtype=np.int64)
    is_repeat = (earlier >= allowed) & key.notna().all(axis=1).to_numpy(dtype=bool)
    faults = [
        RowFault(
            source=table.source,
            line=int(table.lines[at]),
            original=table.originals[at],
            column="",
            found=table.originals[at][:60],
            reason="this row repeats an earlier one in time and value and is counted once; nothing to do",
            severity="note",
        )
        for at in np.flatnonzero(is_repeat)
    ]
    return faults, is_repeat


def _may_be_put_back(local: NDArray[np.datetime64]) -> NDArray[np.bool_]:
    times = pd.DatetimeIndex(local)
    return np.asarray((times.day_of_week == 6) & (times.hour < _CHANGES_BEFORE_HOUR))


def _shown_again(local: NDArray[np.datetime64]) -> NDArray[np.bool_]:
    """From where a clock that runs on steps back by an hour or less, until it passes the hour it showed before."""
    again = np.zeros(len(local), dtype=bool)
    step = np.diff(local)
    is_back = (step <= np.timedelta64(0, "s")) & (step > -_CLOCK_STEP_BACK) & _may_be_put_back(local)[:-1]
    for at in np.flatnonzero(is_back):
        if not again[at]:
            passed = (local[at + 1 :] > local[at]) | np.isnat(local[at + 1 :])
            stop = int(np.argmax(passed)) if passed.any() else len(passed)
            again[at + 1 : at + 1 + stop] = True
    return again


def _kind(table: RawTable, reading: str) -> tuple[list[str | None], tuple[str, ...]]:
    if "kind" in table.rows:
        return list(table.rows["kind"]), ()
    named = f"{table.source} {reading}".lower()
    place = next((place for place in _PLACES if place in named), None)
    if place:
        return [place] * len(table.rows), (f"kind: {place}, because the file or its column is named so",)
    note = "kind: blank, taken as air; for a logger in a nest or in soil add a column kind with nest or soil"
    return [None] * len(table.rows), (note,)


def _stated(columns: TemperatureColumns, clock: ClockReadings, found: UnitFound) -> tuple[str, ...]:
    offset = _offset(columns)
    zone = f"offset {offset} as the header says" if offset else "local times"
    others = f"other temperature columns kept as written: {', '.join(columns.readings[1:])}"
    return (
        f"temperatures: {UNIT_WORDS[found.unit]}, {found.why}",
        f"times: {clock.order}, {zone}",
        *((others,) if len(columns.readings) > 1 else ()),
    )


def _offset(columns: TemperatureColumns) -> str | None:
    return next((offset for name in columns.clocks if (offset := offset_in_name(name))), None)
