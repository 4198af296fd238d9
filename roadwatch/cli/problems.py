"""``roadwatch problems``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import json_option, output_option, season_argument
from roadwatch.cli.output import print_json, report_written, rows_of, write_output

if TYPE_CHECKING:
    from pathlib import Path


@click.command("problems")
@season_argument
@json_option
@output_option
def command(season: Path, as_json: bool, output: Path | None) -> None:
    """
    List the rows held back, each with its place, reason and cure, and its original text.

    Example: roadwatch problems county.gpkg -o problems.csv
    """
    from roadwatch.records.store import Season

    held = Season.open(season).held_back()
    if output:
        write_output(held, output, title="Rows held back", team_only=True)
        report_written(output, as_json=as_json)
    if as_json:
        print_json({"season": str(season), "held_back": rows_of(held)})
    elif not output:
        for row in held.to_dict("records"):
            click.echo(f"{row['file_name']}, line {row['line']}: {row['reasons']}")
            click.echo(f"    {str(row['original']).strip()}")
        click.echo(f"{len(held)} rows held back." if len(held) else "No row is held back.")
