"""``roadwatch calibration``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import json_option, output_option, season_argument
from roadwatch.cli.output import print_json, print_notes, print_table, report_written, rows_of, write_output

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

    from roadwatch.records.fields import Kind

SHOWN = "by value n brier brier_error log_score mean_sure share_right share_low share_high calibration_error"
WIDTH = 50
TITLE = "Is 80 % sure right 80 % of the time?"
RECORDS: tuple[Kind, ...] = ("crossings", "nests")


def picture(reliability: pd.DataFrame) -> list[str]:
    """One line a bin: how often right as ``o`` between its limits, and ``|`` where it should stand."""
    lines = []
    for row in reliability.to_dict("records"):
        low, high = (round(WIDTH * row[name]) for name in ("share_low", "share_high"))
        line = ["-" if low <= at <= high else " " for at in range(WIDTH + 1)]
        line[round(WIDTH * row["mean_sure"])] = "|"
        line[round(WIDTH * row["share_right"])] = "o"
        label = f"{row['sure_from']:.0%} to {row['sure_to']:.0%} sure"
        lines.append(f"{label:>17} [{''.join(line)}] {row['n_right']} of {row['n']} right")
    return lines


@click.command("calibration")
@season_argument
@json_option
@output_option
def command(season: Path, as_json: bool, output: Path | None) -> None:
    """
    Tell whether 80 % sure was right 80 % of the time, from records that a second person named later.

    Example: roadwatch calibration county.gpkg -o calibration.csv
    """
    import pandas as pd

    from roadwatch.identify.calibration import calibrate
    from roadwatch.identify.tables import identify_tables
    from roadwatch.records.store import Season
    from roadwatch.season.own_tables import tables_folder

    opened = Season.open(season)
    kinds = [pd.DataFrame(opened.read(kind)).astype(object) for kind in RECORDS]
    tables = identify_tables(tables_folder(opened))
    records = pd.concat(kinds, ignore_index=True)
    result = calibrate(records, region=opened.settings.get("region"), tables=tables)
    notes = [*result.notes, f"Tables {result.version}."]
    if output:
        from roadwatch.render.reliability import reliability_figure

        figure = reliability_figure(result.reliability)
        write_output(result.reliability, output, title=TITLE, notes=notes, figure=figure)
        report_written(output, as_json=as_json)
    if as_json:
        table, groups = rows_of(result.reliability), rows_of(result.groups)
        print_json({"reliability": table, "groups": groups, "notes": notes, "tables_version": result.version})
        return
    click.echo("How often right (o, with 95 % limits) by how sure (| is where it should stand):")
    for line in picture(result.reliability):
        click.echo(line)
    click.echo("")
    print_table(result.groups, SHOWN.split())
    print_notes(notes)
