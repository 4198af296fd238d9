"""What people saw, of one animal or of a hundred thousand, as counts of distinct answers."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import UsageError
from roadwatch.identify.characters import SIZE, VIEWS, Character, View, read_answer

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from roadwatch.identify.tables import Tables

SEEN = "seen_"
"""Start of the name of a column that holds answers."""

YOUNG_SLIP = 0.25
"""Slip for hatchlings and juveniles: their patterns differ and the tables describe adults."""

_UNKNOWN = "-"
_YOUNG = ("hatchling", "juvenile")
_CONTEXT = ("observer_skill", "view", "life_stage")


@dataclass(frozen=True)
class Answer:
    """One distinct answer: the states it allows, and the share of such looks that go wrong."""

    character: str
    states: tuple[int, ...]
    slip: float


@dataclass(frozen=True)
class AnswerFault:
    """An answer that was set aside: which record, what was written, and why."""

    record: int
    column: str
    found: str
    reason: str


@dataclass(frozen=True)
class Evidence:
    """
    Answers of many records.

    Parameters
    ----------
    n_records
        Number of records.
    record, answer
        (entries,) which record gave which distinct answer; at most one entry a character and record.
    answers
        The distinct answers.
    faults
        Answers that were set aside.
    """

    n_records: int
    record: NDArray[np.intp]
    answer: NDArray[np.intp]
    answers: tuple[Answer, ...]
    faults: tuple[AnswerFault, ...] = ()

    @property
    def n_answers(self) -> NDArray[np.int64]:
        """(n_records,) how many characters were answered."""
        return np.bincount(self.record, minlength=self.n_records)


def slip_of(certainty: float, *, skill_slip: float, life_stage: str | None) -> float:
    """
    Share of looks that go wrong: by skill, at least a quarter for young animals, more where the look is not sure.

    >>> round(slip_of(0.8, skill_slip=0.07, life_stage=None), 3)
    0.256

    Source
    ------
    identify_convention
    """
    slip = max(skill_slip, YOUNG_SLIP) if life_stage in _YOUNG else skill_slip
    return 1 - (1 - slip) * certainty


def tells(character: Character, life_stage: str | None) -> bool:
    """Tell whether a character says anything at this stage of life: size says nothing of young animals."""
    return character.key != SIZE or life_stage not in _YOUNG


def answers_of(
    seen: Mapping[str, str], tables: Tables, *, view: View | None, skill: str, life_stage: str | None = None
) -> Evidence:
    """
    Read what was seen of one animal.

    Parameters
    ----------
    seen
        Character key to a state, ``one|other``, ``one+other``, ``looked_absent`` or ``not_seen``.
    tables
        The tables.
    view
        From where it was seen; None where that is not known.
    skill
        A skill of the tables.
    life_stage
        ``hatchling``, ``juvenile`` or ``adult``; None is taken as adult.

    Raises
    ------
    UsageError
        A character or state is not in the tables, or cannot be seen in this view.
    """
    unknown = [key for key in seen if key not in tables.characters]
    if unknown:
        raise UsageError(
            f"character '{unknown[0]}' is not in the tables; expected one of {', '.join(tables.characters)}"
        )
    row = {f"{SEEN}{key}": text for key, text in seen.items()}
    context = {"observer_skill": skill, "view": view, "life_stage": life_stage}
    evidence = evidence_of(pd.DataFrame([row | context]), tables)
    if evidence.faults:
        raise UsageError(evidence.faults[0].reason)
    return evidence


def evidence_of(records: pd.DataFrame, tables: Tables) -> Evidence:
    """
    Read the ``seen_*`` columns of many records; what cannot be used is set aside with its reason.

    Parameters
    ----------
    records
        (n,) rows; ``observer_skill`` blank is taken as novice, ``view`` blank as a look in hand, ``carapace_mm``
        answers the size where ``seen_scl_mm`` is blank.
    tables
        The tables.
    """
    context = pd.DataFrame({name: text_column(records, name, blank=_UNKNOWN) for name in _CONTEXT})
    level, contexts = pd.factorize(pd.MultiIndex.from_frame(context))
    reader = _Reader(tables, [tuple(None if part == _UNKNOWN else str(part) for part in key) for key in contexts])
    for key, character in tables.characters.items():
        column = _with_size(records, character) if key == SIZE else records.get(f"{SEEN}{key}")
        if column is not None:
            reader.read(character, column, level)
    reader.set_aside_unknown(records)
    return reader.evidence(len(records))


def text_column(records: pd.DataFrame, name: str, *, blank: str) -> pd.Series:
    """A column of texts with its blanks named; all blank where the table lacks it."""
    if name not in records:
        return pd.Series(blank, index=records.index, dtype=object)
    return records[name].astype(object).where(records[name].notna(), blank)


def _with_size(records: pd.DataFrame, character: Character) -> pd.Series | None:
    """The answers on size, a measured carapace filling the blanks."""
    written = records.get(f"{SEEN}{SIZE}")
    if "carapace_mm" not in records:
        return written
    length_mm = records["carapace_mm"].to_numpy(dtype=float)
    lower = [0.0 if key.startswith("lt") else float(re.sub(r"\D.*", "", key.lstrip("mge"))) for key in _keys(character)]
    classes = np.array([*_keys(character), None], dtype=object)
    place = np.where(np.isnan(length_mm), len(lower), np.searchsorted(lower, length_mm, side="right") - 1)
    measured = pd.Series(classes[place], index=records.index, dtype=object)
    return measured if written is None else written.astype(object).where(written.notna(), measured)


def _keys(character: Character) -> list[str]:
    return [state.key for state in character.states]


class _Reader:
    """Reads one column after the other, each distinct text once in each context."""

    def __init__(self, tables: Tables, contexts: list[tuple[str | None, ...]]) -> None:
        self.tables = tables
        self.contexts = contexts
        self.records: list[NDArray[np.intp]] = []
        self.codes: list[NDArray[np.intp]] = []
        self.answers: list[Answer] = []
        self.faults: list[AnswerFault] = []

    def read(self, character: Character, column: pd.Series, level: NDArray[np.intp]) -> None:
        """Read one character's column; ``level`` is each record's position among the contexts."""
        code, texts = pd.factorize(column)  # blank is -1
        record = np.flatnonzero(code >= 0)
        distinct, inverse = np.unique(code[record] * len(self.contexts) + level[record], return_inverse=True)
        number = np.full(len(distinct), -1, dtype=np.intp)
        for k, value in enumerate(distinct):
            text, context = str(texts[value // len(self.contexts)]), self.contexts[value % len(self.contexts)]
            try:
                answer = self._answer(character, text, context)
            except UsageError as error:
                rows = record[inverse == k]
                self.faults += [AnswerFault(int(row), f"{SEEN}{character.key}", text, str(error)) for row in rows]
                continue
            if answer:
                number[k] = len(self.answers)
                self.answers.append(answer)
        used = number[inverse] >= 0
        self.records.append(record[used])
        self.codes.append(number[inverse][used])

    def _answer(self, character: Character, text: str, context: tuple[str | None, ...]) -> Answer | None:
        """What a text says in its context, None where it says nothing."""
        skill, written_view, life_stage = context
        view = next((known for known in VIEWS if known == written_view), None)
        states = read_answer(character, text)
        if not states or not tells(character, life_stage):
            return None
        if not character.can_show(view, head_present=True):
            raise UsageError(_cannot_be_seen(character, str(view)))
        skill_slip = self.tables.slips.get(skill or "novice", self.tables.slips["novice"])
        certainty = character.certainty_of_look(view)
        return Answer(character.key, states, slip_of(certainty, skill_slip=skill_slip, life_stage=life_stage))

    def set_aside_unknown(self, records: pd.DataFrame) -> None:
        """Set aside the answers of columns that are no character of the tables."""
        for name in map(str, records.columns):
            key = name.removeprefix(SEEN)
            if not name.startswith(SEEN) or key in self.tables.characters:
                continue
            reason = f"'{key}' is no character of the tables; expected one of {', '.join(self.tables.characters)}"
            filled = np.flatnonzero(records[name].notna())
            self.faults += [AnswerFault(int(row), name, str(records[name].iloc[row]), reason) for row in filled]

    def evidence(self, n_records: int) -> Evidence:
        """All that was read, as one."""
        empty = np.zeros(0, dtype=np.intp)
        return Evidence(
            n_records,
            np.concatenate([empty, *self.records]),
            np.concatenate([empty, *self.codes]),
            tuple(self.answers),
            tuple(self.faults),
        )


def _cannot_be_seen(character: Character, view: str) -> str:
    able = ", ".join(view for view in VIEWS if character.can_show(view, head_present=True))
    return (
        f"{character.key} cannot be seen {view.replace('_', ' ')}; expected view {able}; "
        "correct the view, or leave the character out"
    )
