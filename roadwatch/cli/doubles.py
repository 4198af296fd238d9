"""``roadwatch doubles``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import json_option, output_option, season_argument
from roadwatch.cli.output import print_json, print_notes, print_table, report_written, rows_of, write_output

if TYPE_CHECKING:
    from pathlib import Path


@click.command("doubles")
@season_argument
@json_option
@output_option
def command(season: Path, as_json: bool, output: Path | None) -> None:
    """
    List the records that may be one animal, each pair with its probability and the reasons.

    Pairs that are certain enough are merged wherever animals are counted; the others are counted as separate.

    Example: roadwatch doubles county.gpkg -o doubles.csv
    """
    from roadwatch.season.animals import animals_of_season

    animals = animals_of_season(season)
    pairs, notes = animals.proposals(), animals.notes()
    if output:
        write_output(pairs, output, title="Records that may be one animal", notes=notes, team_only=True)
        report_written(output, as_json=as_json)
    if as_json:
        print_json({"season": str(season), "doubles": rows_of(pairs), "notes": notes})
        return
    if not output:
        print_table(pairs, ["double_id", "record_a", "record_b", "p", "merged", "reasons"])
    print_notes(notes)
