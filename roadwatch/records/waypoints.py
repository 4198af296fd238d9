"""Waypoints of a hand-held GPS: the species stands somewhere in the name, the comment or the description."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.records.columns import match_columns, names_an_animal
from roadwatch.records.fields import fields_of
from roadwatch.records.words import find_word

if TYPE_CHECKING:
    from roadwatch.records.tables import RawTable
    from roadwatch.records.taxonomy import Taxonomy

_TEXTS = ("name", "cmt", "desc", "description")


def is_waypoints(raw: RawTable) -> bool:
    """Tell whether the columns are those of waypoints: a place and a name, but no species."""
    columns = {str(name).casefold() for name in raw.rows.columns}
    return {"longitude", "latitude", "name"} <= columns and not names_an_animal(columns)


def with_species(raw: RawTable, taxonomy: Taxonomy) -> RawTable:
    """
    Take the species, and dead or alive, from the texts of each waypoint and keep the texts verbatim as notes.

    Parameters
    ----------
    raw
        Columns ``name``, ``cmt``, ``desc`` and ``description`` as far as they are there; other notes are not searched.
    taxonomy
        The season's tree of taxa.

    Returns
    -------
    The table with the columns ``taxon``, ``condition`` and ``notes`` in their place; where no species is found
    ``taxon`` holds the texts, shortened, so that the row is held back with them.
    """
    by_lower = {str(name).casefold(): name for name in raw.rows.columns}
    fields = match_columns([str(name) for name in raw.rows.columns], "crossings")
    searched = [by_lower[name] for name in _TEXTS if name in by_lower]
    kept = list(dict.fromkeys([*searched, *(name for name, canonical in fields.items() if canonical == "notes")]))
    texts = _joined(raw.rows[searched])
    rows = raw.rows.drop(columns=kept)
    rows["taxon"] = pd.Series([_species(text, taxonomy) for text in texts], index=rows.index, dtype=object)
    rows["notes"] = pd.Series([note or None for note in _joined(raw.rows[kept])], index=rows.index, dtype=object)
    stated = "species read from the waypoints' names, comments and descriptions, which are kept as notes"
    if "condition" not in fields.values():
        condition = fields_of("crossings")["condition"]
        found = [find_word(text, field=condition) for text in texts]
        rows["condition"] = pd.Series(found, index=rows.index, dtype=object)
        stated = stated.replace("species", "species, and dead or alive where a word says so,", 1)
    return replace(raw, rows=rows, notes=(*raw.notes, stated))


def _joined(texts: pd.DataFrame) -> list[str]:
    """The texts of each row, those that are filled."""
    return ["; ".join(cell for cell in row if isinstance(cell, str) and cell) for row in texts.itertuples(index=False)]


def _species(note: str, taxonomy: Taxonomy) -> str:
    """The words that name the animal, with a doubt mark where the note has one; the note, shortened, where none do."""
    if taxonomy.read_name(note).taxon is not None:
        return note
    reading, words = taxonomy.find_name(note)
    if reading.taxon is None:
        return note if len(note) <= 60 else f"{note[:57]}..."
    return f"{words}?" if reading.doubt else words
