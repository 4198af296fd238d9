"""What a person decided about pairs of records: one animal or two, kept among the corrections of both records."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import pandas as pd

from roadwatch.errors import UsageError
from roadwatch.records.store_changes import INSERT

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable

Word = Literal["yes", "no", "undecided"]

KIND = "crossings"
FIELD = "same animal as "
"""Beginning of the field under which a decision stands in the history of a record; the other record's name follows."""

UNDECIDED: Word = "undecided"

LATEST = (
    "SELECT record_key, substr(field, ?2) AS other, new, who, changed_at, why FROM changes WHERE kind = 'crossings' "
    "AND undone_at IS NULL AND substr(field, 1, ?2 - 1) = ?1 ORDER BY id"
)


def add_decisions(
    connection: sqlite3.Connection, pairs: Iterable[tuple[str, str]], word: Word, *, who: str, when: str, why: str
) -> None:
    """
    Keep what was decided about pairs of records, inside the caller's transaction; what was decided before stays.

    Parameters
    ----------
    connection
        An open season.
    pairs
        Names of two crossings each.
    word
        Whether each pair is one animal.
    who, when, why
        Who decides, at what ISO 8601 time, and for what reason.

    Raises
    ------
    UsageError
        A record is not in the season, or no reason is given.
    """
    if not why.strip():
        raise UsageError("a decision needs its reason; say why")
    before = decisions(connection)
    word_of = dict(zip(zip(before["record_a"], before["record_b"], strict=True), before["word"], strict=True))
    for pair in pairs:
        one, other = sorted(pair)
        for key in (one, other):
            if connection.execute("SELECT 1 FROM crossings WHERE record_key = ?", (key,)).fetchone() is None:
                raise UsageError(f"the season holds no record {key!r} among its crossings; check the name")
        old = word_of.get((one, other), UNDECIDED)
        told = [(who, when, KIND, key, f"{FIELD}{twin}", old, word, why) for key, twin in ((one, other), (other, one))]
        connection.executemany(INSERT, told)


def decisions(connection: sqlite3.Connection) -> pd.DataFrame:
    """
    What holds of all that was decided.

    Returns
    -------
    One row a pair: ``record_a record_b word who changed_at why``, the names in order; a pair is left out where its
    decision was taken back or one of its records left the season.
    """
    names = ["record_a", "record_b", "word", "who", "changed_at", "why"]
    found = connection.execute(LATEST, (FIELD, len(FIELD) + 1)).fetchall()
    latest = {(key, other): (key, other, *told) for key, other, *told in found}
    rows = [
        row
        for (one, other), row in latest.items()
        if one < other and row[2] != UNDECIDED and latest.get((other, one), (None,) * 3)[2] == row[2]
    ]
    return pd.DataFrame(rows, columns=names, dtype=object)


def forget_decisions(connection: sqlite3.Connection, number: int, when: str) -> None:
    """Let decisions no longer hold that stand beside other records but name one that left with a batch."""
    connection.execute(
        "UPDATE changes SET undone_at = ?1 WHERE kind = 'crossings' AND undone_at IS NULL AND field IN "
        "(SELECT ?2 || record_key FROM withdrawn WHERE kind = 'crossings' AND batch = ?3 AND withdrawn_at = ?1)",
        (when, FIELD, number),
    )
