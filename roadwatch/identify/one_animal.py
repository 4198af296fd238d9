"""One animal, looked at now: what it may be, what can be written, what to look at next, what to mind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from roadwatch.errors import UsageError
from roadwatch.identify.cautions import cautions
from roadwatch.identify.evidence import answers_of
from roadwatch.identify.naming import (
    DEFAULT_THRESHOLD,
    HonestName,
    honest_name,
    is_prior_driven,
    needs_second_person,
)
from roadwatch.identify.posterior import posterior
from roadwatch.identify.questions import Look, Question, next_questions

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    import numpy as np
    from numpy.typing import NDArray

    from roadwatch.identify.tables import Tables


@dataclass(frozen=True)
class Place:
    """Where and when: region, month 1 to 12, habitat; None for what is not known."""

    region: str | None = None
    month: int | None = None
    habitat: str | None = None


@dataclass(frozen=True)
class Identification:
    """
    What one animal may be.

    Parameters
    ----------
    ranking
        Taxa with their probability and their share before anything was seen, the most probable first.
    name
        What can honestly be written.
    questions
        What to look at next, at most three.
    prior_driven
        With all taxa equally common another name would be written.
    second_person
        Taxa in play that ask for a photograph and a second person.
    notes
        What was assumed, in sentences.
    cautions
        What to mind, traffic first.
    tables_version
        Digest of the tables it rests on.
    """

    ranking: tuple[tuple[str, float, float], ...]
    name: HonestName
    questions: tuple[Question, ...]
    prior_driven: bool
    second_person: tuple[str, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    tables_version: str


def identify_animal(
    seen: Mapping[str, str],
    tables: Tables,
    *,
    look: Look,
    place: Place,
    threshold: float = DEFAULT_THRESHOLD,
    skip: Collection[str] = (),
) -> Identification:
    """
    Weigh what was seen of one animal.

    Parameters
    ----------
    seen
        Character key to an answer.
    tables
        The tables.
    look
        View, skill and stage of life.
    place
        Where and when.
    threshold
        Probability that a name must reach.
    skip
        Characters not to ask about again.

    Raises
    ------
    UsageError
        A character, state, region, habitat or skill is not in the tables, or the view cannot show a character.
    """
    if look.skill not in tables.slips:
        raise UsageError(f"skill '{look.skill}' is not in the tables; expected one of {', '.join(tables.slips)}")
    evidence = answers_of(seen, tables, view=look.view, skill=look.skill, life_stage=look.life_stage)
    prior = tables.prior(place.region, month=place.month, habitat=place.habitat)
    p = posterior(evidence, tables.matrix, prior=prior)[0]
    flat = posterior(evidence, tables.matrix, prior=tables.prior(None))[0]
    questions = next_questions(evidence, tables, prior=prior, look=look, threshold=threshold, skip=skip)
    second = needs_second_person(p, tables, region=place.region)
    return Identification(
        ranking=_ranking(p, prior, tables),
        name=honest_name(p, tables, threshold=threshold),
        questions=tuple(questions),
        prior_driven=is_prior_driven(p, flat, tables, threshold=threshold),
        second_person=second,
        notes=_notes(look, place, second, tables),
        cautions=cautions(p, tables, view=look.view),
        tables_version=tables.version,
    )


def _ranking(
    p: NDArray[np.float64], prior: NDArray[np.float64], tables: Tables
) -> tuple[tuple[str, float, float], ...]:
    rows = zip(tables.taxa, p.tolist(), prior.tolist(), strict=True)
    return tuple(sorted(rows, key=lambda row: -row[1]))


def _notes(look: Look, place: Place, second: tuple[str, ...], tables: Tables) -> tuple[str, ...]:
    slip = tables.slips[look.skill]
    notes = [
        f"Looks are taken as those of a {look.skill} observer, {slip:.0%} of which go wrong (assumed, not measured).",
        "How often a taxon shows a mark is read from words such as 'usually' in accounts; it was not counted.",
    ]
    if place.region is None:
        notes.append("No region named: all taxa are taken as equally common. Name one with --region.")
    if look.life_stage in {"hatchling", "juvenile"}:
        notes.append("The tables describe adults: of a young animal every look counts less, and its size nothing.")
    elif look.life_stage is None:
        notes.append("Taken as an adult; hatchlings and juveniles look different.")
    if second:
        notes.append(
            f"{', '.join(second)}: listed, or outside its known range. Whatever the number says, take photographs and "
            "let a second person name it."
        )
    return tuple(notes)
