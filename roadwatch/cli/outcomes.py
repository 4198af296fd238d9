"""``roadwatch outcomes``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import DAY, json_option, output_option, season_argument, today
from roadwatch.cli.output import print_json, print_notes, print_table, report_written, rows_of, write_output

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

GROUPS = "group nests losses exposure_days daily_survival daily_se success success_low success_high"


@click.command("outcomes")
@season_argument
@click.option("--as-of", type=DAY, help="The day on which you stand, YYYY-MM-DD; today if not given.")
@json_option
@output_option
def command(season: Path, as_of: date | None, as_json: bool, output: Path | None) -> None:
    """
    Sum up how nests ended: success with its interval, cages compared, hatchlings, and what is still in the ground.

    What -o writes is the table of nests; a name that ends in .svg gets the survival curve.

    Example: roadwatch outcomes county.gpkg --as-of 2026-06-15 -o outcomes.csv
    """
    from roadwatch.season.outcomes import season_outcomes
    from roadwatch.share.writers import write_text

    found = season_outcomes(season, as_of=as_of or today())
    if output and output.suffix.lower() == ".svg":
        write_text(found.picture, output)
    elif output:
        write_output(found.nests, output, title="How nests ended", notes=found.notes)
    if output:
        report_written(output, as_json=as_json)
    if as_json:
        tables = {"nests": found.nests, "groups": found.groups, "counts": found.counts, "curve": found.curve}
        print_json({**{name: rows_of(table) for name, table in tables.items()}, "notes": found.notes})
        return
    print_table(found.counts, ["fate", "nests"])
    print_table(found.groups, GROUPS.split())
    print_notes(found.notes)
