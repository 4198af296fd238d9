"""A plan of nest rounds as a file, by the ending of its name."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.cli.output import write_output

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.rounds.plan import RoundPlan

TITLE = "Nest rounds"


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
        write_output(plan.visits, path, title=TITLE, notes=notes, team_only=True)
