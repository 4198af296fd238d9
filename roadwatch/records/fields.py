"""The columns of every kind of record: one table of names, meanings, units and allowed values."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal, get_args

Kind = Literal["crossings", "nests", "checks", "searches", "temperatures", "people", "measures", "roads"]
FieldType = Literal["text", "number", "integer", "probability", "choice", "boolean", "date", "datetime", "taxon"]

KINDS: tuple[Kind, ...] = get_args(Kind)
RECORD_KINDS: tuple[Kind, ...] = KINDS[:-1]
"""Kinds that ``ingest`` takes; roads come in by ``new``."""

ID_FIELD: dict[str, str] = {
    "crossings": "record_id",
    "nests": "nest_id",
    "searches": "search_id",
    "measures": "measure_id",
    "people": "observer",
}
"""The column that names a record; kinds not listed are named by their content."""

CONFIDENCE_WORDS: dict[str, float] = {"certain": 0.95, "likely": 0.8, "unsure": 0.5}
"""A stated convention (no source): what the words of ``id_confidence`` are taken to mean."""

DEFAULT_POSITION_ERROR_M = 30.0
"""Taken where a record gives none: the uncertainty commonly assumed for a hand-held GPS (Chapman & Wieczorek 2020)."""


@dataclass(frozen=True)
class Field:
    """One column: its canonical name, type, unit, allowed values, other names, and meaning in plain words."""

    kind: Kind
    name: str
    type: FieldType
    unit: str
    values: str
    required: bool
    darwin_core: str
    synonyms: tuple[str, ...]
    meaning: str

    @property
    def choices(self) -> tuple[str, ...]:
        """The allowed words of a choice, in their order; empty for other types."""
        return tuple(self.values.split("|")) if self.type == "choice" else ()


@cache
def all_fields() -> tuple[Field, ...]:
    """Every column of every kind, in the order of the table shipped with the package."""
    text = (files("roadwatch") / "data" / "fields.csv").read_text(encoding="utf-8")
    return tuple(
        Field(
            kind=row["kind"],  # type: ignore[arg-type]  # a test checks the table against Kind and FieldType
            name=row["name"],
            type=row["type"],  # type: ignore[arg-type]
            unit=row["unit"],
            values=row["values"],
            required=row["required"] == "yes",
            darwin_core=row["darwin_core"],
            synonyms=tuple(name for name in row["synonyms"].split(";") if name),
            meaning=row["meaning"],
        )
        for row in csv.DictReader(text.splitlines())
    )


@cache
def fields_of(kind: Kind) -> dict[str, Field]:
    """The columns of one kind by canonical name, in order."""
    return {field.name: field for field in all_fields() if field.kind == kind}
