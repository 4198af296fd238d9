"""The characters of turtles, explained in plain words: ``roadwatch fields characters``."""

from __future__ import annotations

import click

from roadwatch.cli.output import print_json
from roadwatch.identify.characters import VIEWS, Character
from roadwatch.identify.tables import identify_tables

ANSWERS = (
    "Answer with a state, with one|other where you are unsure between them, looked_absent where you looked and there "
    "was nothing, or not_seen. In a file the columns are called seen_ and the character, such as seen_rear_edge."
)


def explain_characters(*, as_json: bool) -> None:
    """Print every character with its question, states, views, what it is mistaken for, and the safety word."""
    tables = identify_tables()
    if as_json:
        characters = [_as_object(character) for character in tables.characters.values()]
        print_json({"kind": "characters", "characters": characters, "tables_version": tables.version})
        return
    click.echo(ANSWERS)
    for character in tables.characters.values():
        click.echo(f"\n{character.key}: {character.question}")
        for state in character.states:
            click.echo(f"    {state.key}: {state.words}")
        click.echo(f"    seen: {', '.join(_views(character))}{'; needs the head' if character.needs_head else ''}")
        click.echo(f"    mistaken: {character.mistaken_for}")
        if character.safety:
            click.echo(f"    mind: {character.safety}")


def _views(character: Character) -> list[str]:
    return [view.replace("_", " ") for view in VIEWS if character.can_show(view, head_present=True)]


def _as_object(character: Character) -> dict[str, object]:
    return {
        "character": character.key,
        "question": character.question,
        "group": character.group,
        "states": [{"state": state.key, "words": state.words} for state in character.states],
        "certainty": dict(character.certainty),
        "needs_head": character.needs_head,
        "mistaken_for": character.mistaken_for,
        "safety": character.safety,
    }
