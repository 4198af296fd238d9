"""Which record a row is: by its own name, or by its content where it has none."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.fields import ID_FIELD
from roadwatch.records.store_columns import AS_WRITTEN, none_where

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from roadwatch.records.store_columns import Column

    Words = NDArray[np.object_]

NUMBER_DECIMALS = 6
"""Numbers are compared to this many decimals: about 0.1 m in a latitude, far below any reading."""

KEY_DIGITS = 24
"""Hexadecimal digits kept of a content's SHA-256: 96 bits, so two of a million contents meet with p < 1e-16."""


@dataclass(frozen=True)
class Difference:
    """Where a row contradicts the record of the same name: position of the row, column, both values."""

    row: int
    column: str
    found: str
    stored: str


def record_keys(table: pd.DataFrame, columns: Sequence[Column], *, kind: str) -> Words:
    """
    Name every row: its own id where it has one, else the SHA-256 of its content and its rank among identical rows.

    The rank makes two animals written alike in one file two records, and the same file shuffled, or grown by ten
    rows, adds none or exactly ten.

    Parameters
    ----------
    table
        (n,) rows with the columns named, typed.
    columns
        The stored columns that make up the content.
    kind
        Kind of record.

    Returns
    -------
    (n,) text.
    """
    id_field = ID_FIELD.get(kind, "")
    keys = np.full(len(table), None, dtype=object)
    if id_field in table:
        own = table[id_field].to_numpy(dtype=object)
        keys = none_where(np.asarray(pd.isna(own) | (own == ""), dtype=bool), own)
    nameless = np.flatnonzero(pd.isna(keys))
    if len(nameless):
        content = content_texts(table.iloc[nameless], [c for c in columns if c.name != id_field])
        rank = pd.Series(content).groupby(content, sort=False).cumcount().to_numpy()
        keys[nameless] = [_digest(f"{kind}\x1d{text}\x1d{k}") for text, k in zip(content, rank, strict=True)]
    return keys


def content_texts(table: pd.DataFrame, columns: Sequence[Column]) -> Words:
    """
    Write each row's content in one canonical text; a blank leaves no trace, so an added empty column changes nothing.

    Returns
    -------
    (n,) text.
    """
    present = [column for column in columns if column.name in table]
    parts = [
        _as_written_texts(table, column)
        if column.name.endswith(AS_WRITTEN)
        else _column_texts(table[column.name], column)
        for column in present
    ]
    return np.array(["".join(cells) for cells in zip(*parts, strict=True)], dtype=object)


def differences(found: pd.DataFrame, stored: Sequence[pd.DataFrame], columns: Sequence[Column]) -> list[Difference]:
    """
    Compare rows with the records of the same name; a blank cell of the row says nothing and differs from nothing.

    Parameters
    ----------
    found
        (n,) rows read.
    stored
        Versions of the (n,) records, in the same order: as first stored, and as amended. Agreeing with one is enough.
    columns
        Columns to compare.

    Returns
    -------
    One entry a row that differs, naming the first column that does.
    """
    first: dict[int, Difference] = {}
    for column in columns:
        if column.name == "other" or column.name.endswith(AS_WRITTEN) or column.name not in found:
            continue
        mine = found[column.name]
        theirs = [table[column.name] if column.name in table else _blanks(len(table)) for table in stored]
        differs = mine.notna().to_numpy() & ~np.any([_same(mine, other, column) for other in theirs], axis=0)
        for row in np.flatnonzero(differs):
            cells = (_shown(mine.iloc[row]), _shown(theirs[-1].iloc[row]))
            first.setdefault(int(row), Difference(int(row), column.name, *cells))
    return [first[row] for row in sorted(first)]


def _same(mine: pd.Series, other: pd.Series, column: Column) -> NDArray[np.bool_]:
    if column.type in ("REAL", "INTEGER"):
        a, b = mine.to_numpy(dtype=float), other.to_numpy(dtype=float)
        return np.equal(np.round(a, NUMBER_DECIMALS), np.round(b, NUMBER_DECIMALS))
    return np.asarray(mine.to_numpy(dtype=object) == other.to_numpy(dtype=object), dtype=bool)


def _column_texts(values: pd.Series, column: Column) -> Words:
    if column.type in ("REAL", "INTEGER"):
        values = values.astype(float).round(NUMBER_DECIMALS) + 0.0  # no negative zero
    elif column.name == "other":
        values = values.map(_sorted_json, na_action="ignore")
    return _labelled(values, column.name)


def _as_written_texts(table: pd.DataFrame, column: Column) -> Words:
    """Own words count only where no table knows the name: two unknown names still tell records apart."""
    taxon = table.get(column.name.removesuffix(AS_WRITTEN))
    words = table[column.name] if taxon is None else table[column.name].where(taxon.isna())
    return _labelled(words, column.name)


def _labelled(values: pd.Series, name: str) -> Words:
    """Each value with its column's name, made once per distinct value; blank gives empty text."""
    codes, distinct = pd.factorize(values)
    texts = np.array([f"\x1e{name}\x1f{value}" for value in distinct] + [""], dtype=object)
    return texts[codes]  # the code of a blank is -1, the last


def _sorted_json(text: str) -> str:
    try:
        return json.dumps(json.loads(text), sort_keys=True)
    except ValueError:
        return text


def _blanks(n: int) -> pd.Series:
    return pd.Series(np.full(n, None, dtype=object))


def _shown(value: object) -> str:
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return "blank" if value is None or value != value else str(value)  # nan is not itself


def _digest(text: str) -> str:
    return "r" + hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:KEY_DIGITS]
