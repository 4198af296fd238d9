"""A rule is one sentence and one predicate over a whole table; the registry drives checker, messages and tests."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from string import Formatter
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from roadwatch.records.complaints import Complaint
from roadwatch.records.coordinates_repair import Area
from roadwatch.records.taxonomy import Taxonomy, taxonomy_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from roadwatch.records.fields import Kind
    from roadwatch.records.tables import Severity

Faulty = NDArray[np.bool_]
Numbers = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class CheckContext:
    """
    What a rule may know beside the table.

    Parameters
    ----------
    today
        The day of the check, in the season's timezone.
    west, south, east, north
        Extent of the season's area, degrees on WGS 84; nan where it is not known.
    margin_deg
        How much of that extent lies beyond the roads: a record there is taken in, a repair is not certain.
    nests
        All nests known so far, those of the same files among them; None where there is no list.
    earlier
        Observer, time and place of the season's records of the same kind, its time under its own name; None where
        there are none.
    distance_to_road_m
        Gives for (n,) longitudes and latitudes the distance to the nearest road in m, nan where it is not known;
        None where there are no roads.
    taxonomy
        The season's tree of taxa.
    """

    today: date
    west: float = float("nan")
    south: float = float("nan")
    east: float = float("nan")
    north: float = float("nan")
    nests: pd.DataFrame | None = None
    margin_deg: float = 0.0
    earlier: pd.DataFrame | None = None
    distance_to_road_m: Callable[[Numbers, Numbers], Numbers] | None = None
    taxonomy: Taxonomy = field(default_factory=taxonomy_of)

    @property
    def area(self) -> Area:
        """The season's area."""
        return Area(self.west, self.south, self.east, self.north, self.margin_deg)


@dataclass(frozen=True)
class Detail:
    """What one faulty row alone can tell: further words for the sentences, and what is likely right."""

    words: Mapping[str, str] = field(default_factory=dict)
    proposal: Mapping[str, str] | None = None


Details = Callable[[pd.DataFrame, CheckContext], list[Detail]]
Predicate = Callable[[pd.DataFrame, CheckContext], Faulty]


@dataclass(frozen=True)
class Rule:
    """
    One rule.

    Parameters
    ----------
    sentence
        What holds in a sound record.
    kinds
        The kinds of record it is asked of.
    severity
        What becomes of a row that breaks it.
    columns
        The columns it looks at, the one at fault first.
    fault
        What to say of a row that breaks it; ``{column}`` stands for the row's value, ``{minus_column}`` for it
        with the other sign, ``{found}`` for all values looked at, ``{today}`` for the day.
    cure
        What to do; may hold the row's values too.
    is_faulty
        (n,) True where a row breaks the rule; a blank never does.
    details
        From the faulty rows: further words for ``fault`` and ``cure``, and proposals; None where there are none.
    """

    sentence: str
    kinds: tuple[Kind, ...]
    severity: Severity
    columns: tuple[str, ...]
    fault: str
    cure: str
    is_faulty: Predicate = field(compare=False)
    details: Details | None = field(default=None, compare=False)


_RULES: list[Rule] = []


def rule(
    sentence: str,
    *,
    kinds: tuple[Kind, ...],
    severity: Severity,
    columns: tuple[str, ...],
    fault: str,
    cure: str,
    details: Details | None = None,
) -> Callable[[Predicate], Predicate]:
    """Enter a predicate in the registry as a rule; see ``Rule``."""

    def enter(is_faulty: Predicate) -> Predicate:
        _RULES.append(Rule(sentence, kinds, severity, columns, fault, cure, is_faulty, details))
        return is_faulty

    return enter


def registered() -> tuple[Rule, ...]:
    """Every rule entered so far, in order."""
    return tuple(_RULES)


def complaints_of(one: Rule, table: pd.DataFrame, context: CheckContext) -> list[Complaint]:
    """Ask one rule of a whole table; rows are counted from 0."""
    rows = np.flatnonzero(one.is_faulty(table, context))
    if not len(rows):
        return []
    faulty = table.iloc[rows]
    details = one.details(faulty, context) if one.details else [Detail()] * len(rows)
    values = faulty[[name for name in faulty if name in _words_of(one)]].to_dict(orient="records")
    return [
        Complaint(
            row=int(row),
            column=one.columns[0],
            found=_found(one.columns, of_row),
            reason=_said(one, of_row, context, detail),
            severity=one.severity,
            proposal=detail.proposal,
        )
        for row, of_row, detail in zip(rows, values, details, strict=True)
    ]


def _words_of(one: Rule) -> set[str]:
    """The columns whose values a rule's sentences can name."""
    written = {name for _, name, _, _ in Formatter().parse(f"{one.fault} {one.cure}") if name}
    return {*one.columns, *written, *(name.removeprefix("minus_") for name in written)}


def _found(columns: Sequence[str], values: Mapping[object, object]) -> str:
    told = [f"{column} {_shown(values[column])}" for column in columns if pd.notna(values.get(column))]  # type: ignore[call-overload]
    return ", ".join(told)


def _said(one: Rule, values: Mapping[object, object], context: CheckContext, detail: Detail) -> str:
    words = {str(name): _shown(value) for name, value in values.items()} | {
        "today": context.today.isoformat(),
        "found": _found(one.columns, values),
    }
    words |= detail.words
    words |= {f"minus_{name}": _shown(-value) for name, value in values.items() if isinstance(value, float)}
    return f"{one.fault.format_map(words)}; {one.cure.format_map(words)}"


def _shown(value: object) -> object:
    """Numbers without rounding noise and without a bare '.0'."""
    return f"{round(value, 6):.15g}" if isinstance(value, float) else value


def text_of(table: pd.DataFrame, column: str) -> pd.Series:
    """The column as text, blank text where it has none or is not there."""
    if column not in table.columns:
        return pd.Series("", index=table.index, dtype=object)
    values = table[column].to_numpy(dtype=object)
    is_blank = pd.isna(values)
    if is_blank.any():
        values = np.where(is_blank, "", values)
    return pd.Series(values, index=table.index, dtype=object)


def number_of(table: pd.DataFrame, column: str) -> NDArray[np.float64]:
    """The column as numbers, nan where it has none or is not there."""
    if column not in table.columns:
        return np.full(len(table), np.nan)
    return pd.to_numeric(table[column]).to_numpy(dtype=np.float64)


def is_day_after(later: pd.Series, earlier: pd.Series) -> Faulty:
    """Tell where the local day of one ISO text lies after that of another; False where either is blank."""
    one, two = later.str[:10], earlier.str[:10]
    return ((one > two) & (one != "") & (two != "")).to_numpy(dtype=bool)
