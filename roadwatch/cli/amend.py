"""``roadwatch amend``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import json_option, now_text, record_kind_option, season_argument, today, who_option
from roadwatch.cli.output import print_json, print_notes
from roadwatch.errors import UsageError

if TYPE_CHECKING:
    from pathlib import Path


@click.command("amend")
@season_argument
@click.argument("record_id")
@click.argument("assignments", metavar="FIELD=VALUE...", nargs=-1, required=True)
@click.option("--why", required=True, help="The reason, kept with the correction.")
@who_option
@record_kind_option
@json_option
def command(
    season: Path, record_id: str, assignments: tuple[str, ...], why: str, who: str, kind: str | None, as_json: bool
) -> None:
    """
    Correct fields of one record; what was first told stays beside the correction, with who, when and why.

    Example: roadwatch amend county.gpkg c12 latitude=31.7051 --why "read from the photograph"
    """
    from roadwatch.season.intake import Intake
    from roadwatch.season.repairs import amend

    values: dict[str, str] = {}
    for assignment in assignments:
        name, sign, value = assignment.partition("=")
        if not sign or not name.strip():
            raise UsageError(f"'{assignment}' sets no field; write FIELD=VALUE, such as latitude=31.7051")
        values[name.strip()] = value
    intake = Intake.open(season, today=today(), now=now_text())
    done = amend(intake, record_id, values, why=why, who=who, kind=kind)
    changed = [{"field": name, "old": old, "new": new} for name, (old, new) in done.changed.items()]
    if as_json:
        told = {"record_id": record_id, "kind": done.kind, "changed": changed, "remarks": done.remarks}
        print_json({"season": str(season), **told})
        return
    for one in changed:
        click.echo(f"{record_id}: {one['field']} was {one['old'] or 'blank'}, is now {one['new'] or 'blank'}")
    if not changed:
        click.echo(f"{record_id}: it says so already; nothing changed")
    print_notes(done.remarks)
