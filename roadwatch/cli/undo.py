"""``roadwatch undo``."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import json_option, now_text, season_argument, who_option
from roadwatch.cli.output import print_json, print_table, rows_of

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.records.store_undo import Undone

COLUMNS = (
    "batch",
    "file_name",
    "kind",
    "ingested_at",
    "rows_in",
    "accepted",
    "known",
    "held_back",
    "discarded",
    "undone_at",
)


@click.command("undo")
@season_argument
@click.argument("batch", type=click.IntRange(min=1), required=False)
@click.option("--why", default="", help="The reason, kept with the batch.")
@who_option
@json_option
def command(season: Path, batch: int | None, why: str, who: str, as_json: bool) -> None:
    """
    Take back what was read in as BATCH; without a number, list the batches.

    Records that another file tells of stay. The others leave the season with their trace, and the file can be
    taken in again.

    Example: roadwatch undo county.gpkg 3 --why "the wrong county"
    """
    from roadwatch.records.store import Season

    opened = Season.open(season)
    if batch is None:
        batches = opened.batches()
        if as_json:
            print_json({"season": str(season), "batches": rows_of(batches)})
        else:
            print_table(batches, COLUMNS)
        return
    done = opened.undo(batch, who=who, when=now_text(), why=why)
    if as_json:
        print_json({"season": str(season), **asdict(done)})
        return
    click.echo(f"batch {done.batch} ({done.file_name}) undone: {_counted(done.withdrawn, 'record')} left the season")
    for line in _told(done):
        click.echo(f"- {line}")


def _counted(n: int, word: str) -> str:
    return f"{n} {word}" if n == 1 else f"{n} {word}s"


def _told(done: Undone) -> list[str]:
    said = {
        f"kept because another file tells of them: {_counted(done.kept, 'record')}": done.kept,
        f"no longer waiting for a cure: {_counted(done.dropped, 'row')} of it held back": done.dropped,
        f"held back again: {_counted(done.reopened, 'row')} that it had mended or replaced": done.reopened,
        f"no longer in force: {_counted(done.corrections, 'correction')}; see 'history'": done.corrections,
        f"without their nest now: {_counted(done.orphans, 'check')}": done.orphans,
    }
    return [line for line, count in said.items() if count]
