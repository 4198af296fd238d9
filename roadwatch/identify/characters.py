"""The characters people look at: what to ask, what the answers are called, and from where they can be seen."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal, get_args

from roadwatch.errors import UsageError
from roadwatch.identify.table_files import Row, number_in

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

View = Literal["in_hand", "from_above", "from_car", "carcass"]
VIEWS: tuple[View, ...] = get_args(View)

NOT_SEEN = "not_seen"
"""Nobody could look: it says nothing."""
LOOKED_ABSENT = "looked_absent"
"""Somebody looked and there was nothing: it counts as the state that means 'none'."""

SIZE = "scl_mm"
"""The character of size; a measured carapace answers it, and it says nothing of young animals."""


@dataclass(frozen=True)
class State:
    """One answer: its key, plain words, whether it means 'none', and the two states it joins, if it does."""

    key: str
    words: str
    absent: bool
    both_of: frozenset[str]


@dataclass(frozen=True)
class Character:
    """One thing to look at, with how sure a look is in each view (0 cannot be seen, 1 as in hand)."""

    key: str
    group: str
    question: str
    certainty: Mapping[View, float]
    needs_head: bool
    mistaken_for: str
    safety: str
    states: tuple[State, ...]

    @cached_property
    def index(self) -> dict[str, int]:
        """Position of each state by its key, and by its plain words where those are no other state's key."""
        by_words = {_plain(state.words): k for k, state in enumerate(self.states)}
        return by_words | {state.key: k for k, state in enumerate(self.states)}

    def can_show(self, view: View | None, *, head_present: bool = False) -> bool:
        """Tell whether this view can show the character; a carcass shows what needs a head only where it has one."""
        if view == "carcass" and self.needs_head:
            return head_present
        return view is None or self.certainty[view] > 0

    def certainty_of_look(self, view: View | None) -> float:
        """How sure a reported look is; where the view is not known it is taken as in hand, as said."""
        if view is None or (view == "carcass" and self.needs_head):
            return self.certainty["in_hand"]
        return self.certainty[view]


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", text.casefold()).strip("_")


def read_answer(character: Character, written: str | None) -> tuple[int, ...]:
    """
    Read one answer as positions of states; several mean 'one of these', none means that nobody could look.

    ``a|b`` is a doubt between two states; ``a+b`` says that both were there, which must be a state of its own;
    ``looked_absent`` is the state that means 'none'; blank and ``not_seen`` say nothing.

    Raises
    ------
    UsageError
        A state is not one of the character's, or no state means 'none' or 'both'.
    """
    text = (written or "").strip()
    if _plain(text) in {"", NOT_SEEN}:
        return ()
    found = {_position(character, part) for part in text.split("|")}
    return () if len(found) == len(character.states) else tuple(sorted(found))


def _position(character: Character, part: str) -> int:
    if "+" in part:
        return _both(character, part)
    key = _plain(part)
    if key == LOOKED_ABSENT:
        absent = [k for k, state in enumerate(character.states) if state.absent]
        if not absent:
            raise UsageError(
                f"{character.key}: 'looked_absent' has no meaning here, found '{part}'; expected one of "
                f"{_keys(character)}; write the state that was seen, or not_seen"
            )
        return absent[0]
    if key not in character.index:
        raise UsageError(
            f"{character.key}: '{part.strip()}' is not one of its states; expected one of {_keys(character)}, a doubt "
            "written as one|other, looked_absent or not_seen"
        )
    return character.index[key]


def _both(character: Character, part: str) -> int:
    named = {character.states[_position(character, half)].key for half in part.split("+")}
    joined = [k for k, state in enumerate(character.states) if named == state.both_of or named == {state.key}]
    if not joined:
        raise UsageError(
            f"{character.key}: no state means both of '{part.strip()}'; write one|other for a doubt between them, "
            f"or one of {_keys(character)}"
        )
    return joined[0]


def _keys(character: Character) -> str:
    return ", ".join(state.key for state in character.states)


def build_characters(rows: Sequence[Row], state_rows: Sequence[Row], *, faults: list[str]) -> dict[str, Character]:
    """
    Make the characters from their two tables.

    Parameters
    ----------
    rows, state_rows
        Rows of ``characters.csv`` and ``states.csv``.
    faults
        What is wrong is added here, one line a fault.
    """
    states: dict[str, list[State]] = {}
    known = {row["character"] for row in rows}
    for row in state_rows:
        if row["character"] not in known:
            faults.append(row.fault("character", expected="not in characters.csv"))
        both_of = frozenset(part for part in row["both_of"].split("|") if part)
        states.setdefault(row["character"], []).append(
            State(row["state"], row["plain_words"], row["absent"] == "1", both_of)
        )
    faults += [
        row.fault("character", expected="without at least two states in states.csv")
        for row in rows
        if len(states.get(row["character"], [])) < 2
    ]
    return {row["character"]: _character(row, states.get(row["character"], []), faults) for row in rows}


def _character(row: Row, states: Sequence[State], faults: list[str]) -> Character:
    return Character(
        key=row["character"],
        group=row["group"],
        question=row["question"],
        certainty={view: number_in(row, view, low=0, high=1, faults=faults) for view in VIEWS},
        needs_head=row["needs_head"] == "1",
        mistaken_for=row["mistaken_for"],
        safety=row["safety"],
        states=tuple(states),
    )
