"""``roadwatch evaluate``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import json_option, output_option, season_argument, seed_option
from roadwatch.cli.output import print_json, print_notes, print_table, report_written, rows_of, write_output

if TYPE_CHECKING:
    from pathlib import Path

SHOWN = (
    "measure_id kind deaths_before km_before deaths_after km_after control_deaths_before control_deaths_after "
    "ratio ratio_low ratio_high ratio_corrected corrected_low corrected_high smallest_fall_seen"
)


@click.command("evaluate")
@season_argument
@click.option(
    "--controls",
    type=click.IntRange(1, 1000),
    default=20,
    show_default=True,
    help="Compare with at least so many sections of about 500 m.",
)
@seed_option
@json_option
@output_option
def command(season: Path, controls: int, seed: int, as_json: bool, output: Path | None) -> None:
    """
    Tell whether what was built lowered the deaths, beside roads without it.

    Example: roadwatch evaluate county.gpkg -o evaluation.csv
    """
    import numpy as np

    from roadwatch.season.evaluating import season_evaluation

    found = season_evaluation(season, rng=np.random.default_rng(seed), n_controls=controls)
    notes = [*found.notes, f"Seed {seed}; the same seed gives the same result."]
    if output:
        write_output(found.table, output, title="Did it work?", notes=notes)
        report_written(output, as_json=as_json)
    if as_json:
        print_json({"measures": rows_of(found.table), "notes": notes, "seed": seed})
        return
    print_table(found.table, SHOWN.split())
    for row in found.table.to_dict("records"):
        note = row["note"]
        click.echo(f"{row['measure_id']}: {row['verdict']}{'; ' + note if note else ''}")
    print_notes(notes)
