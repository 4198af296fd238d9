"""``roadwatch rounds``."""

from __future__ import annotations

import time
from pathlib import Path

import click

from roadwatch.cli.options import DAY, json_option, season_argument, seed_option
from roadwatch.cli.output import print_json, report_written
from roadwatch.cli.round_files import plan_object, print_plan, write_plan


@click.command("rounds")
@season_argument
@click.option("--from", "first", type=DAY, required=True, help="First day of the plan; what was found by then counts.")
@click.option("--to", "last", type=DAY, required=True, help="Last day of the plan.")
@click.option("--per-day", type=click.IntRange(min=1), required=True, help="The most visits of a person and day.")
@click.option("--delay-days", type=click.IntRange(0, 14), default=1, show_default=True, help="Still met so much later.")
@click.option(
    "--meet",
    "event",
    type=click.Choice(["emergence", "hatching"]),
    default="emergence",
    show_default=True,
    help="Hatchlings at the surface, or hatching inside the nest.",
)
@click.option(
    "--km-per-hour",
    "drive_km_per_hour",
    type=click.FloatRange(5, 130),
    default=40,
    show_default=True,
    help="Driving speed.",
)
@click.option("--seconds", type=click.FloatRange(min=1), default=600, show_default=True, help="Give up searching then.")
@seed_option
@json_option
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write to FILE: .csv, .html (a page a person), .ics (calendar) or .gpx (routes).",
)
def command(season: Path, seconds: float, seed: int, as_json: bool, output: Path | None, **asked: object) -> None:
    """
    Plan who visits which nest on which day, so that hatchlings are met and no cage traps them. Team only.

    Example: roadwatch rounds county.gpkg --from 2025-07-15 --to 2025-09-15 --per-day 4 -o rounds.html
    """
    import numpy as np

    from roadwatch.season.nest_rounds import season_rounds

    end, rng = time.monotonic() + seconds, np.random.default_rng(seed)
    plan = season_rounds(season, rng=rng, seconds_left=lambda: end - time.monotonic(), **asked)  # type: ignore[arg-type]
    notes = [*plan.notes, f"Seed {seed}; the same seed gives the same result."]
    if output:
        write_plan(plan, output, season=season.stem, notes=notes)
        report_written(output, as_json=as_json)
    if as_json:
        print_json(plan_object(plan) | {"notes": notes, "seed": seed})
    else:
        print_plan(plan, notes)
