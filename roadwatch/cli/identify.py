"""``roadwatch identify``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import DAY, VIEW, json_option
from roadwatch.cli.output import print_json

if TYPE_CHECKING:
    from datetime import date

FOLDER = click.Path(exists=True, file_okay=False, path_type=Path)


@click.command("identify")
@click.option("--see", multiple=True, metavar="CHARACTER=STATE[|STATE]", help="What was seen; may be given many times.")
@click.option("--view", type=VIEW, help="From where; decides what can be seen and how surely.")
@click.option("--region", help="Region whose commonness counts; a wrong key names all.")
@click.option("--date", "day", type=DAY, help="Day it was seen, YYYY-MM-DD; the season counts.")
@click.option("--habitat", help="Habitat beside the road; a wrong key names all.")
@click.option("--skill", default="novice", show_default=True, help="novice, trained or expert.")
@click.option("--life-stage", type=click.Choice(["hatchling", "juvenile", "adult"]), help="Taken as adult when blank.")
@click.option("--with-head", is_flag=True, help="The carcass still has its head.")
@click.option(
    "--threshold",
    type=click.FloatRange(0.5, 0.99),
    default=0.8,
    show_default=True,
    help="Probability that a name must reach to be written.",
)
@click.option("--tables", "folder", type=FOLDER, help="Folder of tables that replace or extend those shipped.")
@json_option
def command(
    see: tuple[str, ...],
    view: str | None,
    region: str | None,
    day: date | None,
    habitat: str | None,
    skill: str,
    life_stage: str | None,
    with_head: bool,
    threshold: float,
    folder: Path | None,
    as_json: bool,
) -> None:
    """
    Say what a turtle may be from what was seen of it, and what to look at next.

    Without --see, at a terminal, it asks one question after the other. "fields characters" explains what to see.

    Example: roadwatch identify --view in-hand --region FL_peninsula --see head_side=thin_stripes_only
    """
    from roadwatch.cli.conversation import Conversation
    from roadwatch.cli.identified import as_object, print_identified, read_seen
    from roadwatch.identify.one_animal import Place, identify_animal
    from roadwatch.identify.questions import Look
    from roadwatch.identify.tables import identify_tables

    tables = identify_tables(folder)
    place = Place(region, day.month if day else None, habitat)
    if not see and not as_json and sys.stdin.isatty():
        Conversation(tables, place, skill=skill, threshold=threshold).run(view, life_stage)
        return
    if view is None:
        raise click.UsageError("say from where it was seen: --view in-hand, from-above, from-car or carcass")
    look = Look(view.replace("-", "_"), skill, life_stage, with_head)  # type: ignore[arg-type]  # one of the views
    found = identify_animal(read_seen(see), tables, look=look, place=place, threshold=threshold)
    if as_json:
        print_json(as_object(found))
        return
    print_identified(found, tables)
