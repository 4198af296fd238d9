"""Rows and tables: what every writer of the demo shares."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from make_animals import Report

Row = dict[str, str]


@dataclass(frozen=True)
class Fault:
    """A planted fault: where it stands and what is wrong."""

    file: str
    line: int
    column: str
    what: str


def write_table(
    path: Path, rows: Sequence[Row], *, separator: str = ",", ending: str = "\n", bom: bool = False
) -> None:
    """Write rows as CSV with the columns of the first row."""
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), delimiter=separator, lineterminator=ending, restval="")
    writer.writeheader()
    writer.writerows(rows)
    path.write_bytes(text.getvalue().encode("utf-8-sig" if bom else "utf-8"))


MORE_2022 = (
    "carcass_age action life_stage sex heading_deg carapace_mm observer_skill view "
    "seen_carapace_pattern seen_plastron_pattern"
)


def canonical(report: Report) -> Row:
    """A report under the project's own column names."""
    row = {
        "record_id": report.record_id,
        "observed_at": report.observed_at,
        "longitude": f"{report.longitude:.6f}",
        "latitude": f"{report.latitude:.6f}",
        "position_error_m": text_of(report.position_error_m),
        "taxon": report.written,
        "id_confidence": report.id_confidence,
        "count": str(report.count),
        "condition": report.condition,
    }
    row |= {column: report.more.get(column, "") for column in MORE_2022.split(" ")}
    return row | {"observer": report.observer, "search_id": report.search_id, "notes": report.notes}


def text_of(number: int | None) -> str:
    """The number as text, blank where there is none."""
    return "" if number is None else str(number)
