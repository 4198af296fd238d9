"""Write the crossings as six files that people really hand in, with the faults that people really make."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from make_exports import write_phone, write_waypoints
from make_rows import Fault, Row, canonical, text_of, write_table

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from make_animals import Report

GPX_OBSERVERS = ("Lida Fennowmere", "Ines Quillfold", "Perrin Garrowlow", "Wren Tanselgarth")
PHONE_OBSERVERS = ("Cass Hobblewick", "Jory Sallowstead")


@dataclass(frozen=True)
class Plant:
    """A recipe for a fault: the row it is copied from, the column it spoils, and how."""

    at: int
    column: str
    what: str
    spoil: Callable[[Row], Row]


@dataclass(frozen=True)
class Planted:
    """What a reader should find: faults to hold back, ids that stand in two files, second reports of one animal."""

    faults: list[Fault]
    repeated_ids: list[str]
    n_second_reports: int


def write_crossings(folder: Path, reports: list[Report]) -> Planted:
    """Write the six files of crossings and say what was planted in them."""
    by_gpx = [r for r in reports if r.when.year == 2024 and r.observer in GPX_OBSERVERS and not r.search_id]
    by_gpx = [r for r in by_gpx if not r.date_only and "woods" not in r.notes]
    by_phone = [r for r in reports if r.when.year == 2025 and r.observer in PHONE_OBSERVERS]
    apart = {r.record_id for r in by_gpx + by_phone}
    years = {y: [r for r in reports if r.when.year == y and r.record_id not in apart] for y in range(2022, 2026)}
    from_next_year, from_phone = years[2023][40:41], by_phone[3:7]
    in_two_files = [r.record_id for r in from_next_year + from_phone]
    faults = [
        *_write_2022(folder, years[2022], twice=[replace(r, more={}) for r in from_next_year]),
        *_write_2023(folder, years[2023]),
        *_write_2024(folder, years[2024]),
        *_write_2025(folder, years[2025], twice=from_phone),
        *write_waypoints(folder, by_gpx),
        *write_phone(folder, by_phone, sparse=in_two_files),
    ]
    return Planted(faults, in_two_files, sum("second" in r.notes for r in reports))


def _swap(lon: str, lat: str) -> Callable[[Row], Row]:
    return lambda row: row | {lon: row[lat], lat: row[lon]}


def _put(column: str, text: str) -> Callable[[Row], Row]:
    return lambda row: row | {column: text}


def _no_minus(column: str) -> Callable[[Row], Row]:
    return lambda row: row | {column: row[column].removeprefix("-")}


def plant(file: str, rows: list[Row], plants: Sequence[Plant], *, id_column: str = "") -> list[Fault]:
    """Insert a spoiled copy of a good row before the row of that number; lines count from 1, the header is line 1."""
    faults = []
    for k, recipe in enumerate(sorted(plants, key=lambda item: item.at)):
        spoiled = recipe.spoil(dict(rows[recipe.at]))
        if id_column:
            spoiled[id_column] = f"INV-FAULT-{file.removesuffix('.csv')[-4:]}-{k + 1}"
        rows.insert(recipe.at, spoiled)
        faults.append(Fault(file, recipe.at + 2, recipe.column, recipe.what))
    return faults


def _write_2022(folder: Path, reports: list[Report], *, twice: list[Report]) -> list[Fault]:
    """The project's own columns, and one row of the next year's file that went into both."""
    rows = [canonical(report) for report in reports + twice]
    faults = plant(
        "crossings_2022.csv",
        rows,
        (
            Plant(30, "latitude", "longitude and latitude swapped", _swap("longitude", "latitude")),
            Plant(75, "latitude", "latitude left blank", _put("latitude", "")),
            Plant(120, "taxon", "not a turtle: armadillo", _put("taxon", "armadillo")),
        ),
        id_column="record_id",
    )
    write_table(folder / "crossings_2022.csv", rows)
    return faults


CONFIDENCE_NUMBERS = {"certain": "0,95", "likely": "0,8", "unsure": "0,5", "": ""}


def _plain_2023(report: Report) -> Row:
    stamp = report.when.strftime("%Y-%m-%d" if report.date_only else "%Y-%m-%d %H:%M")
    return {
        "record_id": report.record_id,
        "observed_at": stamp,
        "longitude": f"{report.longitude:.6f}".replace(".", ","),
        "latitude": f"{report.latitude:.6f}".replace(".", ","),
        "position_error_m": text_of(report.position_error_m),
        "taxon": report.written,
        "id_confidence": CONFIDENCE_NUMBERS[report.id_confidence],
        "count": str(report.count),
        "condition": report.condition,
        "observer": report.observer,
        "search_id": report.search_id,
        "notes": report.notes,
    }


def _write_2023(folder: Path, reports: list[Report]) -> list[Fault]:
    """A spreadsheet of a country with decimal commas: semicolons, Windows line ends, a byte order mark."""
    rows = [_plain_2023(report) for report in reports]
    faults = plant(
        "crossings_2023.csv",
        rows,
        (
            Plant(22, "longitude", "minus sign missing", _no_minus("longitude")),
            Plant(68, "latitude", "words instead of a number", _put("latitude", "by the old mill")),
            Plant(
                131, "observed_at", "a day still to come: 2052 typed for 2023", _put("observed_at", "2052-06-02 08:15")
            ),
        ),
        id_column="record_id",
    )
    write_table(folder / "crossings_2023.csv", rows, separator=";", ending="\r\n", bom=True)
    return faults


def _everyday_2024(report: Report) -> Row:
    hour = report.when.strftime("%I:%M %p").removeprefix("0")
    return {
        "lat": f"{report.latitude:.5f}",
        "lng": f"{report.longitude:.5f}",
        "species": report.written,
        "how sure": report.id_confidence,
        "date": f"{report.when.month}/{report.when.day}/{report.when.year}",
        "time": "" if report.date_only else hour,
        "dead/alive": report.condition,
        "how many": "" if report.count == 1 else str(report.count),
        "accuracy": text_of(report.position_error_m),
        "who": report.observer,
        "survey": report.search_id,
        "comments": report.notes,
    }


def _write_2024(folder: Path, reports: list[Report]) -> list[Fault]:
    """Everyday column names, no ids, American dates."""
    rows = [_everyday_2024(report) for report in reports]
    faults = plant(
        "crossings_2024.csv",
        rows,
        (
            Plant(17, "lat", "longitude and latitude swapped", _swap("lng", "lat")),
            Plant(59, "species", "not a turtle: corn snake", _put("species", "corn snake")),
            Plant(97, "date", "no such day: 31 June", _put("date", "6/31/2024")),
        ),
    )
    write_table(folder / "crossings_2024.csv", rows)
    return faults


def _darwin_core(report: Report) -> Row:
    return {
        "occurrenceID": report.record_id,
        "basisOfRecord": "HumanObservation",
        "eventDate": report.observed_at,
        "decimalLongitude": f"{report.longitude:.6f}",
        "decimalLatitude": f"{report.latitude:.6f}",
        "coordinateUncertaintyInMeters": text_of(report.position_error_m),
        "scientificName": report.written,
        "individualCount": str(report.count),
        "vitality": report.condition,
        "lifeStage": report.more.get("life_stage", ""),
        "sex": report.more.get("sex", ""),
        "recordedBy": report.observer,
        "eventID": report.search_id,
        "occurrenceRemarks": report.notes,
    }


def _write_2025(folder: Path, reports: list[Report], *, twice: list[Report]) -> list[Fault]:
    """Darwin Core names; four rows are also in the phone's export."""
    rows = [_darwin_core(report) for report in sorted(reports + twice, key=lambda r: r.when)]
    faults = plant(
        "crossings_2025.csv",
        rows,
        (
            Plant(11, "decimalLongitude", "minus sign missing", _no_minus("decimalLongitude")),
            Plant(46, "eventDate", "a day still to come: 2052 typed for 2025", _put("eventDate", "2052-05-21")),
            Plant(70, "decimalLatitude", "latitude left blank", _put("decimalLatitude", "")),
        ),
        id_column="occurrenceID",
    )
    write_table(folder / "crossings_2025.csv", rows)
    return faults
