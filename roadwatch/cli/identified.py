"""How an identification is asked for and shown at the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.output import print_notes, print_table
from roadwatch.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from roadwatch.identify.one_animal import Identification
    from roadwatch.identify.questions import Question
    from roadwatch.identify.tables import Tables

SHOWN_FROM = 0.01


def read_seen(see: Iterable[str]) -> dict[str, str]:
    """What was seen by character; the same character twice means both at once."""
    seen: dict[str, str] = {}
    for text in see:
        key, equals, state = (part.strip() for part in text.partition("="))
        if not equals or not key or not state:
            raise UsageError(f"--see '{text}' does not fit; write CHARACTER=STATE, such as rear_edge=smooth")
        seen[key] = f"{seen[key]}+{state}" if key in seen else state
    return seen


def as_object(found: Identification) -> dict[str, object]:
    """The identification as ``--json`` prints it."""
    name = found.name
    return {
        "taxa": [{"taxon": taxon, "p": p} for taxon, p, _ in found.ranking],
        "name": {"written": name.written, "rank": name.rank, "qualifier": name.qualifier, "p": name.p},
        "next": [{"character": question.character.key, "bits": question.bits} for question in found.questions],
        "prior_driven": found.prior_driven,
        "prior": [{"taxon": taxon, "p": prior} for taxon, _, prior in found.ranking],
        "second_person": list(found.second_person),
        "darwin_core": name.darwin_core() | name.measurement(found.tables_version),
        "notes": list(found.notes),
        "cautions": list(found.cautions),
        "tables_version": found.tables_version,
    }


def sureness(found: Identification) -> str:
    """The name with the probability of what it says, and of what it is compared with."""
    name = found.name
    compared = f", {name.p_compared:.2f} that it is {name.compared_with}" if name.compared_with else ""
    return f"{name.written} (probability {name.p:.2f} that it is {name.taxon}{compared})"


def print_identified(found: Identification, tables: Tables) -> None:
    """Print the identification for a reader."""
    import pandas as pd

    rows = [
        {"taxon": taxon, "english": tables.tree.english[taxon], "p": round(p, 3), "before": round(prior, 4)}
        for taxon, p, prior in found.ranking
        if p >= SHOWN_FROM
    ]
    print_table(pd.DataFrame(rows), ["taxon", "english", "p", "before"])
    click.echo(f"\nCan be written: {sureness(found)}")
    if found.prior_driven:
        click.echo("This rests on how common taxa are here: with all equally common another name would be written.")
    if found.questions:
        click.echo("\nLook at next:")
        for question in found.questions:
            print_question(question)
    click.echo("")
    print_notes([*found.notes, f"Tables {found.tables_version}."])
    click.echo("\nMind:")
    print_notes(found.cautions)


def print_question(question: Question) -> None:
    """Print a question in plain words, with the safety word where handling is needed."""
    character = question.character
    click.echo(f"  {character.key}: {character.question} ({question.bits:.2f} bits)")
    if character.safety:
        click.echo(f"      {character.safety}")
