"""``roadwatch ingest``."""

from __future__ import annotations

from pathlib import Path

import click

from roadwatch.cli.options import json_option, now_text, season_argument, today
from roadwatch.cli.output import plain, print_json, print_notes
from roadwatch.errors import SOME_ROWS_HELD_BACK, RoadwatchError, UnfitFileError
from roadwatch.records.fields import RECORD_KINDS


@click.command("ingest")
@season_argument
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--as", "kind", type=click.Choice(RECORD_KINDS), help="Kind of record, where the columns do not tell.")
@click.option("--dry-run", is_flag=True, help="Read and check only; keep nothing.")
@json_option
@click.pass_context
def command(
    ctx: click.Context, season: Path, files: tuple[Path, ...], kind: str | None, dry_run: bool, as_json: bool
) -> None:
    """
    Read files of records, check every row, keep the good ones and hold the others back with their reasons.

    Example: roadwatch ingest county.gpkg crossings.csv waypoints.gpx nests.csv station.dly
    """
    from roadwatch.season.intake import Intake
    from roadwatch.season.shown import shown

    intake = Intake.open(season, today=today(), now=now_text())
    exit_code = 0
    reports: list[dict[str, object]] = []
    for file in files:
        try:
            found = intake.take(file, kind=kind, dry_run=dry_run)
        except RoadwatchError as error:
            click.echo(f"Error: {shown(str(error))}", err=True)
            exit_code = max(exit_code, error.exit_code)
            reports.append({"file": shown(file), "error": shown(str(error))})
            continue
        for report in found:
            reports.append({**report.as_dict(), "dry_run": dry_run})
            if report.error:
                click.echo(f"Error: {report.error}", err=True)
                exit_code = max(exit_code, UnfitFileError.exit_code)
                continue
            if report.held_back:
                exit_code = exit_code or SOME_ROWS_HELD_BACK
            if not as_json:
                click.echo(report.sentence(dry_run=dry_run))
                print_notes(report.lines(dry_run=dry_run))
    if as_json:
        print_json({"season": str(season), "files": plain(reports)})
    ctx.exit(exit_code)
