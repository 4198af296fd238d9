"""``roadwatch hatch``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import DAY, json_option, output_option, season_argument, seed_option
from roadwatch.cli.output import print_json, print_notes, print_table, progress, report_written, rows_of, write_output

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

SHOWN = "nest_id taxon laid_from laid_to progress hatch_early hatch_likely hatch_late p_hatched p_never basis sureness"


@click.command("hatch")
@season_argument
@click.option("--as-of", type=DAY, required=True, help="The day on which you stand, YYYY-MM-DD.")
@click.option(
    "--coverage",
    type=click.FloatRange(0.05, 0.99),
    default=0.8,
    show_default=True,
    help="Share of nests whose hatching should fall inside the window.",
)
@click.option("--explain", is_flag=True, help="Also say where each window's width comes from and what would narrow it.")
@seed_option
@json_option
@output_option
def command(
    season: Path, as_of: date, coverage: float, explain: bool, seed: int, as_json: bool, output: Path | None
) -> None:
    """
    Give each nest its window of hatching days, or the reason why it has none.

    Example: roadwatch hatch county.gpkg --as-of 2025-07-15 -o windows.csv
    """
    import numpy as np

    from roadwatch.season.nests import season_windows

    windows = season_windows(
        season,
        as_of=as_of,
        coverage=coverage,
        explain=explain,
        rng=np.random.default_rng(seed),
        progress=progress("projecting the nests"),
    )
    notes = [*windows.notes, f"Seed {seed}; the same seed gives the same result."]
    if output:
        with_places = output.suffix.lower() in {".geojson", ".json", ".gpkg"}
        table = windows.places if with_places else windows.table
        write_output(table, output, title="Hatch windows", notes=notes, team_only=with_places)
        report_written(output, as_json=as_json)
    if as_json:
        causes = {} if windows.causes is None else {"causes": rows_of(windows.causes)}
        print_json({"windows": rows_of(windows.table), **causes, "notes": notes, "seed": seed})
        return
    print_table(windows.table, SHOWN.split())
    for reason, nests in windows.table[windows.table["basis"] == "none"].groupby("note", sort=False)["nest_id"]:
        click.echo(f"{', '.join(nests)}: {reason}")
    if windows.causes is not None:
        print_table(windows.causes, ["nest_id", "cause", "days_alone", "days_narrower", "stretched_by", "remedy"])
    print_notes(notes)
