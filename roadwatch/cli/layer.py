"""``roadwatch layer``."""

from __future__ import annotations

from pathlib import Path

import click

from roadwatch.cli.options import json_option, season_argument
from roadwatch.cli.output import print_json, print_notes


@click.command("layer")
@season_argument
@click.argument("file", type=click.Path(exists=True, path_type=Path))
@click.option(
    "--as",
    "kind",
    required=True,
    type=click.Choice(["water", "protected", "passages", "no_fence", "measures"]),
    help="What the layer shows.",
)
@json_option
def command(season: Path, file: Path, kind: str, as_json: bool) -> None:
    """
    Add a map layer, or replace the one of the same kind.

    Example: roadwatch layer county.gpkg wetlands.geojson --as water
    """
    from roadwatch.season.setup import add_layer

    report = add_layer(season, file=file, kind=kind)
    if as_json:
        print_json({"season": str(season), "layer": kind, "features": report.features, "notes": report.notes})
        return
    features = "feature" if report.features == 1 else "features"
    click.echo(f"{season}: {report.features} {features} of {file} kept as {kind}")
    print_notes(report.notes)
