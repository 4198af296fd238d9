"""Words of the trade and of every day, and the one word each of them stands for."""

from __future__ import annotations

import csv
import re
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from roadwatch.records.complaints import Misread

if TYPE_CHECKING:
    from roadwatch.records.fields import Field

_BLANK = frozenset({"", "na", "n/a", "n.a.", "null", "nan", "-", "--"})
_YES = frozenset({"yes", "y", "true", "t", "1", "x", "1.0"})
_NO = frozenset({"no", "n", "false", "f", "0", "0.0"})


def is_blank(text: str) -> bool:
    """Tell whether a cell that is not free text says nothing: empty, NA, null or a dash."""
    return text.strip().casefold() in _BLANK


def word_of(text: str, *, field_name: str) -> str | None:
    """
    The canonical word a written word stands for in a field, None where it is not in ``data/words.csv``.

    >>> word_of("Road-kill", field_name="condition")
    'dead'
    """
    return _words(field_name).get(word_key(text))


def read_choice(text: str, field: Field) -> str | Misread:
    """Read one of the field's allowed words, or a word that stands for one."""
    by_key = {word_key(choice): choice for choice in field.choices}
    key = word_key(text)
    word = by_key.get(key) or word_of(text, field_name=field.name)
    if word in field.choices:
        return word
    close = get_close_matches(key, list(by_key), n=1, cutoff=0.75)
    hint = f" (perhaps {by_key[close[0]]} is meant)" if close else ""
    return Misread(f"is not known; write one of {', '.join(field.choices)}{hint}")


def read_boolean(text: str, field: Field) -> bool | Misread | None:
    """Read yes or no; words that say neither, such as 'not checked', are None."""
    key = text.strip().casefold()
    word = word_of(text, field_name=field.name)
    if key in _YES or word == "true":
        return True
    if key in _NO or word == "false":
        return False
    return None if word == "" else Misread("is neither yes nor no; write yes or no")


def find_word(text: str, *, field: Field) -> str | None:
    """
    Find the one word of a choice that running text holds; None where it holds none, several, or a 'not'.

    >>> from roadwatch.records.fields import fields_of
    >>> find_word("DOR slider by the culvert", field=fields_of("crossings")["condition"])
    'dead'
    """
    key = f" {word_key(text)} "
    if re.search(r" (?:not|no|never|nearly|almost) ", key):
        return None
    known = _words(field.name) | {word_key(choice): choice for choice in field.choices}
    found = {word for written, word in known.items() if len(written) > 2 and f" {written} " in key}
    return found.pop() if len(found) == 1 else None


def word_key(text: str) -> str:
    """Lower case with single spaces for every other sign but ♀, ♂ and ?."""
    return " ".join(re.sub(r"[^\w♀♂?]|_", " ", text.casefold()).split())


@cache
def _words(field_name: str) -> dict[str, str]:
    text = (files("roadwatch") / "data" / "words.csv").read_text(encoding="utf-8")
    rows = [row for row in csv.DictReader(text.splitlines()) if row["field"] == field_name]
    return {word_key(written): row["word"] for row in rows for written in row["written"].split(";")}
