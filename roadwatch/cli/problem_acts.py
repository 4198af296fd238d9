"""What ``roadwatch problems`` does to rows held back: take the proposal, discard, open again."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import now_text, today
from roadwatch.cli.output import print_json
from roadwatch.errors import SOME_ROWS_HELD_BACK

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.records.store import Season


def close(
    opened: Season, discard: tuple[str, ...], reopen: tuple[str, ...], *, who: str, why: str, as_json: bool
) -> None:
    """Discard rows, or open them again, and say what is left."""
    from roadwatch.cli.problem_lists import summary

    act, ids, done = (opened.discard, discard, "discarded") if discard else (opened.reopen, reopen, "held back again")
    rows = act(ids, who=who, when=now_text(), why=why)
    if as_json:
        told = [{"held_back_id": row.held_back_id, "original": row.original} for row in rows]
        print_json({"season": str(opened.path), "rows": told, "now": done, "why": why})
        return
    for row in rows:
        click.echo(f"{row.held_back_id}: {done}: {row.original.strip()}")
    click.echo(summary(opened))


def accept(season: Path, which: str, *, who: str, as_json: bool) -> int:
    """Store rows as it is proposed for them, say what became of each, and give the exit code."""
    from roadwatch.cli.problem_lists import counted
    from roadwatch.season.intake import Intake
    from roadwatch.season.repairs import accept_proposals

    intake = Intake.open(season, today=today(), now=now_text())
    decisions = accept_proposals(intake, which, who=who)
    n_left, n_held = len(intake.season.held_rows()), sum(one.record_key is None for one in decisions)
    if as_json:
        told = [
            {"held_back_id": one.held_back_id, "record_id": one.record_key, "reason": one.reason} for one in decisions
        ]
        print_json({"season": str(season), "accepted": len(decisions) - n_held, "rows": told, "held_back": n_left})
    else:
        for one in decisions:
            done = f"stored as {one.record_key}" if one.record_key else f"still held back: {one.reason}"
            click.echo(f"{one.held_back_id}: {done}")
        click.echo(f"{counted(len(decisions) - n_held, 'proposal')} accepted, {counted(n_left, 'row')} held back.")
    return SOME_ROWS_HELD_BACK if n_held else 0
