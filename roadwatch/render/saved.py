"""Saved results on the map: fence runs, signs and nest rounds from files, as data, in words and in a table."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.render.legend import POST, SAVED, Sign
from roadwatch.render.packing import text_columns
from roadwatch.render.safe_text import joined, plain
from roadwatch.render.shapes import shapes
from roadwatch.render.tables import plain_table
from roadwatch.render.words import number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from markupsafe import Markup

    from roadwatch.share.map_parts import DrawnResult

_ONE_OF = {"fence runs": "Fence run", "signs": "Sign", "rounds": "Stop"}
_ORDER, _DAY, _WHO = "order", "date", "observer"
_DIGITS = 6


def saved_key(place: int) -> str:
    """Name of the layer of the nth saved result, counted from 0."""
    return f"saved_{place}"


def saved_words(result: DrawnResult) -> str:
    """
    What the layer of a saved result is called.

    Parameters
    ----------
    result
        The result; the name of its file stands beside its kind.
    """
    return f"Saved {result.kind}: {plain(result.source)}"


def saved_signs(drawn: Sequence[DrawnResult]) -> list[Sign]:
    """The signs of the kinds that are drawn, for the legend."""
    kinds = {result.kind for result in drawn}
    return [sign for sign in SAVED if sign.key in kinds]


def saved_data(drawn: Sequence[DrawnResult]) -> list[dict[str, object]]:
    """
    Saved results as data for the page.

    Parameters
    ----------
    drawn
        The results, in the order in which their layers are named.

    Returns
    -------
    Dictionaries with ``kind name``, the shapes, the file's own columns in words, the number that stands on each row
    and, for rounds, which rows a line joins.
    """
    signs = {sign.key: sign for sign in SAVED}
    return [
        {
            "kind": result.kind,
            "name": saved_words(result),
            "colour": signs[result.kind].colour,
            "outline": POST,
            **shapes(result.table, names=row_names(result)),
            "labels": stop_numbers(result.table) if result.kind == "rounds" else [],
            "joined": _trips(result.table) if result.kind == "rounds" else [],
            "columns": text_columns(_in_words(result.table), {name: plain(name) for name in _own_columns(result)}),
        }
        for result in drawn
    ]


def saved_tables(drawn: Sequence[DrawnResult]) -> Markup:
    """A table under the map for each saved result, with the file's own columns and its notes."""
    return joined(_table(result, place) for place, result in enumerate(drawn))


def row_names(result: DrawnResult) -> list[str]:
    """What each row is called: ``Fence run 2``, or ``Stop 3 of 2025-07-15`` where the file says order and day."""
    table, word = result.table, _ONE_OF[result.kind]
    if result.kind != "rounds":
        return [f"{word} {place + 1}" for place in range(len(table))]
    days = [f" of {number(day)}" if number(day) else "" for day in table.get(_DAY, pd.Series(index=table.index))]
    return [f"{word} {stop}{day}" for stop, day in zip(stop_numbers(table), days, strict=True)]


def _table(result: DrawnResult, place: int) -> Markup:
    columns = _own_columns(result)
    words = _in_words(result.table)
    return plain_table(
        saved_key(place),
        saved_words(result),
        [_ONE_OF[result.kind], *(plain(name) for name in columns)],
        [[name, *row] for name, row in zip(row_names(result), words[columns].to_numpy().tolist(), strict=True)],
        show=saved_key(place),
        empty="The file holds no row that can be drawn.",
        notes=result.notes,
    )


def _own_columns(result: DrawnResult) -> list[str]:
    return [str(name) for name in result.table.columns if name != result.table.active_geometry_name]


def _in_words(table: pd.DataFrame) -> pd.DataFrame:
    return pd.DataFrame({name: [number(value, digits=_DIGITS) for value in table[name]] for name in table.columns})


def stop_numbers(table: pd.DataFrame) -> list[str]:
    """The order a file gives, or the rows counted from 1."""
    if _ORDER in table.columns:
        return [number(value, digits=0) for value in table[_ORDER]]
    return [str(place + 1) for place in range(len(table))]


def _trips(table: pd.DataFrame) -> list[list[int]]:
    """Rows of one day and one person, in their order."""
    keys = [name for name in (_DAY, _WHO) if name in table.columns]
    stops = pd.to_numeric(pd.Series(stop_numbers(table)), errors="coerce")
    ordered = table.reset_index(drop=True).assign(_stop=stops).sort_values("_stop", kind="stable")
    if not keys:
        return [ordered.index.tolist()]
    return [group.index.tolist() for _, group in ordered.groupby(keys, sort=True, dropna=False)]
