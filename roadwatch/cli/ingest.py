"""``roadwatch ingest``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import json_option, now_text, season_argument, today
from roadwatch.cli.output import plain, print_json, print_notes
from roadwatch.errors import SOME_ROWS_HELD_BACK, RoadwatchError, UnfitFileError
from roadwatch.records.fields import RECORD_KINDS

if TYPE_CHECKING:
    from roadwatch.season.intake import Intake


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
    doubles = None if dry_run else _doubles(intake, reports)
    if as_json:
        print_json({"season": str(season), "files": plain(reports), "doubles": doubles})
    elif doubles:
        click.echo(f"{_said(**doubles)}: see 'roadwatch doubles {shown(season)}'")
    ctx.exit(exit_code)


def _said(*, merged: int, undecided: int) -> str:
    pairs = "1 pair of records in the season is" if merged == 1 else f"{merged} pairs of records in the season are"
    left = {0: "none is undecided", 1: "1 is undecided"}.get(undecided, f"{undecided} are undecided")
    return f"{pairs} merged as one animal, {left}"


def _doubles(intake: Intake, reports: list[dict[str, object]]) -> dict[str, int] | None:
    """Pairs of crossings merged and undecided, over the whole season; None where none came in or none is there."""
    from roadwatch.season.animals import count_doubles

    if not any(one.get("accepted") and one.get("kind") in ("crossings", "mended") for one in reports):
        return None
    merged, undecided = count_doubles(intake.season, intake.network)
    return {"merged": merged, "undecided": undecided} if merged or undecided else None
