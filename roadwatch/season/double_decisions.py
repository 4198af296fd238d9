"""A person's word on pairs of records: one animal or two; it holds wherever animals are counted, until decided anew."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from roadwatch.errors import UsageError
from roadwatch.season.animals import Animals, double_id

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roadwatch.records.store import Season
    from roadwatch.records.store_decisions import Word

WORDS: dict[Word, str] = {"yes": "one animal", "no": "different animals", "undecided": "undecided again"}
"""What each word means, as messages say it."""


@dataclass(frozen=True)
class Verdict:
    """What was decided about one pair of records."""

    double_id: str
    record_a: str
    record_b: str
    word: Word

    @property
    def meaning(self) -> str:
        """The word as messages say it."""
        return WORDS[self.word]


def decide_doubles(
    season: Season, animals: Animals, asked: Sequence[str], word: Word, *, who: str, when: str, why: str
) -> list[Verdict]:
    """
    Keep what a person decided about pairs of records, all or none.

    Parameters
    ----------
    season
        The season.
    animals
        Which of its records are one animal, as ``find_animals`` tells.
    asked
        Ids of doubles, or two names of records with a comma between.
    word
        Whether each pair is one animal; ``undecided`` takes a decision back.
    who, when, why
        Who decides, at what ISO 8601 time, and for what reason.

    Raises
    ------
    UsageError
        There is no such pair, no reason is given, nothing was decided that could be taken back, or the decision
        contradicts an earlier one.
    """
    pairs = _pairs(animals, asked)
    standing = {
        (one, other): told
        for one, other, told in season.decisions()[["record_a", "record_b", "word"]].itertuples(index=False)
    }
    if word == "undecided" and (free := [pair for pair in pairs if pair not in standing]):
        raise UsageError(f"nobody decided about {free[0][0]} and {free[0][1]}; nothing changed")
    after = {**standing, **dict.fromkeys(pairs, word)}
    _refuse_contradiction(after, pairs)
    season.decide(pairs, word, who=who, when=when, why=why)
    return [Verdict(double_id(*pair), *pair, word) for pair in pairs]


def _pairs(animals: Animals, asked: Sequence[str]) -> list[tuple[str, str]]:
    """Names of both records of each pair asked for, in order."""
    known = set(animals.records["record_key"].astype(str))
    listed = zip(*animals.names_of(animals.doubles.pairs), strict=True)
    by_id = {double_id(one, other): (one, other) for one, other in listed}
    found = [by_id.get(one.strip()) or _named(one, known) for one in asked]
    return list(dict.fromkeys((min(pair), max(pair)) for pair in found))


def _named(asked: str, known: set[str]) -> tuple[str, str]:
    parts = asked.split(",")
    splits = [(",".join(parts[:k]).strip(), ",".join(parts[k:]).strip()) for k in range(1, len(parts))]
    fitting = [(one, other) for one, other in splits if {one, other} <= known and one != other]
    if len(fitting) != 1:
        raise UsageError(
            f"'{asked}' is no double of this season; take a double_id from 'roadwatch doubles', or write the names of "
            "two crossings with a comma between, such as c12,c47"
        )
    return fitting[0]


def _refuse_contradiction(after: dict[tuple[str, str], str], pairs: Sequence[tuple[str, str]]) -> None:
    """No two records may be told to be different that other decisions make one animal."""
    number, names = pd.factorize(np.array([key for pair in after for key in pair], dtype=object))
    ends, words = number.reshape(-1, 2), np.array(list(after.values()), dtype=object)
    one = ends[words == "yes"]
    links = coo_array((np.ones(len(one)), (one[:, 0], one[:, 1])), shape=(len(names), len(names)))
    animal = connected_components(links, directed=False)[1]
    for first, second in ends[words == "no"]:
        if animal[first] == animal[second]:
            told = "; ".join(f"{a} and {b}" for a, b in pairs)
            raise UsageError(
                f"{names[first]} and {names[second]} were told to be different animals, and other decisions make them "
                f"one; decide those anew before {told}, or take one back with --undecided"
            )
