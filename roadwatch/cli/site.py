"""``roadwatch site``."""

from __future__ import annotations

from pathlib import Path

import click

from roadwatch.cli.options import YEARS, json_option, output_option, season_argument, seed_option
from roadwatch.cli.output import print_json, print_notes, print_table, progress, report_written, rows_of, write_output

SHOWN = (
    "run road from_m to_m length_m deaths_per_year deaths_low deaths_high averted_per_year averted_low averted_high "
    "cost cost_per_averted_low cost_per_averted_high chosen_share milepost_from milepost_to route_id agency"
)
ABOVE_0 = click.FloatRange(0, min_open=True)
PRICE = click.FloatRange(0)
FILE = click.Path(path_type=Path, dir_okay=False)


@click.command("site")
@season_argument
@click.option("--fence-km", type=ABOVE_0, help="Length of road to fence in all, km.")
@click.option("--runs", type=click.IntRange(1), help="Most runs; as many as pay if not given.")
@click.option("--min-run-m", type=PRICE, default=200.0, show_default=True, help="Shortest run, m.")
@click.option("--cost-per-m", type=PRICE, help="Price of a metre of road fenced on both sides; none is assumed.")
@click.option("--cost-per-end", type=PRICE, default=0.0, help="Price of each end of a run.")
@click.option("--cost-per-passage", type=PRICE, default=0.0, help="Price of a passage made ready; runs share it.")
@click.option("--budget", type=PRICE, help="Most to spend; needs --cost-per-m.")
@click.option("--passage-reach-m", type=ABOVE_0, help="Fence only this near to a passage of the layer, m along roads.")
@click.option("--efficacy", default="turtles", show_default=True, help="turtles, large_mammals, or your own table.")
@click.option("--carcass-trial", type=FILE, help="Table of placed carcasses (days, gone, found): count the killed.")
@click.option("--taxon", help="Count this taxon only, each record by the probability that it is one.")
@click.option("--years", type=YEARS, help="Use these years only, such as 2022-2025.")
@click.option("--draws", type=click.IntRange(20, 9999), default=200, show_default=True, help="Draws for the intervals.")
@click.option("--brief", type=FILE, help="Also write a sheet per place (.html).")
@seed_option
@json_option
@output_option
def command(season: Path, seed: int, as_json: bool, output: Path | None, brief: Path | None, **asked: object) -> None:
    """
    Choose where to fence: the runs that avert most deaths within a length or a budget, proven, with their doubt.

    Example: roadwatch site county.gpkg --fence-km 2 --runs 3 --brief fences.html
    """
    import numpy as np

    from roadwatch.season.fence_plan import plan_season_fences
    from roadwatch.season.fence_wishes import wishes_of
    from roadwatch.season.public_view import is_sensitive
    from roadwatch.siting.fence_brief import CAUTIONS

    taxon, years = asked.pop("taxon"), asked.pop("years")
    chance, shown = np.random.default_rng(seed), progress("planning for each draw")
    found = plan_season_fences(season, wishes_of(**asked), rng=chance, taxon=taxon, years=years, progress=shown)  # type: ignore[arg-type]
    team_only = isinstance(taxon, str) and is_sensitive(season, taxon)
    notes = [*found.notes, *CAUTIONS, f"Seed {seed}; the same seed gives the same result."]
    if output:
        write_output(found.runs, output, title="Fences", notes=notes, team_only=team_only)
        report_written(output, as_json=as_json)
    if brief:
        from roadwatch.render.brief import fence_brief
        from roadwatch.season.fence_sheets import fence_sheets
        from roadwatch.share.writers import write_text

        write_text(fence_brief(fence_sheets(season, found, team_only=team_only)), brief)
        report_written(brief, as_json=as_json)
    if as_json:
        plan = {"runs": rows_of(found.runs), "optimal": found.plan.optimal, "gap": found.plan.gap}
        told = {"curve": rows_of(found.curve), "measures": rows_of(found.compared.table)}
        print_json({**plan, **told, "notes": notes, "seed": seed})
        return
    print_table(found.runs, SHOWN.split())
    if len(found.runs):
        click.echo(f"\noptimal: {'yes, proven' if found.plan.optimal else f'not proven, gap {found.plan.gap:.2%}'}")
    for table in (found.curve.dropna(axis=1, how="all"), found.compared.table):
        click.echo()
        print_table(table, table.columns)
    click.echo()
    print_notes(notes)
