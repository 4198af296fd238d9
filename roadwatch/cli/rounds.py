"""``roadwatch rounds``."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import DAY, json_option, season_argument, seed_option
from roadwatch.cli.output import print_json, print_notes, print_table, report_written, rows_of
from roadwatch.cli.round_files import write_plan

if TYPE_CHECKING:
    from datetime import date

    from roadwatch.hatch.chances import Event
    from roadwatch.rounds.plan import RoundPlan

SHOWN = "date nest_id observer order reason p_emergence_by_next_visit"


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
@click.option("--km-per-hour", type=click.FloatRange(5, 130), default=40, show_default=True, help="Driving speed.")
@click.option("--seconds", type=click.FloatRange(min=1), default=60, show_default=True, help="Longest search.")
@seed_option
@json_option
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write to FILE: .csv, .html (a page a person), .ics (calendar) or .gpx (routes).",
)
def command(
    season: Path,
    first: date,
    last: date,
    per_day: int,
    delay_days: int,
    event: Event,
    km_per_hour: float,
    seconds: float,
    seed: int,
    as_json: bool,
    output: Path | None,
) -> None:
    """
    Plan who visits which nest on which day, so that hatchlings are met and no cage traps them. Team only.

    Example: roadwatch rounds county.gpkg --from 2025-07-15 --to 2025-09-15 --per-day 4 -o rounds.html
    """
    import numpy as np

    from roadwatch.season.nest_rounds import season_rounds

    end = time.monotonic() + seconds
    plan = season_rounds(
        season,
        first=first,
        last=last,
        per_day=per_day,
        rng=np.random.default_rng(seed),
        delay_days=delay_days,
        event=event,
        drive_km_per_hour=km_per_hour,
        seconds_left=lambda: end - time.monotonic(),
    )
    notes = [*plan.notes, f"Seed {seed}; the same seed gives the same result."]
    if output:
        write_plan(plan, output, season=season.stem, notes=notes)
        report_written(output, as_json=as_json)
    if as_json:
        print_json(_as_object(plan) | {"notes": notes, "seed": seed})
        return
    print_table(plan.visits, SHOWN.split())
    click.echo(
        f"Expected to be met: {plan.expected_met:.2f} nests ({plan.expected_met_low:.0f} to "
        f"{plan.expected_met_high:.0f} in 95 of 100 seasons); no plan meets more than {plan.bound:.2f}."
    )
    for (reason, fallback), rows in plan.left_out.groupby(["reason", "fallback"], sort=False):
        click.echo(f"No visit: {', '.join(rows['nest_id'])}: {reason}; {fallback}")
    print_notes(notes)


def _as_object(plan: RoundPlan) -> dict[str, object]:
    numbers = ("expected_met", "expected_met_low", "expected_met_high", "bound", "gap", "is_optimal")
    tables = ("visits", "rounds", "left_out", "short")
    return {name: rows_of(getattr(plan, name)) for name in tables} | {name: getattr(plan, name) for name in numbers}
