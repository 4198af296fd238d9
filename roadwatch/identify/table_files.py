"""The files that identification rests on: shipped ones, replaced or extended from a coordinator's folder."""

from __future__ import annotations

import csv
import hashlib
from dataclasses import dataclass
from importlib.resources import files
from typing import TYPE_CHECKING

from roadwatch.errors import UnfitFileError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path


@dataclass(frozen=True)
class TableFile:
    """A table's columns, and the columns by which a coordinator's rows take the place of shipped rows."""

    columns: tuple[str, ...]
    key: tuple[str, ...]


TABLE_FILES: dict[str, TableFile] = {
    "characters.csv": TableFile(
        (
            *("character", "group", "question", "in_hand", "from_above", "from_car", "carcass", "needs_head"),
            *("mistaken_for", "safety"),
        ),
        ("character",),
    ),
    "states.csv": TableFile(("character", "state", "plain_words", "absent", "both_of"), ("character",)),
    "frequencies.csv": TableFile(
        ("taxon", "character", "state", "frequency_class", "share", "source"), ("taxon", "character")
    ),
    "forms.csv": TableFile(("taxon", "form", "share", "character", "state", "frequency", "source"), ("taxon", "form")),
    "priors.csv": TableFile(("region", "taxon", "weight_class", "prior", "source"), ("region", "taxon")),
    "factors.csv": TableFile(("kind", "key", "taxon", "factor", "source"), ("kind", "key", "taxon")),
    "confusion.csv": TableFile(("true_taxon", "reported_taxon", "probability", "source"), ("true_taxon",)),
    "skills.csv": TableFile(("skill", "slip", "source"), ("skill",)),
}


@dataclass(frozen=True)
class Row:
    """One row of a table, with the file and line where a person finds it."""

    file: str
    line: int
    cells: dict[str, str]

    def __getitem__(self, column: str) -> str:
        """The cell of a column, blank where it is empty."""
        return self.cells[column]

    def fault(self, column: str, *, expected: str) -> str:
        """Say in one line where a cell is wrong, what was found, what is expected and what to do."""
        return f"{self.file}, line {self.line}: {column} '{self[column]}' is {expected}; correct the cell"


def read_table(name: str, *, folder: Path | None) -> list[Row]:
    """
    Read a table: the shipped rows, those of the same key replaced and new ones added from a coordinator's folder.

    Parameters
    ----------
    name
        File name, one of ``TABLE_FILES``.
    folder
        Folder that may hold a file of that name and columns; None reads the shipped table alone.

    Raises
    ------
    UnfitFileError
        The coordinator's file is not text, lacks a column, or has a row with too many or too few cells.
    """
    table = TABLE_FILES[name]
    by_key = _grouped(_parse((files("roadwatch") / "data" / name).read_text(encoding="utf-8"), name, table), table.key)
    own = folder / name if folder else None
    if own is not None and own.exists():
        by_key |= _grouped(_parse(_text_of(own, name), name, table), table.key)
    return [row for rows in by_key.values() for row in rows]


def _text_of(path: Path, name: str) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise UnfitFileError(f"{name}: not UTF-8 text at byte {error.start}; save it as CSV UTF-8") from error


def _parse(text: str, name: str, table: TableFile) -> list[Row]:
    reader = csv.reader(text.splitlines(), strict=True)
    header = [cell.strip() for cell in next(reader, [])]
    missing = [column for column in table.columns if column not in header]
    if missing:
        raise UnfitFileError(
            f"{name}, line 1: found columns {', '.join(header) or 'none'}; expected {', '.join(table.columns)}; "
            f"add {', '.join(missing)}"
        )
    rows = []
    for cells in reader:
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) != len(header):
            raise UnfitFileError(
                f"{name}, line {reader.line_num}: found {len(cells)} cells, expected {len(header)}; "
                "put quotes around a cell that holds a comma"
            )
        rows.append(Row(name, reader.line_num, {key: cell.strip() for key, cell in zip(header, cells, strict=True)}))
    return rows


def _grouped(rows: Iterable[Row], key: tuple[str, ...]) -> dict[tuple[str, ...], list[Row]]:
    grouped: dict[tuple[str, ...], list[Row]] = {}
    for row in rows:
        grouped.setdefault(tuple(row[column] for column in key), []).append(row)
    return grouped


def number_in(row: Row, column: str, *, low: float, high: float, faults: list[str]) -> float:
    """The number in a cell; outside ``low`` to ``high``, or no number, it is a fault and nan."""
    try:
        value = float(row[column])
    except ValueError:
        value = float("nan")
    if not low <= value <= high:
        faults.append(row.fault(column, expected=f"no number from {low:g} to {high:g}"))
        return float("nan")
    return value


def complain(faults: Sequence[str]) -> None:
    """
    Raise the first fault and how many more there are, if any.

    Raises
    ------
    UnfitFileError
        There is a fault.
    """
    if faults:
        more = f" ({len(faults) - 1} more faults in these tables)" if len(faults) > 1 else ""
        raise UnfitFileError(f"{faults[0]}{more}")


def digest(rows: Iterable[Row]) -> str:
    """Twelve signs that name the content of the tables, whatever the order of their rows or columns."""
    lines = sorted(f"{row.file}:{sorted(row.cells.items())}" for row in rows)
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:12]
