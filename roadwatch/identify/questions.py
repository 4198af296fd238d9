"""What to look at next: the character that should tell most, among those that can be seen from here."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.identify.evidence import Answer, Evidence, slip_of, tells
from roadwatch.identify.naming import DEFAULT_THRESHOLD, honest_name
from roadwatch.identify.posterior import DEFAULT_RHO, form_posterior, likelihood, posterior

if TYPE_CHECKING:
    from collections.abc import Collection

    from numpy.typing import NDArray

    from roadwatch.identify.characters import Character, View
    from roadwatch.identify.tables import Tables

MOST_QUESTIONS = 3
LEAST_BITS = 0.01
"""Below this a look is not worth asking for (a stated convention)."""
LEAST_CHANGE = 0.05
"""Once a species is named, a look must have this chance of changing the answer (a stated convention)."""

_FINE_ENOUGH = ("species", "subspecies")


@dataclass(frozen=True)
class Question:
    """
    A character to look at.

    Parameters
    ----------
    character
        What to look at, with plain words and the safety word where handling is needed.
    bits
        Information expected from it.
    p_change
        Chance that the answer changes the name that can be written.
    """

    character: Character
    bits: float
    p_change: float


@dataclass(frozen=True)
class Look:
    """How the animal is being looked at: what can be seen of it and how often a look goes wrong."""

    view: View | None
    skill: str
    life_stage: str | None = None
    head_present: bool = False

    def can_see(self, character: Character) -> bool:
        """Tell whether the character can be seen, and says something at this stage of life."""
        return character.can_show(self.view, head_present=self.head_present) and tells(character, self.life_stage)

    def slip(self, character: Character, tables: Tables) -> float:
        """Share of such looks at the character that go wrong."""
        certainty = character.certainty_of_look(self.view)
        return slip_of(certainty, skill_slip=tables.slips[self.skill], life_stage=self.life_stage)


def entropy_bits(p: NDArray[np.float64]) -> NDArray[np.float64]:
    """
    Doubt left in probabilities along the last axis, in bits.

    >>> float(entropy_bits(np.array([0.5, 0.5])))
    1.0
    """
    safe = np.where(p > 0, p, 1.0)
    return np.asarray(-(safe * np.log2(safe)).sum(axis=-1))


def information_gain(prior: NDArray[np.float64], reports: NDArray[np.float64]) -> float:
    """
    Information expected from a report, in bits: doubt before less mean doubt after.

    Parameters
    ----------
    prior
        (taxa,) probabilities before.
    reports
        (taxa, states) probability of each report.

    Source
    ------
    lindley1956
    """
    return _gain_of_joint(prior[:, None] * reports)


def next_questions(
    evidence: Evidence,
    tables: Tables,
    *,
    prior: NDArray[np.float64],
    look: Look,
    threshold: float = DEFAULT_THRESHOLD,
    rho: float = DEFAULT_RHO,
    skip: Collection[str] = (),
) -> list[Question]:
    """
    At most three characters worth a look, the most telling first; none once the answer would not change.

    The gain is that of a fresh look; the discount for marks that go together enters in what the answer then does.

    Parameters
    ----------
    evidence
        What was seen of one animal.
    tables
        The tables.
    prior
        (taxa,) probabilities before anything was seen.
    look
        How it is being looked at.
    threshold
        Probability that a name must reach.
    rho
        Correlation within a group of characters.
    skip
        Characters not to ask about, such as those that could not be seen.

    Source
    ------
    lindley1956
    """
    by_form = form_posterior(evidence, tables.matrix, prior=prior, rho=rho)[0]
    now = np.add.reduceat(by_form, tables.matrix.form_start)
    name = honest_name(now, tables, threshold=threshold)
    settled = (name.rank in _FINE_ENOUGH or name.taxon in tables.taxa) and not name.qualifier
    answered = {answer.character for answer in evidence.answers} | set(skip)
    questions = []
    for key, character in tables.characters.items():
        if key in answered or not look.can_see(character):
            continue
        slip = look.slip(character, tables)
        reports = _reports(tables.matrix.frequencies[key], slip)
        bits = _gain(by_form, reports, tables.matrix.form_start)
        if bits < LEAST_BITS:
            continue
        after = [
            posterior(_with(evidence, Answer(key, (k,), slip)), tables.matrix, prior=prior, rho=rho)[0]
            for k in range(len(character.states))
        ]
        changed = [honest_name(row, tables, threshold=threshold).written != name.written for row in after]
        question = Question(character, bits, float((by_form @ reports)[changed].sum()))
        if not settled or question.p_change >= LEAST_CHANGE:
            questions.append(question)
    return sorted(questions, key=lambda question: -question.bits)[:MOST_QUESTIONS]


def _reports(frequencies: NDArray[np.float64], slip: float) -> NDArray[np.float64]:
    """(forms, states) probability of each report."""
    states = range(frequencies.shape[1])
    return np.column_stack([likelihood(frequencies, (state,), slip=slip) for state in states])


def _gain(by_form: NDArray[np.float64], reports: NDArray[np.float64], start: NDArray[np.intp]) -> float:
    """Information on the taxon, where marks that change together are followed through the forms."""
    joint = np.add.reduceat(by_form[:, None] * reports, start, axis=0)
    return _gain_of_joint(joint)


def _gain_of_joint(joint: NDArray[np.float64]) -> float:
    p_report = joint.sum(axis=0)
    after = (joint / np.where(p_report > 0, p_report, 1.0)).T
    return float(entropy_bits(joint.sum(axis=1)) - (p_report * entropy_bits(after)).sum())


def _with(evidence: Evidence, answer: Answer) -> Evidence:
    """The evidence of one animal with one answer more."""
    return replace(
        evidence,
        record=np.append(evidence.record, 0),
        answer=np.append(evidence.answer, len(evidence.answers)),
        answers=(*evidence.answers, answer),
    )
