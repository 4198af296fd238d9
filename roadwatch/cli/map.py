"""``roadwatch map``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import DAY, audience_option, json_option, season_argument, seed_option, today
from roadwatch.cli.output import print_json, print_notes, progress, report_written

if TYPE_CHECKING:
    from datetime import date

    from roadwatch.share.masking import Audience


@click.command("map")
@season_argument
@click.option("-o", "--output", required=True, type=click.Path(path_type=Path, dir_okay=False), help="FILE.html.")
@click.option("--as-of", type=DAY, help="The day for which hatch windows are shown; default: today.")
@click.option("--title", default="Turtles on our roads", show_default=True, help="Heading of the page.")
@click.option(
    "--with",
    "saved",
    type=click.Path(path_type=Path, dir_okay=False),
    multiple=True,
    help="Also draw what site, signs or rounds wrote with -o; may be given several times.",
)
@click.option("--tiles", help="Background pictures from one https host, such as https://HOST/{z}/{x}/{y}.png.")
@click.option("--tiles-credit", default="", help="Who made the background pictures; default: the host's name.")
@click.option("--quick", is_flag=True, help="Hotspots of all records only, none for the page's years and taxa.")
@audience_option
@seed_option
@json_option
def command(
    season: Path,
    output: Path,
    as_of: date | None,
    title: str,
    saved: tuple[Path, ...],
    tiles: str | None,
    tiles_credit: str,
    quick: bool,  # click hands it over by name
    audience: Audience,
    seed: int,
    as_json: bool,
) -> None:
    """
    Draw the season as one web page: roads, crossings, hotspots, nests. It opens by double click, without a network.

    Example: roadwatch map county.gpkg -o map.html --for team --with fences.csv --with rounds.csv
    """
    from roadwatch.cli.map_content import content_of
    from roadwatch.render.page import season_map
    from roadwatch.render.tiles import tile_host, tile_words
    from roadwatch.season.map_making import make_map
    from roadwatch.share.public_words import NOTED_WORDS
    from roadwatch.share.writers import refuse_target, write_text

    refuse_target(output)  # before the map is made, which notes what becomes public
    asked = (tile_words(tile_host(tiles)),) if tiles else ()
    day, shown = as_of or today(), progress("finding hotspots")
    made = make_map(season, audience=audience, as_of=day, seed=seed, saved=saved, only_first=quick, progress=shown)
    notes = (*made.notes, f"Seed {seed}.")
    content = content_of(made, title=title, as_of=day, notes=notes, tiles=tiles, tiles_credit=tiles_credit)
    write_text(season_map(content), output)
    if as_json:
        chosen = [{"year": one.year, "taxon": one.taxon, "note": one.note} for one in made.answers]
        drawn = [{"file": one.source, "kind": one.kind, "rows": len(one.table)} for one in made.drawn]
        told = {"file": str(output), "audience": audience, "answers": chosen, "drawn": drawn, "notes": notes}
        print_json({**told, "seed": seed})
        return
    report_written(output, as_json=False)
    print_notes([*([NOTED_WORDS] if audience == "public" else []), *asked])
    print_notes(dict.fromkeys([*made.on_files, *(note for one in made.drawn for note in one.notes)]))
