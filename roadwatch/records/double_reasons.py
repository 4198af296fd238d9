"""Why two records may be one animal, in words: the facts, then what speaks for and what against."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roadwatch.records.sightings import DEAD, numbers, words

if TYPE_CHECKING:
    import pandas as pd

    from roadwatch.records.doubles import Doubles

TELLING_LOG_ODDS = 0.2
"""A term is named for or against where it moves the odds by a fifth or more (a convention)."""

WRITTEN = {
    "name": ("taxon",),
    "size": ("carapace_mm", "life_stage"),
    "sex": ("sex",),
    "age": ("carcass_age",),
    "action": ("action",),
    "people": ("observer", "search_id"),
    "count": ("count",),
}
TERMS = {
    "name": "names",
    "size": "size",
    "sex": "sex",
    "age": "carcass age",
    "action": "what was done",
    "people": "who saw it",
    "count": "numbers of animals",
}


def reasons_of(doubles: Doubles, chosen: pd.Index) -> list[str]:
    """
    Give the reasons for pairs of records as sentences of one line.

    Parameters
    ----------
    doubles
        What was proposed.
    chosen
        (k,) labels of rows of ``doubles.pairs``.

    Returns
    -------
    (k,) texts, such as ``3 m apart; same day; names for (slider / slider); ...``.
    """
    pairs = doubles.pairs.loc[chosen]
    parts = [_place_and_time(doubles, pairs), *(_term(doubles, pairs, term) for term in WRITTEN)]
    chance = np.where(pairs["place_time"] > 0, "nearer than chance", "no nearer than chance")
    copied = np.where(pairs["is_copy"], "reads like a copy of the same record", chance)
    return ["; ".join(part for part in row if part) for row in zip(*parts, copied, strict=True)]


def _place_and_time(doubles: Doubles, pairs: pd.DataFrame) -> list[str]:
    seen, a, b = doubles.seen, pairs["a"].to_numpy(), pairs["b"].to_numpy()
    usual_m = 2 * seen.sd_both_m(a, b)
    minutes = np.where(seen.state[a] == DEAD, np.nan, np.abs(seen.minute[a] - seen.minute[b]))
    return [
        f"{apart:.0f} m apart, positions good to {usual:.0f} m; {_lag(days, minute)}"
        for apart, usual, days, minute in zip(pairs["apart_m"], usual_m, pairs["days_apart"], minutes, strict=True)
    ]


def _lag(days: int, minutes: float) -> str:
    if not np.isnan(minutes):
        return f"{minutes:.0f} minutes apart"
    return ("same day", "1 day apart")[days] if days < 2 else f"{days} days apart"


def _term(doubles: Doubles, pairs: pd.DataFrame, term: str) -> list[str]:
    """What both wrote, and which way it speaks; nothing where it says nothing."""
    a, b = pairs["a"].to_numpy(), pairs["b"].to_numpy()
    written = [_shown(doubles.seen.table, column) for column in WRITTEN[term]]
    texts = []
    for k, odds in enumerate(pairs[term]):
        if abs(odds) < TELLING_LOG_ODDS:
            texts.append("")
            continue
        both = next(((one[a[k]], one[b[k]]) for one in written if one[a[k]] and one[b[k]]), ("", ""))
        shown = " / ".join(both) if any(both) else f"{written[0][a[k]] or 'blank'} / {written[0][b[k]] or 'blank'}"
        texts.append(f"{TERMS[term]} {'for' if odds > 0 else 'against'} ({shown})")
    return texts


def _shown(table: pd.DataFrame, column: str) -> list[str]:
    if column in ("carapace_mm", "count"):
        default = 1.0 if column == "count" else np.nan
        unit = " mm" if column == "carapace_mm" else ""
        known = np.nan_to_num(numbers(table, column), nan=default)
        return ["" if np.isnan(number) else f"{number:.0f}{unit}" for number in known]
    return words(table, column).fillna("").astype(str).tolist()
