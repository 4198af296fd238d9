"""``roadwatch template``."""

from __future__ import annotations

from pathlib import Path

import click

from roadwatch.cli.output import report_written
from roadwatch.records.fields import RECORD_KINDS, Kind, fields_of


@click.command("template")
@click.argument("kind", type=click.Choice(RECORD_KINDS))
@click.option("-o", "--output", type=click.Path(path_type=Path, dir_okay=False), help="Write to FILE.csv.")
def command(kind: Kind, output: Path | None) -> None:
    """
    Print an empty CSV with the columns of a kind of record, ready to fill in.

    Example: roadwatch template crossings -o crossings.csv
    """
    header = ",".join(fields_of(kind))
    if output is None:
        click.echo(header)
        return
    if output.exists():
        raise click.UsageError(f"{output} exists; name a new file so that nothing is overwritten")
    output.write_text(header + "\n", encoding="utf-8")
    report_written(output, as_json=False)
