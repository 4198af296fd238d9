"""How ``roadwatch doubles`` takes a person's decision."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import now_text
from roadwatch.cli.output import print_json, print_notes

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.records.store_decisions import Word


def decide(season: Path, ids: tuple[str, ...], word: Word, *, who: str, why: str, as_json: bool) -> None:
    """Keep what a person decided about pairs of records, and say how the animals are counted now."""
    from roadwatch.records.store import Season
    from roadwatch.season.animals import animals_of_season
    from roadwatch.season.double_decisions import decide_doubles

    opened = Season.open(season)
    done = decide_doubles(opened, animals_of_season(season), ids, word, who=who, when=now_text(), why=why)
    notes = animals_of_season(season).notes()
    if as_json:
        told = [{"double_id": one.double_id, "records": [one.record_a, one.record_b]} for one in done]
        print_json({"season": str(season), "decided": told, "word": done[0].meaning, "notes": notes})
        return
    for one in done:
        click.echo(f"{one.double_id}: {one.record_a} and {one.record_b} are {one.meaning}")
    print_notes(notes)
