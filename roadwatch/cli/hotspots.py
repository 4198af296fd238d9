"""``roadwatch hotspots``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import YEARS, json_option, output_option, season_argument, seed_option
from roadwatch.cli.output import (
    cell,
    print_json,
    print_notes,
    print_table,
    progress,
    report_written,
    rows_of,
    write_output,
)

if TYPE_CHECKING:
    import pandas as pd

SHOWN = "rank road from_m to_m length_m deaths expected ratio ratio_low ratio_high p_value basis status years_present"


def watch_words(watch_list: pd.DataFrame) -> list[str]:
    """The watch list as sentences, for files that hold the ranked hotspots only."""
    return [
        f"Watch list {row['rank']}: {row['road']}, {row['from_m']:.0f} to {row['to_m']:.0f} m, "
        f"{cell(row['deaths'])} deaths where {cell(row['expected'])} are expected; not confirmed."
        for row in watch_list.to_dict("records")
    ]


@click.command("hotspots")
@season_argument
@click.option("--taxon", help="Count this taxon only, each record by the probability that it is one.")
@click.option("--years", type=YEARS, help="Use these years only, such as 2022-2025.")
@click.option("--bandwidth", type=click.FloatRange(10, 1500), default=300.0, show_default=True, help="Half-width, m.")
@click.option("--draws", type=click.IntRange(19, 99999), default=999, show_default=True, help="Re-scatterings.")
@click.option("--stretches", "stretch_file", type=click.Path(path_type=Path), help="Also write one row per stretch.")
@seed_option
@json_option
@output_option
def command(
    season: Path,
    taxon: str | None,
    years: tuple[int, int] | None,
    bandwidth: float,
    draws: int,
    stretch_file: Path | None,
    seed: int,
    as_json: bool,
    output: Path | None,
) -> None:
    """
    Rank the stretches of road where more turtles were found dead than search alone explains.

    Example: roadwatch hotspots county.gpkg --years 2022-2025 -o hotspots.csv
    """
    import numpy as np

    from roadwatch.season.mortality import season_hotspots
    from roadwatch.season.public_view import is_sensitive

    result = season_hotspots(
        season,
        taxon=taxon,
        years=years,
        half_width_m=bandwidth,
        n_draws=draws,
        rng=np.random.default_rng(seed),
        progress=progress("re-scattering the records"),
    )
    notes = [*result.notes, f"Seed {seed}; the same seed gives the same result."]
    team_only = taxon is not None and is_sensitive(season, taxon)
    if output:
        write_output(
            result.hotspots,
            output,
            title="Hotspots along roads",
            notes=[*notes, *watch_words(result.watch_list)],
            team_only=team_only,
        )
        report_written(output, as_json=as_json)
    if stretch_file:
        write_output(result.stretches, stretch_file, title="Stretches of road", notes=notes, team_only=team_only)
        report_written(stretch_file, as_json=as_json)
    if as_json:
        print_json(
            {
                "hotspots": rows_of(result.hotspots),
                "watch_list": rows_of(result.watch_list),
                "notes": notes,
                "seed": seed,
            }
        )
        return
    print_table(result.hotspots, SHOWN.split())
    if len(result.watch_list):
        click.echo("\nWatch list (worth a look, not confirmed):")
        print_table(result.watch_list, SHOWN.split())
        click.echo()
    print_notes(notes)
