"""A plan of nest rounds on the screen, as one object, or as a file by the ending of its name."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.output import print_notes, print_table, rows_of, write_output

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.rounds.plan import RoundPlan

TITLE = "Nest rounds"
SHOWN = "date nest_id observer order reason p_emergence_by_next_visit"


def print_plan(plan: RoundPlan, notes: list[str]) -> None:
    """Print the visits, what they are expected to meet, nests without one, and what to know."""
    print_table(plan.visits, SHOWN.split())
    click.echo(
        f"Expected to be met: {plan.expected_met:.2f} nests ({plan.expected_met_low:.0f} to "
        f"{plan.expected_met_high:.0f} in 95 of 100 seasons); no plan meets more than {plan.bound:.2f}."
    )
    for (reason, fallback), rows in plan.left_out.groupby(["reason", "fallback"], sort=False):
        click.echo(f"No visit: {', '.join(rows['nest_id'])}: {reason}; {fallback}")
    print_notes(notes)


def plan_object(plan: RoundPlan) -> dict[str, object]:
    """Tables and numbers of a plan, for JSON."""
    numbers = ("expected_met", "expected_met_low", "expected_met_high", "bound", "gap", "is_optimal")
    tables = ("visits", "rounds", "left_out", "short")
    return {name: rows_of(getattr(plan, name)) for name in tables} | {name: getattr(plan, name) for name in numbers}


def write_plan(plan: RoundPlan, path: Path, *, season: str, notes: list[str]) -> None:
    """Write a page a person, a calendar, routes, or the table of visits; each is marked for the team."""
    from roadwatch.render.rounds_page import rounds_page
    from roadwatch.rounds.notes import CAUTIONS
    from roadwatch.share.calendar import rounds_calendar
    from roadwatch.share.gpx_route import rounds_routes
    from roadwatch.share.writers import write_text

    ending = path.suffix.lower()
    if ending in {".html", ".htm"}:
        title = f"{TITLE}, {plan.first} to {plan.last}"
        tables = (plan.visits, plan.rounds, plan.places, plan.left_out)
        write_text(rounds_page(*tables, title=title, notes=notes, cautions=CAUTIONS), path)
    elif ending == ".ics":
        calendar = rounds_calendar(plan.visits, season=season, as_of=plan.first, cautions=CAUTIONS)
        write_text(calendar.decode("utf-8"), path)
    elif ending == ".gpx":
        write_text(rounds_routes(plan.visits, plan.places, as_of=plan.first, cautions=CAUTIONS).decode("utf-8"), path)
    else:
        places = plan.places[["nest_id", "longitude", "latitude"]]  # the field form draws a round from these
        visits = plan.visits.merge(places, on="nest_id", how="left")
        write_output(visits, path, title=TITLE, notes=notes, team_only=True)
