"""The reader of each field: from the text of one cell to its value, or to the reason why not."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from roadwatch.records.complaints import Misread, Remarked
from roadwatch.records.coordinates import angle_of
from roadwatch.records.date_columns import local_times
from roadwatch.records.dates import ReadTime, read_time
from roadwatch.records.numbers import read_integer, read_number, read_probability
from roadwatch.records.words import read_boolean, read_choice

if TYPE_CHECKING:
    from collections.abc import Callable

    from roadwatch.records.fields import Field
    from roadwatch.records.file_habits import FileHabits
    from roadwatch.records.taxonomy import Taxonomy

    Value = float | bool | str | None
    CellReader = Callable[[str], Value | Remarked | Misread]


MOST_SUGGESTED = 200
"""Distinct unknown names of a file for which near spellings are looked up."""


def reader_of(field: Field, *, habits: FileHabits, taxonomy: Taxonomy, unit: str = "") -> CellReader:
    """The reader of a field in a file of these habits; ``unit`` as the column's name gives it."""
    comma = habits.decimal_comma
    time = partial(
        _read_time, zone=habits.zone, order=habits.order, is_utc=field.name in habits.utc, years=habits.years
    )
    of_number = _read_degrees if field.name.endswith(("longitude", "latitude")) else read_number
    readers: dict[str, CellReader] = {
        "text": _read_text,
        "number": partial(of_number, field=field, decimal_comma=comma, unit=unit),
        "integer": partial(read_integer, field=field, decimal_comma=comma),
        "probability": partial(read_probability, per_cent=field.name in habits.per_cent, decimal_comma=comma),
        "choice": partial(read_choice, field=field),
        "boolean": partial(read_boolean, field=field),
        "date": partial(time, day_only=True),
        "datetime": time,
        "taxon": _taxon_reader(taxonomy),
    }
    return readers[field.type]


def reader_at_once(field: Field, *, habits: FileHabits) -> Callable[[list[str]], dict[str, str]] | None:
    """What reads many cells of a field together, as far as it can; None where nothing does."""
    if field.type != "datetime" or field.name in habits.utc:
        return None
    return partial(local_times, zone=habits.zone, order=habits.order)


def doubt_about(written: str, taxonomy: Taxonomy) -> str:
    """What to say of a taxon written with a doubt mark, blank where there is none; no number is made of it."""
    if not taxonomy.read_name(written, mend=True).doubt:
        return ""
    return f"taxon '{written}' is written with doubt and id_confidence is blank; write certain, likely or unsure there"


def _read_text(text: str) -> str:
    return text


def _read_time(text: str, **options: object) -> str | Remarked | Misread:
    found = read_time(text, **options)  # type: ignore[arg-type]  # the options of read_time, as reader_of sets them
    if isinstance(found, ReadTime):
        return Remarked(found.iso, found.remark) if found.remark else found.iso
    return found


def _read_degrees(text: str, field: Field, *, decimal_comma: bool, unit: str) -> float | Misread:
    """A number, or degrees and minutes, in the range of the field."""
    plain = read_number(text, field, decimal_comma=decimal_comma, unit=unit)
    angle = angle_of(text) if isinstance(plain, Misread) else plain
    return plain if isinstance(angle, Misread) else read_number(f"{angle:.12f}", field)


def _taxon_reader(taxonomy: Taxonomy) -> CellReader:
    """A reader that looks for near spellings of the first unknown names only, as looking costs milliseconds each."""
    names_left = MOST_SUGGESTED

    def read_taxon(text: str) -> str | Remarked | Misread:
        nonlocal names_left
        reading = taxonomy.read_name(text, mend=True)
        if reading.taxon is not None:
            said = f"is taken as '{reading.taken_as}', the only name so near; the name as written is kept"
            return Remarked(reading.taxon, said) if reading.taken_as else reading.taxon
        names_left -= 1
        near = " or ".join(f"'{name}'" for name in taxonomy.suggest(text)) if names_left >= 0 else ""
        hint = f"perhaps {near}; " if near else ""
        proposal = taxonomy.propose(text) if near else ""
        cure = "write 'turtle' where no more is known, or discard the row where it is no turtle"
        return Misread(f"is not in the table of taxa; {hint}{cure}", proposal)

    return read_taxon
