"""``roadwatch problems``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import json_option, now_text, output_option, season_argument, today, who_option
from roadwatch.cli.output import print_json, report_written, rows_of, write_output
from roadwatch.errors import SOME_ROWS_HELD_BACK

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.records.store import Season
    from roadwatch.records.store_held_back import HeldRow


@click.command("problems")
@season_argument
@click.option("--accept", "which", metavar="ID|all", help="Store this row, or all rows, as it is proposed for them.")
@click.option("--remarks", "is_remarks", is_flag=True, help="List what to look at in rows that were kept.")
@who_option
@json_option
@output_option
@click.pass_context
def command(
    ctx: click.Context,
    season: Path,
    which: str | None,
    is_remarks: bool,
    who: str,
    as_json: bool,
    output: Path | None,
) -> None:
    """
    List the rows held back, each with its place, reason and cure, and its original text.

    With -o FILE.csv each row is written in the columns of its own file. Mend the cells, or write COLUMN=VALUE
    into the cure column, and take the file in with 'ingest': its rows replace those held back.
    With --remarks the rows that were kept are listed instead, each with what to look at.

    Example: roadwatch problems county.gpkg -o problems.csv
    """
    from roadwatch.records.store import Season
    from roadwatch.season.mending import problems_table

    if which:
        ctx.exit(_accept(season, which, who=who, as_json=as_json))
    opened = Season.open(season)
    if is_remarks:
        _list_remarks(opened, output, as_json=as_json)
        return
    held = opened.held_rows()
    if output:
        write_output(problems_table(opened), output, title="Rows held back", team_only=True)
        report_written(output, as_json=as_json)
    if as_json:
        print_json({"season": str(season), "held_back": rows_of(opened.held_back())})
    elif not output:
        for row in held:
            _show(row)
        click.echo(f"{_counted(len(held), 'row')} held back." if held else "No row is held back.")


def _counted(n: int, word: str) -> str:
    return f"{n} {word}" if n == 1 else f"{n} {word}s"


def _list_remarks(opened: Season, output: Path | None, *, as_json: bool) -> None:
    from roadwatch.season.shown import word_of_place

    remarks = opened.remarks()
    if output:
        write_output(remarks, output, title="Remarks on rows that were kept", team_only=True)
        report_written(output, as_json=as_json)
    if as_json:
        print_json({"season": str(opened.path), "remarks": rows_of(remarks)})
    elif not output:
        for name, kind, line, key, reason in remarks[["file_name", "kind", "line", "record_key", "reason"]].to_numpy():
            click.echo(f"{name}, {word_of_place(name, kind=kind)} {line}, {key}: {reason}")
        click.echo(f"{_counted(len(remarks), 'remark')}.")


def _show(row: HeldRow) -> None:
    from roadwatch.season.shown import word_of_place

    click.echo(f"{row.file_name}, {word_of_place(row.file_name, kind=row.kind)} {row.line}: {row.reasons}")
    if row.proposal:
        proposed = "; ".join(f"{name}={text}" for name, text in row.proposal.items())
        click.echo(f"    proposed: {proposed} (take it with --accept {row.held_back_id})")
    click.echo(f"    {row.held_back_id}: {row.original.strip()}")


def _accept(season: Path, which: str, *, who: str, as_json: bool) -> int:
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
        click.echo(f"{_counted(len(decisions) - n_held, 'proposal')} accepted, {_counted(n_left, 'row')} held back.")
    return SOME_ROWS_HELD_BACK if n_held else 0
