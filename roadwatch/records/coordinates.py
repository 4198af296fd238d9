"""From the columns of a place, however they are written, to longitude and latitude on WGS 84."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import numpy as np
import pandas as pd

from roadwatch.records.complaints import LONGEST_CELL, TOO_LONG, Complaint, Misread
from roadwatch.records.coordinates_angles import Angle, read_angle, read_pair
from roadwatch.records.coordinates_mending import mend_places
from roadwatch.records.coordinates_metres import MetricRows, degrees_of_metres
from roadwatch.records.coordinates_places import Places, complaint_about
from roadwatch.records.coordinates_utm import (
    Metres,
    Zone,
    datum_of,
    is_projected,
    read_metres,
    read_reference,
    read_zone,
    shifted,
)
from roadwatch.records.words import is_blank

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from roadwatch.records.coordinates_columns import PlaceColumns
    from roadwatch.records.coordinates_repair import Area

    Numbers = NDArray[np.float64]

NEAR_WGS84 = frozenset({4326, 4269})
"""NAD83 is taken as WGS 84: they differ by one or two metres, far less than a hand-held GPS errs."""

UNPLACED = "is no place that can be brought to WGS 84; write longitude and latitude in decimal degrees"

_AXIS_CODE = {None: 0, "longitude": 1, "latitude": 2}
_UNKNOWN_DATUM = frozenset({"unknown", "not recorded", "unrecorded", "?", "none"})


def read_places(
    texts: dict[str, pd.Series],
    columns: PlaceColumns,
    written: Callable[[str], pd.Series],
    *,
    area: Area,
    decimal_comma: bool = False,
) -> Places:
    """
    Read the places of a file, row by row from the first way of writing that is filled.

    Parameters
    ----------
    texts
        ``longitude`` and ``latitude``: (n,) texts of the columns of their own, None where blank.
    columns
        The other columns of a place.
    written
        (n,) texts of a written column, None where blank.
    area
        The season's area; where it is known, slips are mended or proposed.
    decimal_comma
        The file writes 29,65 for 29.65.
    """
    n = len(texts["longitude"])
    own = {axis: _with_parts(texts[axis], columns.parts.get(axis, ()), written) for axis in texts}
    places = Places(np.full(n, np.nan), np.full(n, np.nan), own)
    metres = MetricRows(n)
    _read_references(columns, written, places, metres)
    _read_own(own, places, metres, decimal_comma=decimal_comma)
    is_open = own["longitude"].isna().to_numpy() & own["latitude"].isna().to_numpy()
    if columns.pair:
        pair = written(columns.pair)
        _read_pairs(pair, is_open & pair.notna().to_numpy(), columns, places, metres)
        places.texts = {axis: text.where(~is_open, pair) for axis, text in places.texts.items()}
        is_open &= pair.isna().to_numpy()
    if columns.easting:
        easting, northing = written(columns.easting), written(columns.northing)
        _read_eastings(easting, northing, is_open, places, metres)
        both = easting.str.cat(northing, sep=" ")
        places.texts = {axis: text.where(~is_open, both) for axis, text in places.texts.items()}
    _turn_metres(columns, written, places, metres, area)
    mend_places(places, area)
    _shift_datums(places, metres)
    _refuse_unplaced(places)
    return places


def _with_parts(text: pd.Series, names: tuple[str, ...], written: Callable[[str], pd.Series]) -> pd.Series:
    """Degrees, minutes, seconds and letter of several columns as one text."""
    for name in names:
        part = written(name)
        text = text.where(text.isna() | part.isna(), text.str.cat(part, sep=" ", na_rep=""))
    return text


def _numbers(texts: pd.Series) -> Numbers:
    """Plain decimal numbers, nan for everything else."""
    found = pd.to_numeric(texts, errors="coerce").to_numpy(dtype=np.float64)
    is_short = (texts.str.len() <= LONGEST_CELL).to_numpy(dtype=bool)
    return np.where(np.isfinite(found) & is_short, found, np.nan)


Result = TypeVar("Result")


def _by_text(
    texts: pd.Series, rows: NDArray[np.int64], reader: Callable[[str], Result]
) -> dict[int, tuple[str, Result | Misread]]:
    """Row to its text and its reading; each distinct text is read once."""
    asked = texts.iloc[rows]
    readings = {text: reader(text) if len(text) <= LONGEST_CELL else TOO_LONG for text in asked.dropna().unique()}
    return {int(row): (text, readings[text]) for row, text in zip(rows, asked, strict=True) if text in readings}


def _read_own(own: dict[str, pd.Series], places: Places, metres: MetricRows, *, decimal_comma: bool) -> None:
    """Columns of their own: numbers first, all else text by text; then metres among them, and letters that disagree."""
    degrees = {
        axis: _numbers(texts.str.replace(",", ".", n=1, regex=False) if decimal_comma else texts)
        for axis, texts in own.items()
    }
    told = {axis: np.zeros(len(texts), dtype=np.int8) for axis, texts in own.items()}
    for axis, texts in own.items():
        rows = np.flatnonzero(np.isnan(degrees[axis]) & texts.notna().to_numpy())
        for row, (text, angle) in _by_text(texts, rows, read_angle).items():
            if isinstance(angle, Misread):
                places.complaints.append(complaint_about(row, axis, text, angle.reason))
            else:
                degrees[axis][row] = angle.degrees
                told[axis][row] = _AXIS_CODE[angle.axis]
    lon, lat = degrees["longitude"], degrees["latitude"]
    is_metric = metres.fits(lon, lat)
    metres.easting[is_metric], metres.northing[is_metric] = lon[is_metric], lat[is_metric]
    is_crossed = (told["longitude"] == 2) & (told["latitude"] != 2) | (told["latitude"] == 1) & (told["longitude"] != 1)
    is_doubled = (told["longitude"] == told["latitude"]) & (told["longitude"] > 0)
    places.longitude[:] = np.where(is_metric | is_doubled, np.nan, np.where(is_crossed, lat, lon))
    places.latitude[:] = np.where(is_metric | is_doubled, np.nan, np.where(is_crossed, lon, lat))
    why = "are two longitudes or two latitudes by their letters; write one of each"
    for doubled in np.flatnonzero(is_doubled):
        both = f"{own['longitude'].iloc[doubled]}, {own['latitude'].iloc[doubled]}"
        places.complaints.append(complaint_about(int(doubled), "longitude", both, why))
    if is_crossed.any():
        east, north = own["longitude"], own["latitude"]
        places.texts = {"longitude": east.mask(is_crossed, north), "latitude": north.mask(is_crossed, east)}
        places.notes.append("longitude and latitude are told by their letters, not by their columns")


def _read_pairs(
    pair: pd.Series, is_asked: NDArray[np.bool_], columns: PlaceColumns, places: Places, metres: MetricRows
) -> None:
    def read(text: str) -> tuple[float, float] | Metres | Misread:
        return read_metres(text) or read_pair(text, longitude_first=columns.longitude_first)

    for row, (text, place) in _by_text(pair, np.flatnonzero(is_asked), read).items():
        if isinstance(place, Misread):
            places.complaints.append(complaint_about(row, "longitude", text, place.reason))
        elif isinstance(place, Metres):
            metres.easting[row], metres.northing[row] = place.easting_m, place.northing_m
            metres.zones[row] = place.zone
        else:
            places.longitude[row], places.latitude[row] = place


def _read_eastings(
    easting: pd.Series, northing: pd.Series, is_open: NDArray[np.bool_], places: Places, metres: MetricRows
) -> None:
    x, y = _metric_numbers(easting), _metric_numbers(northing)
    is_written = (easting.notna() & northing.notna()).to_numpy() & is_open
    fits = is_written & metres.fits(x, y)
    metres.easting[fits], metres.northing[fits] = x[fits], y[fits]
    for row in np.flatnonzero(is_written & ~fits):
        both = f"{easting.iloc[row]}, {northing.iloc[row]}"
        why = "are no UTM easting and northing; write metres, such as 414765 and 3507652"
        places.complaints.append(complaint_about(int(row), "longitude", both, why))


def _metric_numbers(texts: pd.Series) -> Numbers:
    """Numbers with an 'm', 'mE' or 'mN' behind them and with a decimal comma, or without."""
    plain = texts.str.replace(r"\s*m?\s*[en]?$", "", regex=True, case=False)
    return _numbers(plain.str.replace(",", ".", regex=False))


def _turn_metres(
    columns: PlaceColumns, written: Callable[[str], pd.Series], places: Places, metres: MetricRows, area: Area
) -> None:
    """Turn places in metres to degrees, by zone and datum or by their own reference system."""
    if not len(metres.rows):
        return
    zones = _zones(columns, written, metres.rows, metres, places)
    rows = metres.rows[~np.isin(metres.rows, list(places.told_rows))]
    found = degrees_of_metres(
        metres.easting[rows],
        metres.northing[rows],
        zones=[zones.get(int(row)) for row in rows],
        epsg=metres.epsg[rows],
        area=area,
    )
    places.longitude[rows], places.latitude[rows] = found.longitude, found.latitude
    for index, why in found.reasons.items():
        row = int(rows[index])
        text = places.texts["longitude"].iloc[row] or f"{metres.easting[row]:.15g}, {metres.northing[row]:.15g}"
        places.complaints.append(complaint_about(row, "longitude", text, why))
    places.notes += [
        f"UTM zone {zone} is taken: no other puts the places inside the season's area" for zone in found.taken
    ]
    places.notes.append("places are turned from metres to degrees")


def _shift_datums(places: Places, metres: MetricRows) -> None:
    """Bring degrees on another datum to WGS 84."""
    is_degrees = ~np.isin(np.arange(len(metres.epsg)), metres.rows) & np.isfinite(places.longitude + places.latitude)
    for code in sorted(set(metres.epsg[is_degrees].tolist()) - NEAR_WGS84):
        if not is_projected(code):
            at = np.flatnonzero(is_degrees & (metres.epsg == code))
            places.longitude[at], places.latitude[at] = shifted(places.longitude[at], places.latitude[at], epsg=code)
            name = datum_of(code) or f"EPSG:{code}"
            places.notes.append(f"places are turned from {name} to WGS 84, good to some metres")


def _refuse_unplaced(places: Places) -> None:
    """A row whose columns are filled and that still has no place is held back, whatever the cause."""
    is_filled = (places.texts["longitude"].notna() & places.texts["latitude"].notna()).to_numpy()
    is_lost = is_filled & np.isnan(places.longitude + places.latitude)
    for row in set(np.flatnonzero(is_lost).tolist()) - places.told_rows:
        text = f"{places.texts['longitude'].iloc[row]}, {places.texts['latitude'].iloc[row]}"
        places.complaints.append(complaint_about(row, "longitude", text, UNPLACED))


def _read_references(
    columns: PlaceColumns, written: Callable[[str], pd.Series], places: Places, metres: MetricRows
) -> None:
    """The reference system of each row, WGS 84 where nothing is said or what is said is not known, which is noted."""
    if not columns.reference:
        return
    texts = written(columns.reference)
    for row, (text, code) in _by_text(texts, np.flatnonzero(texts.notna().to_numpy()), read_reference).items():
        if not isinstance(code, Misread):
            metres.epsg[row] = code
        elif text.casefold() not in _UNKNOWN_DATUM:
            said = f"'{text}' {code.reason}; WGS 84 is taken"
            places.complaints.append(Complaint(row, "longitude", text, said, "note"))


def _zones(
    columns: PlaceColumns,
    written: Callable[[str], pd.Series],
    rows: NDArray[np.int64],
    metres: MetricRows,
    places: Places,
) -> dict[int, Zone | None]:
    """The zone of each metric row: of its cell, of its own column, else of the columns' names."""
    in_name = read_zone(columns.zone_in_name) if columns.zone_in_name else None
    zones: dict[int, Zone | None] = dict.fromkeys(rows.tolist(), in_name if isinstance(in_name, Zone) else None)
    if columns.zone:
        texts = written(columns.zone)
        if columns.band:
            texts = texts.str.cat(written(columns.band), sep="", na_rep="").where(texts.notna(), None)
        for row, (text, zone) in _by_text(texts, rows, read_zone).items():
            if isinstance(zone, Misread):
                places.complaints.append(complaint_about(row, "longitude", text, zone.reason))
            else:
                zones[row] = zone
    return zones | {row: zone for row, zone in metres.zones.items() if zone}


def without_blanks(texts: pd.Series) -> pd.Series:
    """The texts with None for those that say nothing, such as 'NA'."""
    blank = [text for text in texts.dropna().unique() if is_blank(text)]
    return texts.mask(texts.isin(blank), None) if blank else texts


def angle_of(text: str) -> float | Misread:
    """Degrees of a single cell that is no part of a record's own place, such as where a person starts from."""
    angle = read_angle(text)
    return angle.degrees if isinstance(angle, Angle) else angle
