"""``roadwatch fit``."""

from __future__ import annotations

from pathlib import Path

import click

from roadwatch.cli.options import json_option, output_option
from roadwatch.cli.output import print_json, print_notes, print_table, report_written, rows_of, write_output

SHOWN = "base_c base_se_c sum_dd sum_se_dd correlation lowest_c highest_c n sureness"


@click.command("fit")
@click.argument("durations", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--taxon", default="", help="Name to write into the row of parameters.")
@click.option("--region", default="any", show_default=True, help="Region to write into the row of parameters.")
@click.option("--lowest", type=float, help="Leave out eggs kept below this temperature, degrees C.")
@click.option("--highest", type=float, help="Leave out eggs kept above this temperature, degrees C.")
@json_option
@output_option
def command(
    durations: Path,
    taxon: str,
    region: str,
    lowest: float | None,
    highest: float | None,
    as_json: bool,
    output: Path | None,
) -> None:
    """
    Fit base temperature and degree-day sum to incubation durations of your own, or say why they do not carry a fit.

    FILE is a CSV with columns temp_c and days; clutch and n_eggs are optional. What -o writes is a row of
    development.csv, for a folder of tables of your own.

    Example: roadwatch fit durations.csv --taxon "Trachemys scripta" -o development.csv
    """
    from roadwatch.season.local_parameters import fit_file

    fitted = fit_file(durations, taxon=taxon, region=region, lowest_c=lowest, highest_c=highest)
    if output:
        write_output(fitted.row, output, title="Fitted parameters", notes=fitted.notes)
        report_written(output, as_json=as_json)
    if as_json:
        print_json({"fit": rows_of(fitted.row)[0], "durations": rows_of(fitted.expected), "notes": fitted.notes})
        return
    print_table(fitted.row, SHOWN.split())
    print_table(fitted.expected, ["temp_c", "days", "days_se", "measured_days", "n_eggs"])
    print_notes(fitted.notes)
