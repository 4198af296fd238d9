"""``roadwatch form``."""

from __future__ import annotations

from pathlib import Path

import click

from roadwatch.cli.options import json_option, season_argument
from roadwatch.cli.output import print_json, print_notes, report_written


@click.command("form")
@season_argument
@click.option("-o", "--output", required=True, type=click.Path(path_type=Path, dir_okay=False), help="FILE.html.")
@click.option(
    "--title",
    default="Turtle records",
    show_default=True,
    help="Heading; a phone keeps the records of forms of one title together.",
)
@json_option
def command(season: Path, output: Path, title: str, as_json: bool) -> None:
    """
    Write the field form: one web page for a phone, with the county's roads in it, that works without a signal.

    It keeps crossings, nests, nest checks and searches in the phone until they are saved as a file for "ingest".

    Example: roadwatch form county.gpkg -o form.html
    """
    from roadwatch.render.form import FormContent, field_form
    from roadwatch.render.form_tables import identification_data
    from roadwatch.season.field_form import field_season
    from roadwatch.share.writers import write_text

    held = field_season(season)
    identification = identification_data(held.tables, region=held.region)
    write_text(field_form(FormContent(title, held.roads, held.water, identification)), output)
    if as_json:
        print_json({"file": str(output), "region": held.region, "tables": held.tables.version, "notes": held.notes})
        return
    report_written(output, as_json=False)
    print_notes(held.notes)
