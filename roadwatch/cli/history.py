"""``roadwatch history``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import json_option, record_kind_option, season_argument
from roadwatch.cli.output import print_json

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.records.store import Season
    from roadwatch.records.store_traces import Trace


@click.command("history")
@season_argument
@click.argument("record_id")
@record_kind_option
@json_option
def command(season: Path, record_id: str, kind: str | None, as_json: bool) -> None:
    """
    Tell where a record came from (file, line, original text) and what was corrected in it, when, by whom and why.

    The id of a row held back, such as h3-70, tells what became of that row.

    Example: roadwatch history county.gpkg c12
    """
    from roadwatch.records.store import Season
    from roadwatch.records.store_held_back import split_held_back_id
    from roadwatch.season.repairs import history

    opened = Season.open(season)
    if split_held_back_id(record_id) and not opened.kinds_of(record_id):
        _show_row(opened, record_id, as_json=as_json)
        return
    trace = history(opened, record_id, kind=kind)
    if as_json:
        told = {"record_id": record_id, "kind": trace.kind, "is_stored": trace.is_stored}
        lists = {name: getattr(trace, name) for name in ("sources", "changes", "remarks", "withdrawn")}
        print_json({"season": str(season), **told, **lists})
        return
    _show(trace)


def _show_row(opened: Season, held_back_id: str, *, as_json: bool) -> None:
    from roadwatch.season.repairs import row_history

    row, changes = row_history(opened, held_back_id)
    now = f"{row.settled_how}, now record {row.record_key}" if row.record_key else row.settled_how or "held back"
    if as_json:
        told = {"held_back_id": row.held_back_id, "file_name": row.file_name, "line": row.line, "now": now}
        print_json({**told, "original": row.original, "reasons": row.reasons, "changes": changes})
        return
    click.echo(f"{row.held_back_id}: batch {row.batch}, {row.file_name}, line {row.line}: {now}")
    click.echo(f"    {row.original.strip()}")
    click.echo(f"held back because: {'. Also: '.join(row.reasons.splitlines())}")
    for one in changes:
        click.echo(f"{one['changed_at']}  {one['who']}: was {one['old']}, is now {one['new']}: {one['why']}")


def _show(trace: Trace) -> None:
    gone = "" if trace.is_stored else ", which left the season with its batch"
    click.echo(f"{trace.record_key}: one of the {trace.kind}{gone}")
    for row in trace.sources:
        how = "" if row["how"] == "stored" else f", {row['how']}"
        click.echo(f"{row['ingested_at']}  batch {row['batch']}, {row['file_name']}, line {row['line']}{how}")
        click.echo(f"    {str(row['original']).strip()}")
        if row["undone_at"]:
            why = f" ({row['undone_why']})" if row["undone_why"] else ""
            click.echo(f"{row['undone_at']}  batch {row['batch']} undone by {row['undone_by']}{why}")
    for row in trace.remarks:
        click.echo(f"remark on batch {row['batch']}, line {row['line']}: {row['reason']}")
    for row in trace.changes:
        void = f" (no longer holds since {row['undone_at']})" if row["undone_at"] else ""
        was, now = row["old"] or "blank", row["new"] or "blank"
        click.echo(f"{row['changed_at']}  {row['who']}: {row['field']} was {was}, is now {now}: {row['why']}{void}")
