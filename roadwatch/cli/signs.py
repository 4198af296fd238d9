"""``roadwatch signs``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import YEARS, json_option, output_option, season_argument, seed_option
from roadwatch.cli.output import (
    print_json,
    print_notes,
    print_table,
    progress,
    report_written,
    rows_of,
    write_output,
)

if TYPE_CHECKING:
    from pathlib import Path

SHOWN = "hotspot status road approach sign_m distance_m speed_limit_mph milepost on_from on_to hours_from hours_to"


@click.command("signs")
@season_argument
@click.option("--taxon", help="Hotspots of this taxon only.")
@click.option("--years", type=YEARS, help="Use these years only, such as 2022-2025.")
@click.option("--draws", type=click.IntRange(19, 99999), default=999, show_default=True, help="Re-scatterings.")
@seed_option
@json_option
@output_option
def command(
    season: Path,
    taxon: str | None,
    years: tuple[int, int] | None,
    draws: int,
    seed: int,
    as_json: bool,
    output: Path | None,
) -> None:
    """
    Propose where and when a warning sign stands before each hotspot.

    Example: roadwatch signs county.gpkg -o signs.geojson
    """
    import numpy as np

    from roadwatch.season.public_view import is_sensitive
    from roadwatch.season.sign_plan import season_signs

    plan = season_signs(
        season,
        taxon=taxon,
        years=years,
        n_draws=draws,
        rng=np.random.default_rng(seed),
        progress=progress("re-scattering the records"),
    )
    notes = [*plan.notes, f"Seed {seed}; the same seed gives the same result."]
    if output:
        team_only = taxon is not None and is_sensitive(season, taxon)
        write_output(plan.table, output, title="Warning signs", notes=notes, team_only=team_only)
        report_written(output, as_json=as_json)
    if as_json:
        print_json({"signs": rows_of(plan.table), "notes": notes, "seed": seed})
        return
    print_table(plan.table, SHOWN.split())
    for (status, remark), own in plan.table.groupby(["status", "note"], sort=False)["hotspot"]:
        if remark:
            click.echo(f"{status} {', '.join(str(rank) for rank in dict.fromkeys(own))}: {remark}")
    print_notes(notes)
