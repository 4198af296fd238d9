"""``roadwatch problems``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import json_option, output_option, season_argument, who_option
from roadwatch.errors import UsageError

if TYPE_CHECKING:
    from pathlib import Path


@click.command("problems")
@season_argument
@click.option("--accept", "which", metavar="ID|all", help="Store this row, or all rows, as it is proposed for them.")
@click.option("--discard", multiple=True, metavar="ID", help="Close a row of which nothing can be made; give --why.")
@click.option("--reopen", multiple=True, metavar="ID", help="Let a discarded row wait for a cure again; give --why.")
@click.option("--discarded", "is_discarded", is_flag=True, help="List the discarded rows, each with the reason.")
@click.option("--remarks", "is_remarks", is_flag=True, help="List what to look at in rows that were kept.")
@click.option("--why", default="", help="The reason for --discard and --reopen, kept with the row.")
@who_option
@json_option
@output_option
@click.pass_context
def command(
    ctx: click.Context,
    season: Path,
    which: str | None,
    discard: tuple[str, ...],
    reopen: tuple[str, ...],
    is_discarded: bool,
    is_remarks: bool,
    why: str,
    who: str,
    as_json: bool,
    output: Path | None,
) -> None:
    """
    List the rows held back, each with its place, reason and cure, and its original text.

    With -o FILE.csv each row is written in the columns of its own file. Mend the cells, or write COLUMN=VALUE
    into the cure column, or 'discard: REASON' where nothing can be made of the row, and take the file in with
    'ingest': its rows replace those held back. A discarded row is kept with its text and reason.
    With --remarks the rows that were kept are listed instead, each with what to look at.

    Example: roadwatch problems county.gpkg -o problems.csv
    """
    from roadwatch.cli import problem_acts, problem_lists
    from roadwatch.records.store import Season

    if sum(map(bool, (which, discard, reopen, is_discarded, is_remarks))) > 1:
        raise UsageError("give one of --accept, --discard, --reopen, --discarded and --remarks at a time")
    if which:
        ctx.exit(problem_acts.accept(season, which, who=who, as_json=as_json))
    opened = Season.open(season)
    if discard or reopen:
        problem_acts.close(opened, discard, reopen, who=who, why=why, as_json=as_json)
    elif is_remarks:
        problem_lists.list_remarks(opened, output, as_json=as_json)
    else:
        problem_lists.list_rows(opened, output, is_discarded=is_discarded, as_json=as_json)
