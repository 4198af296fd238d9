"""``roadwatch hindcast``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import json_option, output_option, season_argument, seed_option
from roadwatch.cli.output import print_json, print_notes, print_table, progress, report_written, rows_of, write_output

if TYPE_CHECKING:
    from pathlib import Path

WEATHER = (
    "lead_days n years coverage_50 widened_50 coverage_80 widened_80 factor_80 width_80 widened_width_80 crps skill"
)
FULL = "as_of_days n years coverage_50 coverage_50_se coverage_80 coverage_80_se width_80 crps"


@click.command("hindcast")
@season_argument
@seed_option
@json_option
@output_option
def command(season: Path, seed: int, as_json: bool, output: Path | None) -> None:
    """
    Tell how often past windows would have held: every past summer forecast from earlier years alone.

    What -o writes is the table of the weather component; a name that ends in .svg gets the picture.

    Example: roadwatch hindcast county.gpkg -o hindcast.svg
    """
    import numpy as np

    from roadwatch.season.hindcasting import season_hindcast
    from roadwatch.share.writers import write_text

    found = season_hindcast(season, rng=np.random.default_rng(seed), progress=progress("forecasting past summers"))
    notes = [*found.notes, f"Seed {seed}; the same seed gives the same result."]
    if output and output.suffix.lower() == ".svg":
        write_text(found.picture, output)
    elif output:
        write_output(found.weather, output, title="How past windows held: weather alone", notes=notes)
    if output:
        report_written(output, as_json=as_json)
    if as_json:
        tables = {"weather": found.weather, "full": found.full, "real": found.real}
        print_json({**{name: rows_of(table) for name, table in tables.items()}, "notes": notes, "seed": seed})
        return
    click.echo("Weather alone, days before hatching:")
    print_table(found.weather, WEATHER.split())
    click.echo("Full windows of simulated nests, days after the start of laying:")
    print_table(found.full, FULL.split())
    print_notes(notes)
