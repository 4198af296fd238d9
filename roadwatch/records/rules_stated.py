"""The rules that follow from the table of columns: what must be given, and which values a column takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.records.fields import fields_of

if TYPE_CHECKING:
    from roadwatch.records.fields import Field, Kind
    from roadwatch.records.tables import Severity


def stated_rules(kind: Kind) -> list[tuple[str, Severity]]:
    """
    Say as sentences what the reading of values holds rows back for; the registry of rules holds all others.

    Returns
    -------
    Sentence, and what becomes of a row that breaks it.

    >>> stated_rules("checks")[0]
    ('nest_id is given', 'hold back')
    """
    fields = fields_of(kind).values()
    sentences = [f"{field.name} is given" for field in fields if field.required]
    sentences += [sentence for field in fields if (sentence := _of_values(field))]
    return [(sentence, "hold back") for sentence in sentences]


def _of_values(field: Field) -> str:
    """What holds of a value of a column; blank text where any text will do."""
    if field.type == "choice":
        return f"{field.name} is one of {', '.join(field.choices)}"
    if field.type == "taxon":
        return f"{field.name} is a name in the table of taxa"
    if field.type == "boolean":
        return f"{field.name} is yes or no"
    if field.type == "date":
        return f"{field.name} is a day of the calendar"
    if field.type == "datetime":
        return f"{field.name} is a day of the calendar, with or without a time"
    if field.type == "probability":
        return f"{field.name} is between 0 and 1, or one of the words for it"
    return f"{field.name} {_bounds(field)}" if field.values else ""


def _bounds(field: Field) -> str:
    low, _, high = field.values.partition("..")
    whole = "a whole number " if field.type == "integer" else ""
    unit = f" {field.unit}" if field.unit else ""
    if low.endswith("<"):
        return f"is {whole}above {low.rstrip('<')} and at most {high}{unit}"
    return f"is {whole}from {low} to {high}{unit}"
