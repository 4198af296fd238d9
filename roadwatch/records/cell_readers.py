"""The reader of each field: from the text of one cell to its value, or to the reason why not."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from roadwatch.records.complaints import Misread
from roadwatch.records.dates import ReadTime, read_time
from roadwatch.records.numbers import read_integer, read_number, read_probability
from roadwatch.records.taxa import read_name, suggest
from roadwatch.records.words import read_boolean, read_choice

if TYPE_CHECKING:
    from collections.abc import Callable

    from roadwatch.records.fields import Field
    from roadwatch.records.file_habits import FileHabits

    Value = float | bool | str | None
    CellReader = Callable[[str], Value | ReadTime | Misread]


MOST_SUGGESTED = 200
"""Distinct unknown names of a file for which near spellings are looked up."""


def reader_of(field: Field, *, habits: FileHabits, unit: str = "") -> CellReader:
    """The reader of a field in a file of these habits; ``unit`` as the column's name gives it."""
    comma = habits.decimal_comma
    time = partial(read_time, zone=habits.zone, order=habits.order, is_utc=field.name in habits.utc)
    readers: dict[str, CellReader] = {
        "text": _read_text,
        "number": partial(read_number, field=field, decimal_comma=comma, unit=unit),
        "integer": partial(read_integer, field=field, decimal_comma=comma),
        "probability": partial(read_probability, per_cent=field.name in habits.per_cent, decimal_comma=comma),
        "choice": partial(read_choice, field=field),
        "boolean": partial(read_boolean, field=field),
        "date": partial(time, day_only=True),
        "datetime": time,
        "taxon": _taxon_reader(),
    }
    return readers[field.type]


def doubt_about(written: str) -> str:
    """What to say of a taxon written with a doubt mark, blank where there is none; no number is made of it."""
    if not read_name(written).doubt:
        return ""
    return f"taxon '{written}' is written with doubt and id_confidence is blank; write certain, likely or unsure there"


def _read_text(text: str) -> str:
    return text


def _taxon_reader() -> CellReader:
    """A reader that looks for near spellings of the first unknown names only, as looking costs milliseconds each."""
    names_left = MOST_SUGGESTED

    def read_taxon(text: str) -> str | Misread:
        nonlocal names_left
        taxon = read_name(text).taxon
        if taxon is not None:
            return taxon
        names_left -= 1
        near = " or ".join(f"'{name}'" for name in suggest(text)) if names_left >= 0 else ""
        hint = f"perhaps {near}; " if near else ""
        return Misread(f"is not in the table of taxa; {hint}write 'turtle' where no more is known")

    return read_taxon
