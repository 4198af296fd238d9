"""How ``roadwatch problems`` shows rows held back, discarded rows and remarks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.output import print_json, report_written, rows_of, write_output

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.records.store import Season
    from roadwatch.records.store_held_back import HeldRow


def counted(n: int, word: str) -> str:
    """A number with its noun."""
    return f"{n} {word}" if n == 1 else f"{n} {word}s"


def summary(opened: Season) -> str:
    """One line: rows held back, rows discarded."""
    n_held, n_discarded = len(opened.held_rows()), len(opened.discarded_rows())
    held = f"{counted(n_held, 'row')} held back" if n_held else "No row is held back"
    return f"{held}, {n_discarded} discarded (see --discarded)." if n_discarded else f"{held}."


def list_rows(opened: Season, output: Path | None, *, is_discarded: bool, as_json: bool) -> None:
    """List the rows that wait for a cure, or the discarded ones; write them to a file where one is named."""
    from roadwatch.season.mending import problems_table

    rows = opened.discarded_rows() if is_discarded else opened.held_rows()
    if output:
        title = "Rows discarded" if is_discarded else "Rows held back"
        write_output(problems_table(rows), output, title=title, team_only=True)
        report_written(output, as_json=as_json)
    if as_json:
        told = (
            {"discarded": [_plain(row) for row in rows]} if is_discarded else {"held_back": rows_of(opened.held_back())}
        )
        print_json({"season": str(opened.path), **told, "n_discarded": len(opened.discarded_rows())})
    elif not output:
        for row in rows:
            _show(row)
        click.echo(f"{counted(len(rows), 'row')} discarded." if is_discarded else summary(opened))


def list_remarks(opened: Season, output: Path | None, *, as_json: bool) -> None:
    """List what to look at in rows that were kept."""
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
        click.echo(f"{counted(len(remarks), 'remark')}.")


def _plain(row: HeldRow) -> dict[str, object]:
    names = ("held_back_id", "batch", "file_name", "kind", "line", "original", "reasons", "why")
    return {name: getattr(row, name) for name in names}


def _show(row: HeldRow) -> None:
    from roadwatch.season.shown import word_of_place

    place = f"{row.file_name}, {word_of_place(row.file_name, kind=row.kind)} {row.line}"
    click.echo(f"{place}: discarded: {row.why}" if row.why else f"{place}: {row.reasons}")
    if row.proposal and not row.why:
        proposed = "; ".join(f"{name}={text}" for name, text in row.proposal.items())
        click.echo(f"    proposed: {proposed} (take it with --accept {row.held_back_id})")
    click.echo(f"    {row.held_back_id}: {row.original.strip()}")
