"""``roadwatch hotspots``."""

from __future__ import annotations

from pathlib import Path

import click

from roadwatch.cli.hotspot_tables import lists_of, place_words, print_lists, result_of
from roadwatch.cli.options import YEARS, half_width_option, json_option, output_option, season_argument, seed_option
from roadwatch.cli.output import print_json, print_notes, progress, report_written, write_output


@click.command("hotspots")
@season_argument
@click.option("--taxon", help="Count this taxon only, each record by the probability that it is one.")
@click.option("--years", type=YEARS, help="Use these years only, such as 2022-2025.")
@half_width_option
@click.option(
    "--draws", "n_draws", type=click.IntRange(19, 99999), default=999, show_default=True, help="Re-scatterings."
)
@click.option(
    "--beyond",
    type=click.Choice(["search", "traffic"]),
    default="search",
    show_default=True,
    help="More deaths than search explains, or than search and a fitted traffic curve.",
)
@click.option("--carcass-trial", type=click.Path(path_type=Path), help="Placed carcasses: also tell the killed.")
@click.option(
    "--validate", is_flag=True, help="Also: would other years have told, and do the dead lie together at all?"
)
@click.option("--stretches", "stretch_file", type=click.Path(path_type=Path), help="Also write one row per stretch.")
@seed_option
@json_option
@output_option
def command(
    season: Path,
    validate: bool,
    stretch_file: Path | None,
    seed: int,
    as_json: bool,
    output: Path | None,
    **asked: object,
) -> None:
    """
    Rank the stretches of road where more turtles were found dead than search alone explains.

    Example: roadwatch hotspots county.gpkg --years 2022-2025 -o hotspots.csv
    """
    import numpy as np

    from roadwatch.season.mortality import season_hotspots
    from roadwatch.season.public_view import is_sensitive
    from roadwatch.season.validating import check_mortality

    rng, shown = np.random.default_rng(seed), progress("re-scattering the records")
    result = season_hotspots(season, rng=rng, progress=shown, **asked)  # type: ignore[arg-type]
    taxon, half_width_m = asked["taxon"], asked["half_width_m"]
    checked = check_mortality(result.mortality, rng=rng, half_width_m=half_width_m) if validate else None  # type: ignore[arg-type]
    notes = [*result.notes, *(checked.notes if checked else ()), f"Seed {seed}; the same seed gives the same result."]
    team_only = isinstance(taxon, str) and is_sensitive(season, taxon)
    if output:
        told = [words for name, table in lists_of(result).items() for words in place_words(table, name)]
        title = "Hotspots along roads"
        write_output(result.hotspots, output, title=title, notes=[*notes, *told], team_only=team_only)
        report_written(output, as_json=as_json)
    if stretch_file:
        write_output(result.stretches, stretch_file, title="Stretches of road", notes=notes, team_only=team_only)
        report_written(stretch_file, as_json=as_json)
    if as_json:
        print_json({**result_of(result, checked), "notes": notes, "seed": seed})
        return
    print_lists(result, checked)
    click.echo()
    print_notes(notes)
