"""``roadwatch new``."""

from __future__ import annotations

from pathlib import Path

import click

from roadwatch.cli.options import json_option, season_argument
from roadwatch.cli.output import print_json, print_notes


@click.command("new")
@season_argument
@click.option("--roads", "roads_file", required=True, type=click.Path(exists=True, path_type=Path), help="Roads layer.")
@click.option("--timezone", required=True, help="Name of the timezone, such as America/New_York.")
@click.option("--water", "water_file", type=click.Path(exists=True, path_type=Path), help="Water layer.")
@click.option("--region", help="Region whose taxa and hatch parameters apply; a wrong key names all.")
@click.option("--tables", type=click.Path(path_type=Path), help="Folder of a county's own tables.")
@json_option
def command(
    season: Path,
    roads_file: Path,
    timezone: str,
    water_file: Path | None,
    region: str | None,
    tables: Path | None,
    as_json: bool,
) -> None:
    """
    Start a season file from a roads layer in any vector format and any reference system.

    Example: roadwatch new county.gpkg --roads roads.shp.zip --timezone America/New_York
    """
    from roadwatch.season.setup import start_season

    report = start_season(
        season, roads_file=roads_file, timezone=timezone, water_file=water_file, region=region, tables=tables
    )
    if as_json:
        print_json({"season": str(season), "roads": report.roads, "length_km": report.length_km, "notes": report.notes})
        return
    click.echo(f"{season}: {report.roads} road pieces, {report.length_km:.1f} km, timezone {timezone}")
    print_notes(report.notes)
