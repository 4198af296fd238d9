"""``roadwatch fields``."""

from __future__ import annotations

from typing import cast

import click

from roadwatch.cli.options import json_option
from roadwatch.cli.output import print_json
from roadwatch.records.fields import KINDS, Field, Kind, fields_of

CHARACTERS = "characters"


def allowed(field: Field) -> str:
    """What may stand in the column, in words."""
    what = field.values.replace("|", ", ").replace("..", " to ") or field.type
    return f"{what} {field.unit}".strip() if field.type in {"number", "integer"} else what


@click.command("fields")
@click.argument("kind", type=click.Choice([*KINDS, CHARACTERS]))
@json_option
def command(kind: str, as_json: bool) -> None:
    """
    Explain the columns of a kind of record, their other names, and the rules that check them.

    "characters" explains what to look at on a turtle, from where it can be seen, and what it is mistaken for.

    Example: roadwatch fields crossings
    """
    if kind == CHARACTERS:
        from roadwatch.cli.characters import explain_characters

        explain_characters(as_json=as_json)
        return
    explain_kind(cast("Kind", kind), as_json=as_json)


def explain_kind(kind: Kind, *, as_json: bool) -> None:
    """Explain the columns and rules of one kind of record."""
    from roadwatch.records.checks import rules_of
    from roadwatch.records.rules_stated import stated_rules

    fields = fields_of(kind)
    every = [*stated_rules(kind), *((rule.sentence, rule.severity) for rule in rules_of(kind))]
    rules = [{"rule": sentence, "severity": severity} for sentence, severity in every]
    if as_json:
        columns = [
            {
                "name": field.name,
                "required": field.required,
                "allowed": allowed(field),
                "unit": field.unit,
                "darwin_core": field.darwin_core,
                "also": list(field.synonyms),
                "meaning": field.meaning,
            }
            for field in fields.values()
        ]
        print_json({"kind": kind, "columns": columns, "rules": rules})
        return
    for field in fields.values():
        must = " (required)" if field.required else ""
        click.echo(f"{field.name}{must}: {field.meaning}")
        click.echo(f"    allowed: {allowed(field)}")
        if also := [*([field.darwin_core] if field.darwin_core else []), *field.synonyms]:
            click.echo(f"    also called: {', '.join(also)}")
    click.echo("\nRules:")
    for rule in rules:
        click.echo(f"- {rule['rule']} (else: {rule['severity']})")
