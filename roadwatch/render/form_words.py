"""The field form's words in every language of its table."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files

from roadwatch.errors import RoadwatchError

TABLE = "form_words.csv"
BESIDE = ("key", "remark")
"""Columns that are no language."""


@cache
def form_words() -> dict[str, dict[str, str]]:
    """
    Read the table of words.

    Returns
    -------
    Language code to key to text. A text that is blank in the table is left out: the page then takes the English one,
    or for characters and states the words of the tables of identification.

    Raises
    ------
    RoadwatchError
        A key stands twice in the table.
    """
    text = (files("roadwatch") / "data" / TABLE).read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    keys = [row["key"] for row in rows]
    twice = sorted({key for key in keys if keys.count(key) > 1})
    if twice:
        raise RoadwatchError(f"{TABLE}: '{twice[0]}' stands twice; keep one of the rows")
    languages = [name for name in rows[0] if name not in BESIDE]
    return {language: {row["key"]: row[language] for row in rows if row[language]} for language in languages}
