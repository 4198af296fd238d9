"""``roadwatch report``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import DAY, audience_option, json_option, season_argument, seed_option, today
from roadwatch.cli.output import print_json, print_notes, progress, report_written

if TYPE_CHECKING:
    from datetime import date

    from roadwatch.share.masking import Audience


@click.command("report")
@season_argument
@click.option("-o", "--output", required=True, type=click.Path(path_type=Path, dir_okay=False), help="FILE.html.")
@click.option("--year", type=click.IntRange(1900, 2200), help="The year reported on; default: the last on file.")
@click.option("--as-of", type=DAY, help="Counts and nests go up to this day; today if not given.")
@click.option("--title", default="Turtles on our roads: the season", show_default=True, help="Heading of the page.")
@click.option(
    "--fence-km",
    type=click.FloatRange(0.2, 200),
    default=1.0,
    show_default=True,
    help="Length of fence for which the deaths averted are told, km.",
)
@click.option("--csv", "folder", type=click.Path(path_type=Path, file_okay=False), help="Also write every table here.")
@audience_option
@seed_option
@json_option
def command(
    season: Path,
    output: Path,
    year: int | None,
    as_of: date | None,
    title: str,
    fence_km: float,
    folder: Path | None,
    audience: Audience,
    seed: int,
    as_json: bool,
) -> None:
    """
    Write the season in words, pictures and tables for a county board, as one page that prints.

    Example: roadwatch report county.gpkg -o report.html --year 2025 --csv tables
    """
    from roadwatch.render.report_page import report_page
    from roadwatch.season.county_report import county_report
    from roadwatch.share.public_words import NOTED_WORDS
    from roadwatch.share.writers import refuse_target, write_result, write_text

    refuse_target(output)  # before the report, which notes what becomes public
    day, shown = as_of or today(), progress("re-scattering the records")
    asked = {"year": year, "fence_m": 1000.0 * fence_km, "seed": seed, "file_name": output.name}
    report = county_report(season, audience=audience, as_of=day, progress=shown, **asked)  # type: ignore[arg-type]
    subtitle = f"The season of {report.year}, with records from {report.first_year} on; as of {day.isoformat()}"
    write_text(report_page(report, title=title, subtitle=subtitle), output)
    if folder:
        folder.mkdir(parents=True, exist_ok=True)
        for key, table in report.tables().items():
            write_result(table, folder / f"{key}.csv", team_only=audience == "team")
    if as_json:
        told = {one.key: {"sentences": one.sentences, "lacking": one.lacking} for one in report.sections}
        print_json({"file": str(output), "audience": audience, "year": report.year, "sections": told, "seed": seed})
        return
    report_written(output, as_json=False)
    print_notes([NOTED_WORDS] if audience == "public" else [])
