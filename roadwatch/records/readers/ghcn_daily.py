"""Daily climate archive, one value at a time: fixed-width ``.dly`` files and by-station CSV without a header."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Any

import pandas as pd

from roadwatch.records.readers.ghcn_flags import OBSERVATION_HOUR_NOTE, flag_reason
from roadwatch.records.readers.numbers import number_texts
from roadwatch.records.readers.wording import counted, unfit
from roadwatch.records.tables import RawTable, RowFault

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping

    from roadwatch.records.readers.delimited import SplitText

MISSING = -9999
ELEMENTS = {"TMIN": "tmin_c", "TMAX": "tmax_c"}

_DLY_LINE = re.compile(r"[A-Z]{2}[A-Z0-9_\- ]{9}\d{4}(?:0[1-9]|1[0-2])[A-Z]{2}[A-Z0-9]{2}[ \-\d]{4}\d")
_DLY_LAST_VALUE_ENDS = 266
_DLY_WIDTH = 269
_STATION = r"[A-Z]{2}[A-Z0-9_\-]{9}"


def is_dly(text: str) -> bool:
    """Tell a fixed-width file by its first line."""
    return _DLY_LINE.match(text.lstrip("\ufeff\r\n")) is not None


def is_by_station(split: SplitText) -> bool:
    """Tell a by-station file by its first row: station, day, element, value, flags."""
    first = [cell or "" for cell in split.records[0]] if split.records else []
    forms = (_STATION, r"\d{8}", r"[A-Z]{2}[A-Z0-9]{2}", r"-?\d+")
    return len(first) in (7, 8) and all(re.fullmatch(form, cell) for form, cell in zip(forms, first, strict=False))


def read_dly(text: str, *, source: str) -> RawTable:
    """
    Read a fixed-width file of one station: a row for each day with a low or a high, degrees C.

    A line holds a month: station 1-11, year 12-15, month 16-17, element 18-21, then 31 times value (5), measurement,
    quality and source flag (1 each). Temperatures are tenths of degrees C, -9999 is missing.

    Raises
    ------
    UnfitFileError
        No line holds an unflagged low or high.

    Source
    ------
    ghcn_daily
    """
    values: list[tuple[str, str, str, str, str, int, str]] = []
    faults: list[RowFault] = []
    others: set[str] = set()
    for number, line in enumerate(text.lstrip("\ufeff").splitlines(), start=1):
        element = line[17:21]
        if not line.strip("\x00\x1a "):
            continue
        if not _DLY_LINE.match(line) or len(line) < _DLY_LAST_VALUE_ENDS:
            faults.append(_broken_line(source, number, line))
        elif element in ELEMENTS:
            values += _month_values(line.ljust(_DLY_WIDTH), number)
        else:
            others.add(element)
    frame = pd.DataFrame(values, columns=["station", "date", "element", "value", "flag", "line", "original"])
    return observation_table(frame, source=source, form="fixed-width daily archive", faults=faults, others=others)


def read_by_station(split: SplitText) -> RawTable:
    """
    Read a by-station CSV: station, YYYYMMDD, element, value in tenths of degrees C, three flags, hour observed.

    Raises
    ------
    UnfitFileError
        No row holds an unflagged low or high.

    Source
    ------
    ghcn_daily
    """
    faults = list(split.faults)
    fits = [at for at, record in enumerate(split.records) if len(record) in (7, 8)]
    fitting = set(fits)
    faults += [
        _broken_line(split.source, split.lines[at], split.originals[at])
        for at in range(len(split.records))
        if at not in fitting
    ]
    cells = pd.DataFrame(
        [split.records[at][:6] for at in fits], columns=["station", "day", "element", "value", "m", "q"]
    )
    days = cells["day"].astype("string").str.replace(r"^(\d{4})(\d{2})(\d{2})$", r"\1-\2-\3", regex=True)
    frame = pd.DataFrame(
        {
            "station": cells["station"].fillna("").astype(object),
            "date": days.fillna("").astype(object),
            "element": cells["element"].fillna("").astype(object),
            "value": cells["value"].fillna("").astype(object),
            "flag": cells["q"].fillna("").astype(object),
            "line": [split.lines[at] for at in fits],
            "original": [split.originals[at] for at in fits],
        }
    )
    wanted = frame["element"].isin(list(ELEMENTS))
    others = set(frame.loc[~wanted, "element"].unique())
    return observation_table(
        frame[wanted], source=split.source, form="by-station archive", faults=faults, others=others
    )


def observation_table(
    frame: pd.DataFrame, *, source: str, form: str, faults: list[RowFault], others: set[str]
) -> RawTable:
    """
    Lay single values out as days.

    Parameters
    ----------
    frame
        (values,) Text columns station, date, element, value, flag, original and the number of the line.
    source
        How messages call the file.
    form
        Name of the format, for a note.
    faults
        What was found so far.
    others
        Elements that were passed over, for a note.

    Raises
    ------
    UnfitFileError
        No unflagged low or high is left.
    """
    tenths = pd.to_numeric(frame["value"].str.strip(), errors="coerce")
    is_day = pd.to_datetime(frame["date"], format="%Y-%m-%d", errors="coerce").notna()
    present = tenths.ne(MISSING)
    flagged = present & frame["flag"].ne("")
    repeated = frame[present].duplicated(["station", "date", "element"]).reindex(frame.index, fill_value=False)
    unusable = present & ~flagged & (tenths.isna() | ~is_day | repeated)
    good = frame.assign(celsius=tenths / 10.0)[present & ~flagged & ~unusable]
    days = _days(good)
    if days.empty:
        raise unfit(
            source,
            found=f"a {form} file without usable lows and highs",
            expected="elements TMIN and TMAX",
            cure="download the station with TMIN and TMAX",
        )
    kept = set(zip(days["station"], days["date"], strict=True))
    faults = [*faults, *_value_faults(frame[flagged], source, kept), *_unusable_faults(frame[unusable], source, kept)]
    n_missing = int((~present & is_day).sum())
    notes = (
        f"format: {form}; temperatures: tenths of degrees C, as its documentation says",
        *((f"elements passed over: {', '.join(sorted(others)[:8])}",) if others else ()),
        *((f"{counted(n_missing, 'value is', 'values are')} marked missing",) if n_missing else ()),
        OBSERVATION_HOUR_NOTE,
    )
    return RawTable.of_columns(
        source,
        {
            "series_id": days["station"].tolist(),
            "kind": ["air"] * len(days),
            "date": days["date"].tolist(),
            "tmin_c": number_texts(days["TMIN"], decimals=1),
            "tmax_c": number_texts(days["TMAX"], decimals=1),
        },
        lines=days["line"].to_numpy(),
        originals=days["original"].tolist(),
        notes=notes,
        faults=tuple(faults),
        kind="temperatures",
    )


def _month_values(line: str, number: int) -> list[tuple[str, str, str, str, str, int, str]]:
    station, year, month, element = line[:11].strip(), line[11:15], line[15:17], line[17:21]
    return [
        (
            station,
            f"{year}-{month}-{day:02d}",
            element,
            line[at : at + 5],
            line[at + 6].strip(),
            number,
            f"{line[:21]} day {day}: {line[at : at + 8]}".rstrip(),
        )
        for day, at in enumerate(range(21, _DLY_WIDTH, 8), start=1)
    ]


def _days(good: pd.DataFrame) -> pd.DataFrame:
    """One row a station and day, in their order: TMIN, TMAX, first line, originals joined."""
    values: dict[tuple[str, str], dict[str, float]] = {}
    originals: dict[tuple[str, str], dict[str, str]] = {}
    lines: dict[tuple[str, str], int] = {}
    columns = [good[name].tolist() for name in ("station", "date", "element", "celsius", "line", "original")]
    for station, date, element, celsius, line, original in zip(*columns, strict=True):
        key = (station, date)
        values.setdefault(key, {})[element] = celsius
        originals.setdefault(key, {})[element] = original
        lines[key] = min(lines.get(key, line), line)
    days = sorted(values)
    return pd.DataFrame(
        {
            "station": [station for station, _ in days],
            "date": [date for _, date in days],
            **{element: [values[key].get(element, math.nan) for key in days] for element in ELEMENTS},
            "line": [lines[key] for key in days],
            "original": [" | ".join(originals[key][one] for one in ELEMENTS if one in originals[key]) for key in days],
        }
    )


def _value_faults(flagged: pd.DataFrame, source: str, kept: set[tuple[str, str]]) -> list[RowFault]:
    return [
        _value_fault(row, source, kept, found=f"{row['value'].strip()} {row['flag']}", why=flag_reason(row["flag"]))
        for row in flagged.to_dict("records")
    ]


def _unusable_faults(unusable: pd.DataFrame, source: str, kept: set[tuple[str, str]]) -> list[RowFault]:
    why = (
        "the value is no whole number, its day is not in the calendar, or it stands twice; "
        "expected one value in tenths of degrees C for each day, download the station again"
    )
    return [_value_fault(row, source, kept, found=row["value"].strip(), why=why) for row in unusable.to_dict("records")]


def _value_fault(
    row: Mapping[Hashable, Any], source: str, kept: set[tuple[str, str]], *, found: str, why: str
) -> RowFault:
    """A note where the day stays with its other value, else the day is held back."""
    return RowFault(
        source=source,
        line=int(row["line"]),
        original=row["original"],
        column=ELEMENTS[row["element"]],
        found=found,
        reason=f"{row['element']} of {row['date']}: {why}",
        severity="note" if (row["station"], row["date"]) in kept else "hold back",
    )


def _broken_line(source: str, number: int, line: str) -> RowFault:
    return RowFault(
        source=source,
        line=number,
        original=line,
        column="",
        found=line[:60],
        reason="this line is cut short or of another form than the file's first; copy or download the file again",
    )
