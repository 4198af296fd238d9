"""``roadwatch sex-ratio``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import DAY, json_option, output_option, season_argument, seed_option, today
from roadwatch.cli.output import print_json, print_notes, print_table, report_written, rows_of, write_output

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

SHOWN = "nest_id taxon period_from period_to cte_likely_c females_low females_likely females_high basis sureness"


@click.command("sex-ratio")
@season_argument
@click.option("--as-of", type=DAY, help="The day on which you stand, YYYY-MM-DD; today if not given.")
@click.option(
    "--coverage",
    type=click.FloatRange(0.05, 0.99),
    default=0.8,
    show_default=True,
    help="Share of draws between low and high.",
)
@seed_option
@json_option
@output_option
def command(season: Path, as_of: date | None, coverage: float, seed: int, as_json: bool, output: Path | None) -> None:
    """
    Give each nest the share of females that its warmth makes likely, with its interval, or the reason why not.

    Example: roadwatch sex-ratio county.gpkg --as-of 2025-09-01
    """
    import numpy as np

    from roadwatch.season.sex_ratios import season_sex_ratios

    found = season_sex_ratios(season, as_of=as_of or today(), rng=np.random.default_rng(seed), coverage=coverage)
    notes = [*found.notes, f"Seed {seed}; the same seed gives the same result."]
    if output:
        write_output(found.table, output, title="Shares of females", notes=notes)
        report_written(output, as_json=as_json)
    if as_json:
        print_json({"sex_ratios": rows_of(found.table), "notes": notes, "seed": seed})
        return
    print_table(found.table, SHOWN.split())
    for reason, nests in found.table[found.table["basis"] == "none"].groupby("note", sort=False)["nest_id"]:
        click.echo(f"{', '.join(nests)}: {reason}")
    print_notes(notes)
