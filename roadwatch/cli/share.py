"""``roadwatch share``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import DAY, audience_option, json_option, now_text, season_argument, seed_option, today
from roadwatch.cli.output import print_json, print_notes

if TYPE_CHECKING:
    from datetime import date

    from roadwatch.season.sharing import Format
    from roadwatch.share.masking import Audience

KEYS = ("dwca", "geopackage", "geojson", "gpx", "icalendar", "csv")


@click.command("share")
@season_argument
@click.option("--as", "form", type=click.Choice(KEYS), required=True, help="The format; dwca: Darwin Core Archive.")
@click.option("-o", "--output", required=True, type=click.Path(path_type=Path, dir_okay=False), help="The file.")
@click.option("--as-of", type=DAY, help="The day for which hatch windows are told; default: today.")
@audience_option
@seed_option
@json_option
def command(
    season: Path, form: Format, output: Path, as_of: date | None, audience: Audience, seed: int, as_json: bool
) -> None:
    """
    Write the season in an open format. The public gets no nest's place; every public file is noted as a release.

    Endings: dwca .zip, geopackage .gpkg, geojson .geojson, gpx .gpx, icalendar .ics, csv .csv.
    CSV and GeoJSON stand in one file a kind, as FILE and FILE-measures, for the team FILE-nests and so on; searches
    of a Darwin Core Archive in FILE-events. "roadwatch ingest" reads CSV, GeoJSON and GeoPackage of the team back.

    Example: roadwatch share county.gpkg --as dwca -o county.zip
    """
    from roadwatch.season.map_making import season_windows_or_why
    from roadwatch.season.sharing import share_season

    day = as_of or today()
    windows, notes = season_windows_or_why(season, as_of=day, seed=seed) if form == "icalendar" else (None, ())
    shared = share_season(
        season, form=form, to=output, audience=audience, as_of=day, released_at=now_text(), windows=windows
    )
    said = [*shared.notes, *dict.fromkeys(notes)]
    if as_json:
        files = [{"file": str(file), "rows": rows} for file, rows in shared.files.items()]
        print_json({"files": files, "format": form, "audience": audience, "notes": said})
        return
    for file, rows in shared.files.items():
        click.echo(f"Wrote {file}: {rows} {'row' if rows == 1 else 'rows'}")
    print_notes(said)
